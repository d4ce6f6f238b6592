// Which actions change the study, and which changes are one step of its history.

/** These change the session: once sent, their result is taken in even if the caller no longer wants it. */
export const CHANGING = new Set(["open", "open_photo", "set_map", "set_grid", "set_scan", "set_maps", "set_photo", "align", "set_object",
  "adopt_derived", "add_region", "set_region", "add_point", "set_point", "add_spectrum", "rename", "remove", "apply", "adopt",
  "set_about", "keep", "set_finding", "renew_finding", "restate", "restore"]);

/** An answer that is taken in for its pictures is no change of the study. @param {string} action */
export function changesTheStudy(action) {
  return CHANGING.has(action) && action !== "adopt";
}

/** Letters that follow each other sooner are typed into one text. */
const TYPING_MS = 4000;

/** What a change is one step with: what was typed into one text.
 * @param {string} action @param {any[]} args
 * @returns {{key?: string, within_ms?: number}} */
export function stepOf(action, args) {
  if (action === "set_about") return { key: "about", within_ms: TYPING_MS };
  if (action === "set_finding" && args[1]?.place === undefined) return { key: `finding ${args[0]} ${Object.keys(args[1] ?? {}).join(" ")}`, within_ms: TYPING_MS };
  if (action === "set_point" && Object.keys(args[1] ?? {}).join(" ") === "result") return { key: `result ${args[0]}`, within_ms: TYPING_MS };
  return {};
}
