import assert from "node:assert/strict";
import { test } from "node:test";
import { createPace } from "../../www/app/pace.js";

test("a picture that comes in time is asked for in full, a slow one at half or a quarter of its width", () => {
  const pace = createPace();
  assert.equal(pace.share(), 1, "nothing is known yet");
  for (const [ms, share] of [[10, 1], [40, 1], [41, 1 / 2], [160, 1 / 2], [161, 1 / 4], [5000, 1 / 4]]) {
    pace.took(ms, 1);
    assert.equal(pace.share(), share, `${ms} ms`);
  }
});

test("what a smaller picture cost tells what the full one would", () => {
  const pace = createPace();
  pace.took(30, 1 / 2); // the full one would take 120 ms
  assert.equal(pace.share(), 1 / 2);
  pace.took(9, 1 / 2); // 36 ms
  assert.equal(pace.share(), 1);
});
