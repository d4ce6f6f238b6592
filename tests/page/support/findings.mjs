// Findings as the core gives them, with invented texts; and a core that keeps them.

import { answer, grid, map, photo, questions, region, scan } from "./shapes.mjs";

export const finding = (place, more = {}) => ({ id: `f${place}`, place, title: `Finding number ${place}`, note: "", question: "ratio", question_text: "How do Ti K and Fe K compare?", sentence: "One value.", verdict: "one value",
  verdict_text: "one value", figures: [], cautions: [], picture: { width: 400, height: 300, png: `png${place}`, caption: "Ti K to Fe K" }, maps: [{ id: "m1", label: "Ti K" }], regions: [], changed: [], can_renew: false, trouble: "", ...more });
export const about = (more = {}) => ({ object: "", number: "", described: "", dated: "", author: "", remarks: "", ...more });
export const whole = (place, more = {}) => ({ finding: finding(place, more.finding), answer: answer(`kept${place}`), settings: { a: "m1", b: "m2" }, scene: null, picture: new Blob(["png"]), ...more, ...(more.finding ? { finding: finding(place, more.finding) } : {}) });

export const kinds = [
  { what: "picture", label: "a picture", formats: [{ format: "png", label: "PNG", ending: "png" }], needs: "" },
  { what: "map", label: "the values of a map", formats: [{ format: "tiff", label: "TIFF, 32-bit float", ending: "tif" }, { format: "npy", label: "NPY", ending: "npy" }], needs: "map" },
  { what: "raster", label: "the pixels of an answer", formats: [{ format: "tiff", label: "TIFF", ending: "tif" }, { format: "npy", label: "NPY", ending: "npy" }], needs: "answer" },
  { what: "mask", label: "the mask of a region", formats: [{ format: "png", label: "PNG", ending: "png" }, { format: "csv", label: "CSV", ending: "csv" }], needs: "region" },
  { what: "table", label: "the table of an answer", formats: [{ format: "csv", label: "CSV", ending: "csv" }], needs: "answer" },
  { what: "points", label: "all analysis points", formats: [{ format: "csv", label: "CSV", ending: "csv" }], needs: "" },
];

/** What a controller's client answers, but for questions. */
export const replies = (list) => ({
  maps: () => [map("m1", "Ti K"), map("m2", "Fe K")], photos: () => [photo("p1")], grid: () => grid(), questions: () => questions(), points: () => [], spectra: () => [], overlaps: () => [], techniques: () => [], materials: () => [],
  lights: () => [], scan: () => scan(), regions: () => [region("r1")], findings: () => list.map((one, at) => ({ ...one, place: at + 1 })), about: () => about(), exports: () => kinds, inspect: () => [],
});
