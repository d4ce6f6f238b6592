import assert from "node:assert/strict";
import { test } from "node:test";
import { across, begun, chosenNext, doubted, edgeChosen, edgePlaced, edgesBegun, enlarged, foundTaken, lacking, left, moved, objectOf, placed, proposedPlace, removed, resumed, ruled,
  settingsOf, waiting, worst } from "../../www/app/aligning-state.js";
import { nextWords } from "../../www/app/aligning-words.js";
import { planeOf, stretch, through } from "../../www/app/plane.js";
import { START, reduce } from "../../www/app/state.js";
import { grid, opened, photo } from "./support/shapes.mjs";

/** The demo's photo on its grid: turned by 0.009, 0.25 mm a pixel, shifted. */
const [c, s] = [Math.cos(0.009), Math.sin(0.009)];
const truth = ([u, v]) => {
  const [x, y] = [0.25 * u - 1.9, 0.25 * v - 2.4];
  return [2 * (c * x + s * y), 2 * (c * y - s * x)];
};
const matrix = [0.5 * c, 0.5 * s, truth([0, 0])[0], -0.5 * s, 0.5 * c, truth([0, 0])[1], 0, 0, 1];
const shot = (more = {}) => ({ ...photo("p1"), turns: 0, mirror: false, alignment: null, ...more });
const alignment = (points, more = {}) => ({ model: "affine", model_stated: null, points: points.map((one) => ({ error_px: [0.3, 0.4], left_out_px: null, text: "off by 0.5 px", ...one })),
  transform: matrix, corners: [[0, 0], [316, 0], [316, 236], [0, 236]].map(truth), trouble: "", text: "so many points", ...more });
const near = (a, b) => a.forEach((v, i) => assert.ok(Math.abs(v - b[i]) < 1e-9, `${a} is not ${b}`));
const fresh = () => begun(shot(), grid());

test("places go there and back by nine numbers, also aslant, and by three corners where there are none", () => {
  const plane = planeOf(matrix, [], { width: 316, height: 236 });
  near(through(plane.there, [100, 50]), truth([100, 50]));
  near(through(plane.back, truth([100, 50])), [100, 50]);
  near(stretch(plane.there, [100, 50])[0], [0.5 * c, -0.5 * s]);
  const aslant = planeOf([2.1, -0.1, 12.5, 0.12, 2.1, 11.7, 6e-5, -3e-6, 1], [], { width: 1, height: 1 });
  near(through(aslant.back, through(aslant.there, [31.5, 170.25])), [31.5, 170.25]);
  assert.equal(through(aslant.there, [-1 / 6e-5, 0]), null, "the horizon");
  assert.equal(planeOf([1, 2, 0, 2, 4, 0, 0, 0, 1], [], { width: 1, height: 1 }), null, "a plane that falls into a line");
  const cornered = planeOf(null, alignment([]).corners, { width: 316, height: 236 });
  near(through(cornered.there, [100, 50]), truth([100, 50]));
  assert.equal(planeOf(null, [null, [1, 1], [2, 2], [3, 3]], { width: 1, height: 1 }), null);
});

test("a point is set in one picture and then in the other; half of it never goes to the core", () => {
  let now = fresh();
  assert.equal(waiting(now), -1);
  now = placed(now, "photo", [10, 20]);
  assert.deepEqual([waiting(now), lacking(now), now.chosen, settingsOf(now)], [0, "maps", 0, { photo: "p1", points: [] }]);
  now = placed(now, "photo", [11, 20]);
  assert.deepEqual(now.points, [{ from: [11, 20], to: null }], "set again on the same side, it is moved");
  now = placed(now, "maps", [5, 6]);
  assert.deepEqual([waiting(now), settingsOf(now)], [-1, { photo: "p1", points: [{ from: [11, 20], to: [5, 6] }] }]);
  now = placed(now, "maps", [50, 60]);
  assert.deepEqual([lacking(now), settingsOf(now).points.length], ["photo", 1]);
  assert.deepEqual(left(now).points.length, 1, "leaving drops what waits");
  assert.equal(settingsOf(begun(undefined, grid())), null);
});

test("points are moved, chosen round and round, and removed", () => {
  let now = fresh();
  for (const at of [[1, 1], [2, 2], [3, 3]]) now = placed(placed(now, "photo", at), "maps", at);
  assert.equal(now.chosen, 2);
  assert.equal(chosenNext(now, 1).chosen, 0);
  assert.equal(chosenNext({ ...now, chosen: null }, -1).chosen, 2);
  now = moved(now, 0, "maps", [1.1, 1]);
  assert.deepEqual([now.chosen, now.points[0]], [0, { from: [1, 1], to: [1.1, 1] }]);
  now = removed(now, 0);
  assert.deepEqual([now.chosen, now.points.map(({ from }) => from[0])], [null, [2, 3]]);
  assert.equal(removed(now, null), now);
  assert.equal(chosenNext(fresh(), 1).chosen, null);
  const half = placed(fresh(), "photo", [4, 4]);
  assert.equal(moved(half, 0, "maps", [9, 9]), half, "a place that is not set is not moved");
});

test("once the photo is laid, the other place is proposed, and counts only when it is set", () => {
  let now = { ...fresh(), alignment: alignment([]) };
  now = placed(now, "photo", [100, 50]);
  near(proposedPlace(now), truth([100, 50]));
  assert.equal(settingsOf(now).points.length, 0);
  now = placed(left(now), "maps", truth([30, 40]));
  near(proposedPlace(now), [30, 40]);
  assert.equal(across({ ...now, alignment: alignment([], { trouble: "too few" }) }, "photo", [1, 1]), null);
  // cockled: the flat rule is off by (1, 2) at the nearest pair, and so is the proposal
  const warped = { ...fresh(), alignment: alignment([], { transform: null }), points: [{ from: [100, 50], to: [truth([100, 50])[0] + 1, truth([100, 50])[1] + 2] }] };
  near(across(warped, "photo", [102, 50]), [truth([102, 50])[0] + 1, truth([102, 50])[1] + 2]);
  // and back: a pair is its own proposal
  near(across(warped, "maps", warped.points[0].to), [100, 50]);
});

test("the rule is chosen; what was found stays at hand, and points then check it", () => {
  let now = placed(placed(fresh(), "photo", [1, 1]), "maps", [2, 2]);
  assert.equal(settingsOf(ruled(now, "homography")).model, "homography");
  assert.equal("model" in settingsOf(now), false);
  assert.equal(foundTaken(now), now, "nothing was found");
  now = foundTaken({ ...now, found: { transform: matrix, is_accepted: true, text: "", measure_before: 0, measure_after: 1, corners: [] } });
  assert.deepEqual([settingsOf(now).transform, settingsOf(now).points.length, now.found], [matrix, 1, null]);
  assert.equal("transform" in settingsOf(ruled(now, "affine")), false);
  assert.deepEqual(settingsOf(ruled(ruled(now, "affine"), "found")).transform, matrix);
});

test("errors belong to the points as they are, the farthest is named from three on, whiskers are as long as fits", () => {
  const points = [1, 2, 3, 4].map((i) => ({ from: [i, i], to: [i, i] }));
  const said = alignment(points);
  said.points.forEach((point, i) => Object.assign(point, { left_out_px: [0, i === 2 ? 3 : 0.5] }));
  const now = { ...fresh(), points, alignment: said };
  assert.equal(worst(now), 2);
  assert.equal(worst({ ...now, unsent: true }), -1, "moved meanwhile");
  assert.equal(worst({ ...now, points: points.slice(0, 2), alignment: { ...said, points: said.points.slice(0, 2) } }), -1);
  // a waiting point before it does not shift what the core said
  const doubtful = { ...now, points: [{ from: [9, 9], to: null }, ...points], alignment: { ...said, doubtful: 2 } };
  assert.deepEqual([doubted(doubtful), doubted(now), doubted({ ...doubtful, unsent: true })], [3, -1, -1]);
  assert.equal(enlarged(now, 60), 20);
  assert.equal(enlarged(now, 16), 5);
  assert.equal(enlarged(now, 0.1), 1);
});

test("what the core says is taken over when photo or maps are turned, and what is under way is kept", () => {
  const state = reduce({ ...START }, opened({ photos: [shot()] }));
  let next = reduce(state, { type: "aligning", aligning: begun(state.photos[0], state.grid) });
  const set = placed(placed(next.aligning, "photo", [1, 2]), "maps", [3, 4]);
  next = reduce(next, { type: "aligning", aligning: set });
  assert.deepEqual(reduce(next, opened({ photos: [shot()] })).aligning.points.length, 1, "what is not told yet is not lost");
  const told = alignment([{ from: [1, 2], to: [3, 4] }]);
  next = reduce(next, { type: "aligning", aligning: { ...set, alignment: told, unsent: false } });
  assert.equal(reduce(next, opened({ photos: [shot({ alignment: told })] })).aligning.chosen, 0, "nothing is another");
  const turned = shot({ width: 236, height: 316, turns: 1, alignment: alignment([{ from: [234, 1], to: [3, 4] }]) });
  const after = reduce(next, opened({ photos: [turned] })).aligning;
  assert.deepEqual([after.points, after.chosen, after.size], [[{ from: [234, 1], to: [3, 4] }], null, { width: 236, height: 316 }]);
  assert.equal(reduce(next, opened({ photos: [] })).aligning, null, "the photo is gone");
  assert.equal(resumed({ ...state, aligning: null }), null);
});

test("the object’s edges are marked by three places, moved one by one, and begun anew from another corner", () => {
  let now = edgesBegun(placed(fresh(), "photo", [1, 1]), null);
  assert.deepEqual([now.points, objectOf(now.edges)], [[], null]);
  for (const at of [[1, 1], [100, 1], [1, 80]]) now = edgePlaced(now, at);
  assert.deepEqual(objectOf(now.edges), { corner: "upper left", at: [1, 1], across: [100, 1], down: [1, 80] });
  now = edgePlaced(edgeChosen(now, 1), [101, 2]);
  assert.deepEqual(objectOf(now.edges).across, [101, 2]);
  assert.equal(edgePlaced(edgeChosen(now, null), [5, 5]).edges.places.length, 3);
  // marks on a photo carry its error, also when they are moved later
  assert.equal(objectOf(edgePlaced(now, [1, 2], true).edges).photo, "p1");
  const stated = { ...objectOf(now.edges), alignment_px: 0.4, text: "", trouble: "" };
  assert.equal(objectOf(edgesBegun(fresh(), stated).edges).alignment_px, 0.4);
  assert.equal(edgesBegun(fresh(), stated).edges.places.length, 3);
  assert.deepEqual(edgesBegun(fresh(), stated, "lower left").edges.places, []);
});

test("every state says what is to be done next", () => {
  const now = fresh();
  const half = placed(now, "photo", [1, 1]);
  const whole = placed(half, "maps", [1, 1]);
  const edges = edgesBegun(now, null);
  const all = [now, half, { ...half, alignment: alignment([]) }, whole, { ...whole, chosen: null }, edges, edgePlaced(edges, [1, 1]), begun(undefined, grid())].map(nextWords);
  assert.equal(new Set(all).size, all.length, all.join("\n"));
  assert.match(all[1], /Point 1 waits for its place on the maps/);
  assert.match(all[2], /expected/);
});
