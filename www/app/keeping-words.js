// What is said of keeping. The core cannot know it, so the page words it. Pure.

/** @typedef {import("./keeping-state.js").Keeping} Keeping */
/** @typedef {import("./keeping-state.js").KeptEntry} KeptEntry */
/** @typedef {import("./keeping.js").Told} Told */
/** @typedef {{text: string, is_trouble: boolean}} Words */
/** @typedef {{label: string, action: {type: "keep_here"}|{type: "take_over"}|{type: "stop_keeping"}|{type: "open_keeping", open: boolean}}} KeepingAct */

const SAVE = "Save the study file to be sure of it.";

/** @param {number} count @param {string} one @param {string} [many] */
const counted = (count, one, many = `${one}s`) => `${count} ${count === 1 ? one : many}`;

/** The words in the top bar; none where nothing is open.
 * @param {Keeping} keeping @param {boolean} is_empty whether nothing is open
 * @returns {Words|null} */
export function barOf({ how, told, is_read_only }, is_empty) {
  if (is_empty || how === "starting") return null;
  if (is_read_only) return { text: "Read only", is_trouble: true };
  if (how !== "on") return { text: "Not kept", is_trouble: false };
  if (told === null) return null;
  if (told.status === "failed") return { text: told.at === null ? "Not kept" : `Not kept since ${timeOf(told.at)}`, is_trouble: true };
  if (told.status === "keeping") return { text: told.files > 1 ? `Keeping ${told.files} files…` : "Keeping…", is_trouble: false };
  return told.left_out.length > 0 ? { text: `Kept but for ${counted(told.left_out.length, "file")}`, is_trouble: true } : { text: "Kept", is_trouble: false };
}

/** The line below the top bar: what is wrong, or what the user wants to know; null where there is neither.
 * @param {Keeping} keeping @param {boolean} is_empty
 * @returns {(Words & {acts: KeepingAct[]})|null} */
export function stripOf(keeping, is_empty) {
  const { how, told, is_read_only, is_free, is_open, trouble } = keeping;
  const more = /** @type {KeepingAct[]} */ ([{ label: "Put away", action: { type: "open_keeping", open: false } }]);
  if (is_empty) return null;
  if (is_read_only) {
    if (!is_free) return { text: "This study is open in another tab, which keeps it. Here it can be looked at and asked, but not changed.", is_trouble: true, acts: [] };
    return { text: "The other tab has let this study go.", is_trouble: true, acts: [{ label: "Go on with it here", action: { type: "take_over" } }] };
  }
  if (how === "on" && told?.status === "failed") return { text: failedText(told), is_trouble: true, acts: [] };
  if (trouble !== "") return { text: trouble, is_trouble: true, acts: more };
  if (how === "on" && told !== null && told.left_out.length > 0) return { text: leftOutText(told.left_out), is_trouble: true, acts: [] };
  if (!is_open) return null;
  return { text: placeText(keeping), is_trouble: false, acts: [...actsOf(keeping), ...more] };
}

/** What can be done about keeping where nothing is open, and where the user asks.
 * @param {Keeping} keeping
 * @returns {KeepingAct[]} */
export function actsOf({ how, where }) {
  if (how === "asks" || how === "off") return [{ label: "Keep my work in this browser", action: { type: "keep_here" } }];
  if (how !== "on") return [];
  return [{ label: where === "site" ? "Forget this study here" : "Forget all and keep nothing", action: { type: "stop_keeping" } }];
}

/** Whether and where work is kept, in one sentence or two.
 * @param {Keeping} keeping */
export function placeText({ how, where }) {
  const who = where === "copy" ? "This copy of the page" : "A page opened from disk";
  if (how === "none") return "This browser keeps nothing here, as in a private window or with storage switched off: save the study file before you close the page.";
  if (how === "off") return "Nothing of this study is kept in this browser.";
  if (how === "asks") return `${who} keeps nothing unless you say so, because other pages opened from disk could read what it keeps.`;
  if (where === "site") return "Your work is kept in this browser as you go, on this computer only.";
  return "Your work is kept in this browser as you go. Other pages opened from disk could read it.";
}

/** @param {Told} told */
function failedText({ why, at, detail }) {
  const what = at === null ? "nothing of this study" : `what was changed since ${timeOf(at)}`;
  switch (why) {
    case "no room":
      return at === null ? `The browser has no room left, so nothing of this study is kept. ${SAVE}` : `The browser has no room left: ${what} is not kept. ${SAVE}`;
    case "overtaken":
      return "Another tab has gone on with this study, so what is changed here is no longer kept. Save the study file if you need it.";
    case "slow":
      return at === null ? "The browser has not yet written anything of this study to the disk." : `The browser has not yet written ${what} to the disk.`;
    default:
      return `The browser refused to keep ${at === null ? "this study" : what}${detail === "" ? "" : ` (${detail})`}. ${SAVE}`;
  }
}

/** @param {Told["left_out"]} left_out */
function leftOutText(left_out) {
  const [first] = left_out;
  if (first === undefined) return "";
  const names = left_out.length === 1 ? first.name : `${first.name} and ${counted(left_out.length - 1, "other file")}`;
  const [is, they_have, it] = left_out.length === 1 ? ["is", "it has", "it"] : ["are", "they have", "them"];
  const whys = new Set(left_out.map(({ why }) => why));
  const why = whys.has("no room") ? `the browser has no room for ${it}` : whys.has("unreadable") ? `the browser can no longer read ${it} from the disk` : `the browser refused ${it}`;
  return `${names} ${is} not kept: ${why}. After a reload ${they_have} to be opened again; a study file holds ${it}.`;
}

/** A study of the list: what it is called, and what is in it.
 * @param {KeptEntry} entry @param {number} now
 * @returns {{title: string, text: string}} */
export function entryWords({ title, maps, photos, findings, updated, bytes }, now) {
  const stack = [...(maps > 0 ? [counted(maps, "map")] : []), ...(photos > 0 ? [counted(photos, "photo")] : [])].join(" and ");
  const parts = [...(title === "" || stack === "" ? [] : [stack]), ...(findings > 0 ? [counted(findings, "finding")] : []), whenOf(updated, now), sizeOf(bytes)];
  return { title: title || stack || "A study", text: parts.join(" · ") };
}

/** @param {number} at in ms */
export function timeOf(at) {
  return new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit" }).format(at);
}

/** @param {number} at @param {number} now */
export function whenOf(at, now) {
  const day = (/** @type {number} */ ms) => new Date(ms).toDateString();
  if (day(at) === day(now)) return `today ${timeOf(at)}`;
  if (day(at) === day(now - 86_400_000)) return `yesterday ${timeOf(at)}`;
  return `${new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "long", year: "numeric" }).format(at)}, ${timeOf(at)}`;
}

/** @param {number} bytes */
export function sizeOf(bytes) {
  if (bytes >= 1e9) return `${(bytes / 1e9).toFixed(1)} GB`;
  return bytes >= 1e7 ? `${Math.round(bytes / 1e6)} MB` : bytes >= 1e5 ? `${(bytes / 1e6).toFixed(1)} MB` : `${Math.max(1, Math.round(bytes / 1e3))} kB`;
}
