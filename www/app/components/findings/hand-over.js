// Handing over: the study as one file, a report, a copy to share, single files, and computing all findings again. Each is a line whose underlined
// words are its settings.

import { el, setAttribute, setText } from "../../dom.js";
import { LEFT_OUT, exportChosen, leftOutText } from "../../handing.js";
import { openManyList } from "../many-list.js";
import { createWord } from "../aligning/word.js";
import { createReproduced } from "./reproduced.js";

/** @typedef {import("../../state.js").State} State */
/** @typedef {import("../../handing-state.js").HandWhat} HandWhat */
/** @typedef {import("../../handing-state.js").LeftOut} LeftOut */

const PAPERS = [{ value: "A4", text: "A4", detail: "210 × 297 mm" }, { value: "Letter", text: "Letter", detail: "8.5 × 11 in" }];
const RESOLUTIONS = [{ value: "150", text: "150", detail: "small file" }, { value: "300", text: "300", detail: "print" }, { value: "600", text: "600", detail: "large file" }];
const ALL = [{ value: "all", text: "everything", detail: "program, maps, photo, findings" }, { value: "findings", text: "findings only", detail: "no map and no photo" }];

/** @param {HTMLElement} root @param {import("../../controller.js").Send} send
 * @returns {{update: (state: State) => void}} */
export function createHandOver(root, send) {
  /** @type {State|null} */
  let now = null;

  /** A line of its own: a sentence, the button that does it, and below what came of it. @param {HandWhat} what @param {string} text @param {(Node|string)[]} words
   * @param {() => void} run */
  function line(what, text, words, run) {
    const go = el("button", { class: "button hand-go", text, attrs: { type: "button" }, on: { click: run } });
    const bar = el("progress", { attrs: { max: 1, "aria-label": text } });
    const bar_text = el("span", { class: "hand-progress-text" });
    const cancel = el("button", { class: "button", text: "Cancel", attrs: { type: "button" }, on: { click: () => send({ type: "cancel_hand" }) } });
    const progress = el("p", { class: "hand-progress" }, [bar, bar_text, cancel]);
    const said = el("p", { class: "hand-said", attrs: { role: "status" } });
    const sentence = el("p", { class: "sentence-words hand-words" }, words);
    const element = el("div", { class: "hand-line" }, [sentence, go, progress, said]);
    return { element, update(/** @type {State} */ { handing, handed }) {
      const mine = handing?.what === what;
      const had_focus = element.contains(document.activeElement);
      go.hidden = mine;
      go.disabled = handing !== null && !mine;
      progress.hidden = !mine;
      // Nothing can be stopped of what is only written down.
      cancel.hidden = what === "study" || what === "export";
      if (mine && handing.progress !== null && handing.progress.fraction > 0) bar.value = handing.progress.fraction;
      else bar.removeAttribute("value");
      setText(bar_text, mine ? handing.progress?.text || "Writing" : "");
      const text = handed?.what === what ? handed.text : "";
      setText(said, text);
      said.hidden = text === "";
      said.classList.toggle("hand-trouble", text !== "" && handed?.is_trouble === true);
      if (had_focus && !element.contains(document.activeElement)) (mine && !cancel.hidden ? cancel : go).focus();
    } };
  }

  const paper = createWord(root, "Paper", (value) => now && send({ type: "set_report", how: { ...now.report_how, paper: value === "Letter" ? "Letter" : "A4" } }));
  const dpi = createWord(root, "Dots per inch of the figures", (value) => now && send({ type: "set_report", how: { ...now.report_how, dpi: Number(value) } }));
  const all = createWord(root, "What is shared", (value) => now && send({ type: "set_share", how: { ...now.share_how, findings_only: value === "findings" } }));
  /** @type {(() => void)|null} */
  let close = null;
  const without = el("button", { class: "sentence-setting", attrs: { type: "button", "aria-haspopup": "listbox", "aria-expanded": "false" }, on: {
    click: () => {
      if (close) return close();
      if (now === null) return;
      close = openManyList(without, root, {
        label: "What is left out", choices: LEFT_OUT.map((one) => ({ ...one, detail: "" })), chosen: now.share_how.leave_out, closed: () => (close = null),
        sets: [{ text: "Nothing", values: [] }],
        change: (values) => now && send({ type: "set_share", how: { ...now.share_how, leave_out: /** @type {LeftOut[]} */ (values) } }),
      });
    },
    keydown: (/** @type {KeyboardEvent} */ event) => {
      if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
      event.preventDefault();
      if (!close) without.click();
    },
  } });
  const size = el("span", { class: "hand-size", attrs: { role: "status" } });
  const what = createWord(root, "What is saved", (value) => send({ type: "set_export", exported: { what: value } }));
  const of = createWord(root, "Of what", (value) => send({ type: "set_export", exported: { of: value } }));
  const as = createWord(root, "Format", (value) => send({ type: "set_export", exported: { as: value } }));
  const lies = createWord(root, "How the pixels lie", (value) => send({ type: "set_export", exported: { lies: value } }));
  const of_part = el("span", {}, [" of ", of.element]);
  const as_part = el("span", {}, [" as ", as.element]);
  const lies_part = el("span", {}, [", lying ", lies.element]);

  const study = line("study", "Save the study", ["All files, settings and findings in one ZIP file, to go on from or to archive."], () => send({ type: "save_study" }));
  const report = line("report", "Save a report", ["All findings to be read and printed, for ", paper.element, " paper, figures at ", dpi.element, " dots per inch."], () => send({ type: "save_report" }));
  const share = line("share", "Share one file", ["One page that opens by a double click: ", all.element, ", leaving out ", without, ". ", size], () => send({ type: "share" }));
  const single = line("export", "Save", [el("span", {}, ["Save ", what.element, of_part, as_part, lies_part, "."])], () => send({ type: "export" }));
  const single_fold = el("details", { class: "hand-fold" }, [el("summary", { text: "Single files" }), single.element]);
  const again = line("reproduce", "Compute all findings again", ["Each finding once more from its files, to see whether the same comes out."], () => send({ type: "reproduce" }));
  const list_root = el("div", { class: "reproduced", attrs: { hidden: true } });
  const list = createReproduced(list_root, send);
  const report_line = el("div", {}, [report.element, again.element, list_root]);
  root.append(el("h2", { class: "hand-title", text: "Hand over" }), study.element, report_line, share.element, single_fold);

  return {
    update(next) {
      const before = now;
      now = next;
      const has_findings = next.findings.length > 0;
      const has_maps = next.maps.length + next.photos.length > 0;
      for (const one of [study, report, share, single, again]) one.update(next);
      again.element.hidden = !has_findings || !has_maps;
      list.update(next);
      paper.show(PAPERS, next.report_how.paper);
      dpi.show(RESOLUTIONS, String(next.report_how.dpi));
      all.show(ALL, next.share_how.findings_only ? "findings" : "all");
      const left = leftOutText(next.share_how.leave_out);
      setText(without, left);
      setAttribute(without, "aria-label", `Left out: ${left}`);
      setText(size, next.share_size.replace(/(?<=[^.])$/, "."));
      const chosen = exportChosen(next);
      single_fold.hidden = chosen === null;
      if (chosen !== null) {
        what.show(chosen.kinds.map(({ what: value, label }) => ({ value, text: label, detail: "" })), chosen.kind.what);
        of_part.hidden = chosen.of === null || (chosen.kind.needs === "answer" && chosen.kind.what !== "raster");
        if (chosen.of !== null) of.show(chosen.subjects, chosen.of.value);
        as_part.hidden = chosen.format === null;
        if (chosen.format !== null) as.show(chosen.kind.formats.map(({ format, label }) => ({ value: format, text: label, detail: "" })), chosen.format.format);
        lies_part.hidden = chosen.lies === null;
        if (chosen.lies !== null) lies.show([{ value: "", text: "as the maps lie now", detail: "" }, ...next.maps.map(({ id, label, file }) => ({ value: id, text: `as in the file of ${label}`, detail: file }))], chosen.lies);
      }
      // How large a copy would be is looked up when it comes into sight, and again when what is in it has changed.
      const seen = next.column === "findings" && has_maps;
      const other = before === null || before.column !== next.column || before.findings !== next.findings || before.maps !== next.maps || before.photos !== next.photos;
      if (seen && other) send({ type: "want_share_size" });
    },
  };
}
