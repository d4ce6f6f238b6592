// The answer speaks first: sentence, verdict, figures, cautions; the rest folds away.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { cautionsOf } from "../materials.js";
import { isAsKept } from "../findings-state.js";
import { answerOf } from "../state.js";
import { unbroken } from "../words.js";
import { createKeeping } from "./findings/keeping.js";
import { createFound } from "./found/found.js";
import { createPlots } from "./plots/plot.js";
import { createTable } from "./table.js";

/** @typedef {import("../state.js").State} State */
/** @typedef {import("../types.js").Answer} Answer */
/** @typedef {import("../types.js").Figure} Figure */
/** @typedef {import("../types.js").MethodNote} MethodNote */

/** A sentence of more letters than this is set smaller, so that verdict and figures stay in sight. */
const LONG = 260;

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {() => import("../findings-control.js").Seen} seen what the view shows
 * @returns {{update: (state: State) => void, keep: () => void}} */
export function createAnswer(root, send, seen) {
  const sentence = el("p", { class: "answer-sentence", attrs: { role: "status" } });
  const verdict = el("p", { class: "answer-verdict" });
  const keep = el("button", { class: "word-button answer-keep", text: "Keep as a finding", attrs: { type: "button" }, on: { click: () => keeping.keep() } });
  const keeping = createKeeping("answer", send, seen, () => keep.focus());
  const trials = el("dl", { class: "answer-trials" });
  const stability_text = el("span");
  const stability = el("details", { class: "answer-stability" }, [el("summary", {}, [stability_text]), trials]);
  const plots_root = el("div", { class: "answer-plots" });
  const table_root = el("div", { class: "answer-table" });
  const figures = el("dl", { class: "answer-figures" });
  const found_root = el("div", { class: "found" });
  const cautions = el("ul", { class: "answer-cautions", attrs: { "aria-label": "Cautions" } });
  const more_text = el("summary");
  const more_cautions = el("ul", { class: "answer-cautions", attrs: { "aria-label": "More cautions" } });
  const more_fold = el("details", { class: "answer-more" }, [more_text, more_cautions]);
  const shows = el("div", { class: "answer-shows", attrs: { role: "group", "aria-label": "Show in view" } });
  const shows_line = el("div", { class: "answer-shows-line" }, [el("span", { class: "answer-shows-title", text: "Show in view" }), shows]);
  const notes = el("ul", { class: "answer-notes" });
  const used = el("dl", { class: "answer-used" });
  const program = el("p", { class: "answer-program" });
  const fold = el("details", { class: "answer-how" }, [
    el("summary", { text: "How this was computed" }), notes, el("h3", { class: "answer-used-title", text: "Settings" }), used, program,
  ]);
  root.append(sentence, el("div", { class: "answer-verdict-line" }, [verdict, keep]), keeping.element, stability, plots_root, figures, found_root, table_root, cautions, more_fold, shows_line, fold);
  const plots = createPlots(plots_root, send);
  const found = createFound(found_root, send);
  const table = createTable(table_root, (answer) => send({ type: "save_csv", what: "table", answer }));

  /** @param {import("../types.js").Stability|null} now @param {(text: string) => string} whole */
  function showStability(now, whole) {
    stability.hidden = now === null;
    if (now === null) return;
    setText(stability_text, whole(now.text));
    stability.dataset.holds = String(now.holds);
    reconcile(trials, now.trials, (_, index) => String(index), () => el("div", {}, [el("dt"), el("dd")]), (row, { change, verdict }) => {
      setText(/** @type {Node} */ (row.children[0]), whole(change));
      setText(/** @type {Node} */ (row.children[1]), verdict);
    });
  }

  let can_keep = false;

  return {
    keep() {
      if (can_keep) keeping.keep();
    },
    update(state) {
      const answer = answerOf(state);
      // It is there before the fields go, so that it can take the focus.
      keep.hidden = isAsKept(state);
      keeping.update(state);
      // What is only shown as it was kept is kept already.
      keep.hidden = isAsKept(state) || keeping.is_open();
      can_keep = answer !== null && !keep.hidden;
      root.hidden = answer === null;
      const whole = (/** @type {string} */ text) => unbroken(text, state.maps);
      setText(sentence, whole(answer?.sentence ?? ""));
      sentence.classList.toggle("answer-sentence-long", (answer?.sentence.length ?? 0) > LONG);
      root.dataset.question = answer?.question ?? "";
      if (answer === null) return;
      setText(verdict, whole(answer.verdict_text));
      showStability(answer.stability ?? null, whole);
      // The pixels behind a joint plot are the core's, which does not hold what is only shown as it was kept.
      plots.update(state, isAsKept(state) ? { ...answer, plots: (answer.plots ?? []).filter(({ kind }) => kind !== "joint") } : answer);
      found.update(state, answer, whole);
      table.update(answer, whole);
      reconcile(figures, answer.figures, (_, index) => String(index), () => el("div", { class: "answer-figure" }, [el("dt"), el("dd", { class: "answer-value" }), el("dd", { class: "answer-detail" })]),
        (row, figure) => {
          [figure.label, figure.value, figure.detail].forEach((text, index) => setText(/** @type {Node} */ (row.children[index]), whole(text)));
        });
      // What stands in lists is not said twice.
      figures.hidden = answer.figures.length === 0 || Boolean(answer.materials || answer.dates);
      const { seen, more } = cautionsOf(answer);
      reconcile(cautions, seen, (_, index) => String(index), () => el("li"), (item, text) => setText(item, whole(text)));
      cautions.hidden = seen.length === 0;
      reconcile(more_cautions, more, (_, index) => String(index), () => el("li"), (item, text) => setText(item, whole(text)));
      setText(more_text, `${more.length} more cautions`);
      more_fold.hidden = more.length === 0;
      reconcile(shows, answer.shows, ({ show }) => show, ({ show }) =>
        el("button", { class: "button", attrs: { type: "button" }, on: { click: () => send({ type: "show_answer", show }) } }),
      (button, { show, label }) => {
        setText(button, label);
        setAttribute(button, "aria-pressed", String(state.mode === "answer" && state.shown?.show === show));
      });
      // A single picture is what "Answer" above the view shows.
      shows_line.hidden = answer.shows.length < 2;
      reconcile(notes, answer.method, (_, index) => String(index), () => el("li", {}, [el("span"), el("span", { class: "answer-source" })]), (item, note) => {
        setText(/** @type {Node} */ (item.children[0]), note.text);
        // The basis says what the source is worth; without a source it stands alone.
        setText(/** @type {Node} */ (item.children[1]), [note.source, note.basis].filter((text) => text !== "").join(" · "));
      });
      reconcile(used, settingsOf(answer, state), ([name]) => name, () => el("div", {}, [el("dt"), el("dd")]), (row, [name, value]) => {
        setText(/** @type {Node} */ (row.children[0]), name);
        setText(/** @type {Node} */ (row.children[1]), value);
      });
      setText(program, answer.program);
    },
  };
}

/** Every setting that was used, as the core completed them; maps by their labels.
 * @param {Answer} answer @param {State} state
 * @returns {[string, string][]} */
function settingsOf(answer, state) {
  const named = (/** @type {unknown} */ value) => state.maps.find(({ id }) => id === value)?.label ?? answer.regions?.find(({ id }) => id === value)?.name;
  const said = (/** @type {unknown} */ value) => Array.isArray(value) ? value.map(one).join(", ") : one(value);
  const one = (/** @type {unknown} */ value) => named(value) ?? (typeof value === "string" || typeof value === "number" ? String(value) : JSON.stringify(value));
  return Object.entries(answer.settings).flatMap(([name, value]) => {
    if (value === null || value === undefined) return [];
    if (typeof value === "object" && !Array.isArray(value)) {
      return Object.entries(value).map(([inner, one]) => /** @type {[string, string]} */ ([`${name}, ${named(inner) ?? inner}`, said(one)]));
    }
    return [/** @type {[string, string]} */ ([name, said(value)])];
  });
}
