// The column that asks: questions to choose from, the sentence, its progress, and its answer or the reason why there is none.

import { el, reconcile, setAttribute, setText } from "../dom.js";
import { formOf, isAnyChosen, questionOf, readyToAsk } from "../asking.js";
import { createAnswer } from "./answer.js";
import { columnOf } from "../findings-state.js";
import { createAsKept } from "./findings/as-kept.js";
import { createSentence } from "./sentence.js";

/** @typedef {import("../state.js").State} State */

/** @param {HTMLElement} root @param {import("../controller.js").Send} send @param {() => import("../findings-control.js").Seen} seen what the view shows
 * @returns {{update: (state: State) => void, keep: () => void}} */
export function createAsk(root, send, seen) {
  const chips = el("div", { class: "ask-questions", attrs: { role: "group", "aria-label": "Questions" } });
  const not_ready = el("p", { class: "ask-reason" });
  const sentence_root = el("div", { class: "sentence" });
  const forms = el("p", { class: "ask-forms" });
  const more_root = el("div", { class: "sentence sentence-more" });
  const rest_root = el("div", { class: "sentence sentence-more", attrs: { id: "sentence-rest" } });
  const rest_word = el("button", { class: "word-button ask-rest", text: "Further settings", attrs: { type: "button", "aria-controls": "sentence-rest" }, on: { click: () => {
    rest_open = !rest_open;
    if (now !== null) update(now);
  } } });
  let rest_open = false;
  /** @type {State|null} */
  let now = null;
  const hint = el("p", { class: "ask-hint", text: "Choose the underlined words. The answer comes as soon as the sentence is complete." });
  const bar = el("progress", { attrs: { max: 1, "aria-label": "Computing" } });
  const progress_text = el("span", { class: "ask-progress-text", attrs: { role: "status" } });
  const cancel = el("button", { class: "button", text: "Cancel", attrs: { type: "button" }, on: { click: () => send({ type: "cancel_ask" }) } });
  const progress = el("div", { class: "ask-progress" }, [bar, progress_text, cancel]);
  const trouble_text = el("span", { attrs: { role: "status" } });
  const again = el("button", { class: "quiet-button", text: "Ask again", attrs: { type: "button" }, on: { click: () => send({ type: "ask_again" }) } });
  const trouble = el("p", { class: "ask-trouble" }, [trouble_text, again]);
  const answer_root = el("div", { class: "answer" });
  const kept_root = el("section", { class: "as-kept", attrs: { "aria-label": "Finding that is open", hidden: true } });
  root.append(kept_root, chips, not_ready, sentence_root, forms, more_root, rest_root, rest_word, hint, progress, trouble, answer_root);
  const sentence = createSentence(sentence_root, send);
  const more = createSentence(more_root, send, "sentence-quiet");
  const rest = createSentence(rest_root, send, "sentence-quiet");
  const answer = createAnswer(answer_root, send, seen);
  const as_kept = createAsKept(kept_root, send);

  /** @param {State} state */
  function update(state) {
    now = state;
    const has_maps = state.maps.length + state.photos.length > 0;
    root.hidden = columnOf(state) !== "ask" || (!has_maps && state.opened === null);
    as_kept.update(state);
    chips.hidden = !has_maps;
    const question = questionOf(state);
    reconcile(chips, state.questions, ({ key }) => key, ({ key }) =>
      el("button", { class: "ask-question", attrs: { type: "button" }, on: { click: () => send({ type: "choose_question", key }) } }),
    (button, { key, label }) => {
      setText(button, label);
      setAttribute(button, "aria-pressed", String(key === state.question));
    });
    setText(not_ready, has_maps && question && !question.ready ? question.reason : "");
    not_ready.hidden = not_ready.textContent === "";
    const form = has_maps && question?.ready ? formOf(state) : null;
    sentence.update(state, form?.parts ?? []);
    more.update(state, form?.more ?? []);
    // What was set stays in sight.
    const is_set = isAnyChosen(state, form?.rest ?? []);
    rest.update(state, rest_open || is_set ? form?.rest ?? [] : []);
    rest_word.hidden = is_set || (form?.rest ?? []).length === 0;
    setText(rest_word, rest_open ? "Fewer settings" : "Further settings");
    setAttribute(rest_word, "aria-expanded", String(rest_open));
    // What leads to the other forms of the question, or back to its first.
    const others = question === null || form === null ? [] : [
      ...(form.key === "" ? [] : [{ question: question.key, key: "", label: question.back ?? question.label }]),
      ...(question.forms ?? []).filter(({ key }) => key !== form.key).map(({ key, label }) => ({ question: question.key, key, label })),
    ];
    reconcile(forms, others, ({ question, key }) => `${question} ${key}`, ({ question, key }) =>
      el("button", { class: "word-button ask-form", attrs: { type: "button" }, on: { click: () => send({ type: "choose_form", question, key }) } }),
    (button, { label }) => setText(button, label));
    forms.hidden = others.length === 0;
    hint.hidden = !has_maps || !question?.ready || readyToAsk(state) !== null;
    progress.hidden = state.asking === null;
    if (state.asking !== null) {
      if (state.asking.fraction > 0) bar.value = state.asking.fraction;
      else bar.removeAttribute("value"); // how far is not known yet
      setText(progress_text, state.asking.text || "Computing");
    }
    setText(trouble_text, state.ask_trouble?.message ?? "");
    trouble.hidden = state.ask_trouble === null;
    answer.update(state);
  }

  return { update, keep: () => answer.keep() };
}
