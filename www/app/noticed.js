// What the user is told of files and maps: kept one by one, shown folded where many say the same. Pure.

/** @typedef {import("./types.js").Notice} Notice */
/** @typedef {import("./types.js").Offer} Offer */
/** @typedef {import("./types.js").MapSummary} MapSummary */

/** Of the opening of a file, of looking through the whole stack, or of the page itself.
 * @typedef {"opening"|"inspection"|"page"} Source */
/** @typedef {{key: string, source: Source, severity: Notice["severity"], code: string, file: string, text: string, map: string|null, offers: Offer[]}} Held */
/** Notices shown as one line: all of one text, or all of one code, unless files were left out for different reasons.
 * @typedef {{key: string, source: Source, severity: Notice["severity"], code: string, held: Held[], is_one_text: boolean}} Group */
/** A button: which notices it does away with, and the calls that it makes.
 * @typedef {{key: string, label: string, of: string[], calls: {call: Offer["call"], args: unknown[]}[]}} Act */

/** In the order in which they are shown. */
const SEVERITIES = /** @type {const} */ (["error", "warning", "info"]);
/** From here on, notices of one code about different maps or files are one line. */
const MANY = 3;

/** @param {Source} source @param {Notice} notice
 * @returns {Held} */
function held(source, { severity, code, file, text, map = null, offers = [] }) {
  return { key: JSON.stringify([source, severity, code, file, text, map]), source, severity, code, file, text, map, offers };
}

/** New ones behind the old, each once.
 * @param {Held[]} notices @param {Source} source @param {Notice[]} more
 * @returns {Held[]} */
export function withNotices(notices, source, more) {
  const all = new Map(notices.map((one) => [one.key, one]));
  for (const notice of more) {
    const one = held(source, notice);
    all.set(one.key, one);
  }
  return [...all.values()];
}

/** What a look through the stack found takes the place of what the last look found, and of what opening said of the same map. What was
 * put away is not told again as long as it says the same.
 * @param {Held[]} notices @param {Notice[]} found @param {string[]} put_away
 * @returns {Held[]} */
export function inspected(notices, found, put_away) {
  const same = new Set(found.flatMap(({ code, map }) => (map == null ? [] : [`${code} ${map}`])));
  const others = notices.filter(({ source, code, map }) => source !== "inspection" && !(source === "opening" && same.has(`${code} ${map}`)));
  return withNotices(others, "inspection", found).filter(({ source, key }) => source !== "inspection" || !put_away.includes(key));
}

/** Without what the maps as they are now have settled: a map that has its element is no longer told to have none, and what was said of a
 * map that is gone goes with it.
 * @param {Held[]} notices @param {MapSummary[]} maps
 * @returns {Held[]} */
export function unsettled(notices, maps) {
  const settled = (/** @type {Held} */ { code, map, source }) => {
    const now = maps.find(({ id }) => id === map);
    if (now === undefined) return map !== null && source === "inspection";
    return code === "no_element" && (now.element !== null || (now.role ?? "element") !== "element");
  };
  return notices.some(settled) ? notices.filter((one) => !settled(one)) : notices;
}

/** After what some of them offer was done. That a region was made settles nothing else that is offered: such a notice stays with the rest
 * of its offers, and is not told again when there is none left.
 * @param {Held[]} notices @param {string[]} keys of those that were acted on @param {Act["calls"]} calls that were made
 * @returns {{notices: Held[], put_away: string[]}} */
export function afterAct(notices, keys, calls) {
  const made = new Set(calls.map(({ call, args }) => JSON.stringify([call, args])));
  /** @type {string[]} */
  const put_away = [];
  const left = notices.flatMap((one) => {
    if (!keys.includes(one.key)) return [one];
    if (!one.offers.some(({ call }) => call === "add_region")) return [];
    const offers = one.offers.filter(({ call, args }) => call === "add_region" && !made.has(JSON.stringify([call, args])));
    if (offers.length === 0) put_away.push(one.key);
    return offers.length === 0 ? [] : [{ ...one, offers }];
  });
  return { notices: left, put_away };
}

/** @param {Held[]} notices
 * @returns {Group[]} what was left out first, what is only worth knowing last */
export function grouped(notices) {
  const of_code = (/** @type {Held} */ { source, severity, code, map }) => JSON.stringify([source, severity, code, map !== null]);
  /** @type {Map<string, number>} */
  const counts = new Map();
  for (const one of notices) if (one.map !== null || one.severity !== "error") counts.set(of_code(one), (counts.get(of_code(one)) ?? 0) + 1);
  /** @type {Map<string, Held[]>} */
  const groups = new Map();
  for (const one of notices) {
    const key = (counts.get(of_code(one)) ?? 0) >= MANY ? of_code(one) : JSON.stringify([one.source, one.severity, one.code, one.text]);
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  const all = [...groups].map(([key, held]) => {
    const { source, severity, code, text } = /** @type {Held} */ (held[0]);
    return { key, source, severity, code, held, is_one_text: held.every((one) => one.text === text) };
  });
  return SEVERITIES.flatMap((severity) => all.filter((group) => group.severity === severity));
}

/** The lines that are never folded away: the first ones, and what happened to the page itself. Folding a single line away would save
 * nothing.
 * @param {Group[]} groups @param {number} count
 * @returns {Group[]} */
export function inSight(groups, count) {
  const first = groups.filter(({ source, held }, index) => index < count || (source === "page" && held.every(({ file }) => file === "")));
  return first.length + 1 === groups.length ? groups : first;
}

/** What of a group's maps and files stands before the sentence: names, each once.
 * @param {Held[]} held @param {MapSummary[]} maps
 * @returns {string[]} */
export function namesOf(held, maps) {
  const labels = new Map(maps.map(({ id, label }) => [id, label]));
  return [...new Set(held.map(({ map, file }) => (map === null ? file : labels.get(map) ?? file)).filter((name) => name !== ""))];
}

/** What is told, without the name that stands before it anyway.
 * @param {Held} one @param {MapSummary[]} maps
 * @returns {string} */
export function sentenceOf(one, maps) {
  const [name] = namesOf([one], maps);
  return name !== undefined && one.text.startsWith(`${name}: `) ? one.text.slice(name.length + 2) : one.text;
}

/** The buttons of one notice. @param {Held} one
 * @returns {Act[]} */
export function actsOf(one) {
  return one.offers.map(({ label, call, args }, index) => ({ key: `${index} ${one.key}`, label, of: [one.key], calls: [{ call, args }] }));
}

/** The buttons of a whole group: those of its one notice; or one for all, where every notice offers the same kind of call.
 * @param {Group} group
 * @returns {Act[]} */
export function actsForAll({ key, held }) {
  const [first] = held;
  if (first === undefined) return [];
  if (held.length === 1) return actsOf(first);
  return first.offers.flatMap(({ label, call }, index) => {
    const offers = held.map((one) => one.offers[index]);
    if (!offers.every((one) => one !== undefined)) return [];
    const alike = offers.every((one) => one.call === call && (one.label === label || first.offers.length === 1));
    if (!alike) return [];
    const same_words = offers.every((one) => one.label === label);
    return [{
      key: `${index} ${key}`,
      label: same_words ? `${label}: all ${held.length}` : `Do what is proposed for all ${held.length}`,
      of: held.map((one) => one.key),
      calls: together(offers),
    }];
  });
}

/** Many statements about maps are made in one go, and the same call is made once.
 * @param {Offer[]} offers
 * @returns {Act["calls"]} */
function together(offers) {
  const stated = offers.filter(({ call, args }) => call === "set_map" && typeof args[0] === "string");
  if (stated.length === offers.length) {
    return [{ call: "set_maps", args: [stated.map(({ args }) => ({ ...(/** @type {object} */ (args[1] ?? {})), id: args[0] }))] }];
  }
  const all = new Map(offers.map(({ call, args }) => [JSON.stringify([call, args]), { call, args }]));
  return [...all.values()];
}
