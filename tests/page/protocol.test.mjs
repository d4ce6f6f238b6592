import assert from "node:assert/strict";
import { test } from "node:test";
import { ALL_ACTIONS, JOB_ACTIONS, SESSION_ACTIONS, asProblem, problem } from "../../www/app/protocol.js";

test("a problem passes as it is, without what does not belong to it", () => {
  assert.deepEqual(asProblem({ ...problem("no_step", "State the step.", "why"), fatal: false }), { code: "no_step", message: "State the step.", detail: "why" });
  assert.equal(asProblem({ code: "no_step", message: "State the step.", detail: 3 }).detail, "");
});

test("whatever else is thrown becomes a problem of text only", () => {
  const error = new RangeError("too deep");
  assert.deepEqual(asProblem(error), { code: "unexpected", message: "RangeError: too deep", detail: error.stack });
  assert.deepEqual(asProblem({ message: "bare" }), { code: "unexpected", message: "Error: bare", detail: "" });
  for (const [thrown, text] of [["a text", "a text"], [null, "null"], [undefined, "undefined"], [{}, "[object Object]"]]) {
    assert.deepEqual(asProblem(thrown), { code: "unexpected", message: text, detail: "" });
  }
});

test("one list holds the actions of both workers, each once", () => {
  assert.deepEqual(new Set(ALL_ACTIONS), new Set([...SESSION_ACTIONS, ...JOB_ACTIONS]));
  assert.equal(ALL_ACTIONS.length, new Set(ALL_ACTIONS).size);
  assert.ok(ALL_ACTIONS.includes("run") && !SESSION_ACTIONS.includes("run"), "a session never runs long");
});
