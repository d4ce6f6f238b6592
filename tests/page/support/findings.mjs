// Findings as the core gives them, with invented texts; and a core that keeps them.

import { answer, grid, map, photo, questions, region, scan } from "./shapes.mjs";

export const finding = (place, more = {}) => ({ id: `f${place}`, place, title: `Finding number ${place}`, note: "", question: "ratio", question_text: "How do Ti K and Fe K compare?", sentence: "One value.", verdict: "one value",
  verdict_text: "one value", figures: [], cautions: [], picture: { width: 400, height: 300, png: `png${place}`, caption: "Ti K to Fe K" }, maps: [{ id: "m1", label: "Ti K" }], regions: [], changed: [], can_renew: false, trouble: "", ...more });
export const about = (more = {}) => ({ object: "", number: "", described: "", dated: "", author: "", remarks: "", ...more });
export const whole = (place, more = {}) => ({ finding: finding(place, more.finding), answer: answer(`kept${place}`), settings: { a: "m1", b: "m2" }, scene: null, picture: new Blob(["png"]), ...more, ...(more.finding ? { finding: finding(place, more.finding) } : {}) });

/** What a controller's client answers, but for questions. */
export const replies = (list) => ({
  maps: () => [map("m1", "Ti K"), map("m2", "Fe K")], photos: () => [photo("p1")], grid: () => grid(), questions: () => questions(), points: () => [], spectra: () => [], overlaps: () => [], techniques: () => [], materials: () => [],
  lights: () => [], scan: () => scan(), regions: () => [region("r1")], findings: () => list.map((one, at) => ({ ...one, place: at + 1 })), about: () => about(), inspect: () => [],
});
