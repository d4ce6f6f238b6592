// Keys that hold on the whole page: undo, redo, and keeping. In a field that is typed in they are the field's own.

/** Whether what is pressed here is typed. @param {EventTarget|null} target */
export function isTypedIn(target) {
  if (!(target instanceof Element)) return false;
  if (target instanceof HTMLInputElement) return !["button", "checkbox", "color", "radio", "range", "submit"].includes(target.type);
  return target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement || (target instanceof HTMLElement && target.isContentEditable);
}

/** What a key asks for; null for one that is not of these.
 * @param {{key: string, ctrlKey: boolean, metaKey: boolean, altKey: boolean, shiftKey: boolean}} event
 * @returns {"undo"|"redo"|"keep"|null} */
export function keyed({ key, ctrlKey, metaKey, altKey, shiftKey }) {
  const letter = key.toLowerCase();
  if (altKey) return null;
  if (ctrlKey || metaKey) {
    if (letter === "z") return shiftKey ? "redo" : "undo";
    return letter === "y" && !shiftKey ? "redo" : null;
  }
  return letter === "k" ? "keep" : null;
}

/** @param {Document} page @param {import("./controller.js").Send} send @param {() => void} keep */
export function createKeys(page, send, keep) {
  page.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || isTypedIn(event.target)) return;
    const what = keyed(event);
    if (what === null) return;
    event.preventDefault();
    if (what === "keep") keep();
    else send({ type: what });
  });
}
