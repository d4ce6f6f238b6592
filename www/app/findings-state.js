// What changes around findings: the third column, the list, what was just kept, the one that is open, the object, what can be undone. Pure.

import { answerChanged } from "./answer-state.js";
import { keptAs } from "./asking.js";
import { withScene, windowsOf } from "./scene.js";

/** @typedef {import("./state.js").State} State */
/** @typedef {import("./types.js").Finding} Finding */
/** @typedef {import("./types.js").FindingWhole} FindingWhole */
/** @typedef {import("./types.js").About} About */
/** @typedef {import("./types.js").History} History */
/** @typedef {import("./types.js").Progress} Progress */
/** @typedef {import("./scene.js").Window} Window */

/** Where something is kept from: the answer, or the view. @typedef {"answer"|"view"} KeptAt */
/** The finding that is open. `answer`: the id of the one that was kept; `live`: what is shown is computed from what is open, and not only as it
 * was kept; `in_sight`: the kept picture covers the views; `otherwise`: asked again, it was answered otherwise.
 * @typedef {{id: string, answer: string|null, changed: string[], picture: Blob|null, live: boolean, in_sight: boolean, otherwise: boolean}} Opened */

/** `kept`: the finding that was just made, whose title and note can be written at once. `look`: windows that the views are to take, once.
 * `told`: what is said aloud of an undo. `moved`: the one that has just another place, which keeps the focus.
 * @typedef {{column: "ask"|"findings", findings: Finding[], keeping: KeptAt|null, kept: {id: string, at: KeptAt}|null, keep_trouble: {at: KeptAt, message: string}|null,
 *   editing: string|null, finding_trouble: {id: string, message: string}|null, renewing: {id: string, progress: Progress|null}|null, opened: Opened|null,
 *   look: {windows: Window[]}|null, about: About|null, about_trouble: string, history: History, told: string, moved: {id: string}|null}} FindingsState */
/** @typedef {{type: "column", column: FindingsState["column"]} | {type: "findings", findings: Finding[]} | {type: "keeping", at: KeptAt} | {type: "kept", kept: FindingsState["kept"]}
 *   | {type: "keep_failed", trouble: FindingsState["keep_trouble"]} | {type: "editing", id: string|null} | {type: "finding_failed", trouble: FindingsState["finding_trouble"]}
 *   | {type: "renewing", renewing: FindingsState["renewing"]} | {type: "opened", whole: FindingWhole} | {type: "close_finding"} | {type: "see_now"} | {type: "moved", id: string}
 *   | {type: "about", about: About} | {type: "about_failed", message: string} | {type: "history", history: History} | {type: "told", text: string}} FindingsChange */

/** @type {FindingsState} */
export const FINDINGS_START = Object.freeze({
  column: "ask", findings: [], keeping: null, kept: null, keep_trouble: null, editing: null, finding_trouble: null, renewing: null, opened: null, look: null,
  about: null, about_trouble: "", history: Object.freeze({ undo: 0, redo: 0, undo_text: "", redo_text: "" }), told: "", moved: null,
});

/** @type {FindingsChange["type"][]} */
const TYPES = ["column", "findings", "keeping", "kept", "keep_failed", "editing", "finding_failed", "renewing", "opened", "close_finding", "see_now", "moved", "about", "about_failed", "history", "told"];

/** @param {{type: string}} change
 * @returns {change is FindingsChange} */
export function isOfFindings(change) {
  return TYPES.some((one) => one === change.type);
}

/** @param {State} state @param {FindingsChange} change
 * @returns {State} */
export function findingsChanged(state, change) {
  switch (change.type) {
    case "column":
      return { ...state, column: change.column };
    case "findings":
      return withFindings(state, change.findings);
    case "keeping":
      return { ...state, keeping: change.at, kept: null, keep_trouble: null };
    case "kept":
      return { ...state, keeping: null, kept: change.kept, keep_trouble: null };
    case "keep_failed":
      return { ...state, keeping: null, keep_trouble: change.trouble };
    case "editing":
      return { ...state, editing: change.id, finding_trouble: null };
    case "finding_failed":
      return { ...state, renewing: null, finding_trouble: change.trouble };
    case "renewing":
      return { ...state, renewing: change.renewing, finding_trouble: null };
    case "opened":
      return withOpened(state, change.whole);
    case "close_finding":
      return closed(state);
    case "see_now":
      return state.opened === null ? state : { ...state, opened: { ...state.opened, in_sight: false }, mode: state.mode === "answer" && !state.opened.live ? "map" : state.mode };
    case "moved":
      return { ...state, moved: { id: change.id } };
    case "about":
      return { ...state, about: change.about, about_trouble: "" };
    case "about_failed":
      return { ...state, about_trouble: change.message };
    case "history":
      return { ...state, history: change.history };
    case "told":
      // The same words twice are said twice.
      return { ...state, told: change.text === state.told ? `${change.text}\u00a0` : change.text };
  }
}

/** @param {State} state @param {Finding[]} findings
 * @returns {State} */
function withFindings(state, findings) {
  const there = (/** @type {string|undefined} */ id) => findings.some((one) => one.id === id);
  const now = findings.find(({ id }) => id === state.opened?.id);
  const next = {
    ...state, findings,
    kept: there(state.kept?.id) ? state.kept : null,
    editing: state.editing !== null && there(state.editing) ? state.editing : null,
    finding_trouble: there(state.finding_trouble?.id) ? state.finding_trouble : null,
  };
  if (state.opened === null) return next;
  return now === undefined ? closed(next) : { ...next, opened: { ...state.opened, changed: now.changed } };
}

/** The finding is open no more. An answer that was only shown as it was kept goes with it. @param {State} state
 * @returns {State} */
function closed(state) {
  const { opened } = state;
  if (opened === null) return state;
  const is_only_kept = !opened.live && opened.answer !== null && state.answer?.id === opened.answer;
  if (!is_only_kept) return { ...state, opened: null };
  return { ...state, opened: null, answer: null, rasters: {}, shown: null, mode: state.mode === "answer" ? "map" : state.mode };
}

/** The page as it was when this was kept, with the answer as it was kept. @param {State} state @param {FindingWhole} whole
 * @returns {State} */
function withOpened(state, { finding, answer, scene, picture, settings }) {
  // A view alone is live at once: its pictures are drawn from what is open.
  const has_maps = state.maps.length + state.photos.length > 0;
  const is_live = finding.question === null && has_maps && finding.changed.length === 0;
  const before = { ...state, asking: null, ask_trouble: null, answer, rasters: {}, brush: null, place: null, shown: answer?.shows[0] ? { answer: answer.id, show: answer.shows[0].show } : null };
  const placed = has_maps ? withScene(before, scene) : null;
  // One that a script kept has no scene: its sentence says at least what was asked.
  const now = placed ?? { ...before, settings: { ...state.settings, ...chosenFrom(answer?.question ?? null, settings) }, question: answer !== null && state.questions.some(({ key }) => key === answer.question) ? answer.question : state.question,
    mode: answer !== null && answer.shows.length > 0 ? /** @type {const} */ ("answer") : state.mode === "answer" ? /** @type {const} */ ("map") : state.mode };
  const shown = answer === null ? null : answer.shows.find(({ show }) => show === now.shown?.show) ?? answer.shows[0] ?? null;
  const marked = answerChanged(now, { type: "marked", marked: null });
  return {
    ...marked,
    shown: answer === null || shown === null ? null : { answer: answer.id, show: shown.show },
    mode: now.mode === "answer" && shown === null ? "map" : now.mode,
    look: placed === null ? state.look : { windows: windowsOf(scene) },
    opened: { id: finding.id, answer: answer?.id ?? null, changed: finding.changed, picture, live: is_live, in_sight: !is_live && picture !== null, otherwise: false },
    column: answer === null ? state.column : "ask", kept: null, keep_trouble: null, finding_trouble: null, step_trouble: null,
  };
}

/** What the user sees to in the views. */
const OF_VIEWS = ["mode", "show_map", "show_photo", "show_answer", "lights", "light_colour", "limits", "scale", "colours", "layout", "activate", "photo_under", "photo_as_taken", "side_by_side"];
/** What takes the picture into the hand; null puts it down. */
const OF_HAND = /** @type {const} */ (["drawing", "picking", "proposal", "placing", "drawing_line", "aligning", "place"]);

/** Whoever asks something else leaves the finding that is open; whoever turns to the views takes its kept picture away.
 * @param {State} before @param {{type: string}} change @param {State} now
 * @returns {State} */
export function leftFinding(before, change, now) {
  const { opened } = now;
  if (opened === null || opened !== before.opened) return now;
  if (["question", "setting", "form"].includes(change.type)) return closed(now);
  if (opened.live && opened.answer !== null && now.answer?.id !== opened.answer) return { ...now, opened: null };
  if (opened.live) return now;
  const takes = OF_VIEWS.includes(change.type) || OF_HAND.some((one) => now[one] !== null && now[one] !== before[one]);
  if (!takes) return now;
  return { ...now, opened: { ...opened, in_sight: now.mode === "answer" && opened.answer !== null && opened.picture !== null } };
}

/** What came of asking an open finding's question again: it is live, or it is answered otherwise and stays as it was kept; undefined where the
 * answer has nothing to do with a finding. @param {State} state @param {string} answer
 * @returns {Opened|null|undefined} */
export function openedAfter(state, answer) {
  const { opened } = state;
  if (opened === null || opened.live || opened.answer === null) return undefined;
  return answer === opened.answer ? { ...opened, live: true, in_sight: false } : { ...opened, otherwise: true };
}

/** What the third column shows: without maps there is nothing to ask, but a kept answer is still read there.
 * @param {State} state @returns {FindingsState["column"]} */
export function columnOf({ column, maps, photos, opened }) {
  return maps.length + photos.length === 0 && opened?.answer == null ? "findings" : column;
}

/** An open finding is shown as it was kept, and not as computed from what is open. @param {State} state */
export function isAsKept(state) {
  return state.opened !== null && !state.opened.live;
}

/** The kept picture covers the views. @param {State} state */
export function isKeptInSight(state) {
  return state.opened !== null && state.opened.in_sight && state.opened.picture !== null;
}

/** The finding that is open, as the list has it. @param {State} state
 * @returns {Finding|null} */
export function findingOpen(state) {
  return state.findings.find(({ id }) => id === state.opened?.id) ?? null;
}

/** What was asked, as choices of the question's sentence: maps, regions and words; what is said of single maps is passed over.
 * @param {string|null} question @param {unknown} settings
 * @returns {Record<string, string|string[]>} */
function chosenFrom(question, settings) {
  if (question === null || typeof settings !== "object" || settings === null) return {};
  const is_word = (/** @type {unknown} */ value) => typeof value === "string" || (Array.isArray(value) && value.every((one) => typeof one === "string"));
  return Object.fromEntries(Object.entries(settings).filter(([, value]) => is_word(value)).map(([name, value]) => [keptAs(question, name), value]));
}
