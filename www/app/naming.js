// Names, kinds and roles of many maps as they are typed and chosen, before they are stated. Pure.

import { ROLES } from "./kinds.js";
import { scanOf, scanWord } from "./scan-words.js";
import { lineOf } from "./typed.js";

/** @typedef {import("./types.js").MapSummary} MapSummary */
/** What was typed or chosen for a map; what is absent stays as it is.
 * @typedef {{line?: string, kind?: string, role?: string, field?: number}} Draft `field`: the number of the scan, the first is 0 */
/** @typedef {Record<string, Draft>} Drafts by id */

/** What the field holds before anything is typed. @param {MapSummary} map */
export function lineText(map) {
  return map.element === null ? "" : map.line === null || map.line.startsWith(map.element) ? map.line ?? map.element : `${map.element} ${map.line}`;
}

/** A draft that holds only what differs from the map as it is.
 * @param {MapSummary} map @param {Draft} draft
 * @returns {Draft} */
export function trimmed(map, { line, kind, role, field }) {
  return {
    ...(line === undefined || line.trim() === lineText(map) ? {} : { line }),
    ...(kind === undefined || kind === map.kind ? {} : { kind }),
    ...(role === undefined || role === (map.role ?? "element") ? {} : { role }),
    ...(field === undefined || field === scanOf(map) || map.derived ? {} : { field }),
  };
}

/** @param {MapSummary[]} maps @param {Drafts} drafts @param {string[]} ids @param {Draft} change
 * @returns {Drafts} with the change for all of these maps */
export function drafted(maps, drafts, ids, change) {
  const next = { ...drafts };
  for (const map of maps) {
    if (!ids.includes(map.id)) continue;
    const draft = trimmed(map, { ...next[map.id], ...change });
    if (Object.keys(draft).length === 0) delete next[map.id];
    else next[map.id] = draft;
  }
  return next;
}

/** What `set_maps` is to be told, in the order of the maps. A typed word for what a map is ("live time") is its role and no line.
 * @param {MapSummary[]} maps @param {Drafts} drafts
 * @returns {({id: string} & Record<string, unknown>)[]} */
export function changesOf(maps, drafts) {
  return maps.flatMap((map) => {
    const draft = drafts[map.id];
    if (draft === undefined) return [];
    const { line, kind, role, field } = trimmed(map, draft);
    const typed_role = line === undefined ? undefined : Object.keys(ROLES).find((word) => word !== "element" && word === line.trim().toLowerCase());
    const stated_role = typed_role ?? role;
    const change = {
      ...(line === undefined ? {} : typed_role === undefined ? linesOf(line) : { element: "", line: "" }),
      ...(kind === undefined ? {} : { kind }),
      ...(stated_role === undefined ? {} : { role: stated_role }),
      ...(field === undefined ? {} : { field }),
    };
    return Object.keys(change).length === 0 ? [] : [{ id: map.id, ...change }];
  });
}

/** @param {string} text */
function linesOf(text) {
  const { element, line } = lineOf(text);
  return line === null ? { element } : { element, line };
}

/** Whether the table says of each map which scan it is of: where there are several, or maps of several sizes. @param {MapSummary[]} maps @param {Drafts} drafts */
export function mayBeScans(maps, drafts) {
  const [first, ...others] = maps.filter(({ derived }) => !derived);
  return others.some(({ width, height }) => width !== first?.width || height !== first.height) || maps.some((map) => (drafts[map.id]?.field ?? scanOf(map)) > 0);
}

/** The scans that a map can be stated to belong to: those that there are, and one more. Maps of one file belong together; those of one folder
 * can be stated at once.
 * @param {MapSummary[]} maps @param {Drafts} drafts @param {MapSummary|null} map null: those that are chosen in the table
 * @returns {{value: string, text: string, detail: string}[]} */
export function scanChoices(maps, drafts, map) {
  const last = Math.max(0, ...maps.map((one) => drafts[one.id]?.field ?? scanOf(one)));
  const fields = Array.from({ length: last + 2 }, (_, field) => field);
  const alone = fields.map((field) => ({ value: `${field}`, text: scanWord(field), detail: field === 0 ? "everything lies on its grid" : "" }));
  const folder = map === null ? [] : idsOf(maps, map, "folder");
  if (map === null || folder.length === idsOf(maps, map, "file").length) return alone;
  return [...alone, ...fields.map((field) => ({ value: `${field} folder`, text: `${scanWord(field)}, with its folder`, detail: `${folder.length} maps` }))];
}

/** What a choice states, and of which maps. @param {MapSummary[]} maps @param {MapSummary} map @param {string} value
 * @returns {{ids: string[], field: number}} */
export function scanChosen(maps, map, value) {
  const [field = "0", reach] = value.split(" ");
  return { ids: idsOf(maps, map, reach === "folder" ? "folder" : "file"), field: Number(field) };
}

/** The maps that were read from the file of a map, or from its folder. @param {MapSummary[]} maps @param {MapSummary} map @param {"file"|"folder"} reach */
function idsOf(maps, map, reach) {
  const folder = (/** @type {string} */ file) => file.split("/").slice(0, -1).join("/");
  const read = maps.filter(({ derived }) => !derived);
  const own = read.filter(({ file, file_sha256 }) => file === map.file && file_sha256 === map.file_sha256);
  const together = reach === "folder" && folder(map.file) !== "" ? read.filter(({ file }) => folder(file) === folder(map.file)) : own;
  return together.map(({ id }) => id);
}

/** Names that were pasted: one for each row from where the paste began; or, where each line holds a file's name and a name, by the file.
 * @param {string} text @param {MapSummary[]} rows as they stand in the table @param {number} at
 * @returns {{id: string, line: string}[]} empty where it is a single name, which is pasted as any text */
export function pastedNames(text, rows, at) {
  const lines = text.replace(/(\r?\n)+$/, "").split(/\r?\n/).map((line) => line.split("\t").map((cell) => cell.trim()));
  const by_file = lines.flatMap(([first = "", second]) => {
    const row = second === undefined ? undefined : rows.find(({ file }) => stem(file) === stem(first) || file === first);
    return row === undefined ? [] : [{ id: row.id, line: second ?? "" }];
  });
  if (by_file.length > 0) return by_file;
  if (lines.length < 2) return [];
  return lines.flatMap(([first = ""], index) => {
    const row = rows[at + index];
    return row === undefined ? [] : [{ id: row.id, line: first }];
  });
}

/** @param {string} file */
function stem(file) {
  return (file.split("/").at(-1) ?? "").replace(/\.[^.]*$/, "").toLowerCase();
}

/** Which of the changed maps a failure is about: the core says so in the detail, or it quotes what was typed; null if neither tells.
 * @param {{message: string, detail: string}} problem @param {({id: string} & Record<string, unknown>)[]} changes
 * @returns {string|null} */
export function rowOf({ message, detail }, changes) {
  const said = changes.find(({ id }) => id === detail);
  if (said !== undefined) return said.id;
  if (changes.length === 1) return changes[0]?.id ?? null;
  const quoted = changes.filter(({ element, line }) => [element, `${element} ${line}`].some((text) => typeof text === "string" && text !== "" && message.includes(`“${text}”`)));
  return quoted.length === 0 ? null : quoted[0]?.id ?? null;
}

/** Why the kinds of three maps or more were proposed, if that is one reason for most of them; empty where it is not.
 * @param {MapSummary[]} maps
 * @returns {string} */
export function commonReason(maps) {
  const reasons = maps.flatMap(({ kind_reason, kind_is_stated }) => (kind_reason && !kind_is_stated ? [kind_reason] : []));
  const usual = reasons.find((reason) => reasons.filter((other) => other === reason).length > reasons.length / 2);
  return reasons.length >= 3 && usual !== undefined ? usual : "";
}
