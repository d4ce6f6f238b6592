// What the user types, understood: a step in millimetres, and the name of an element line. Pure.

/** A length with point or comma, or two of them ("0.25 × 0.4"), as whole or broken micrometres; null if it is no length.
 * @param {string} text in millimetres
 * @returns {{step_x_um: number, step_y_um: number}|null} */
export function stepOf(text) {
  const lengths = text.replace(/mm/gi, "").split(/[x×]/i).map((part) => {
    const millimetres = part.trim() === "" ? NaN : Number(part.trim().replace(",", "."));
    // Twelve digits: 1.005 mm is 1005 µm and not 1004.9999999999999.
    return Number((millimetres * 1000).toPrecision(12));
  });
  const [across, down = across] = lengths;
  if (across === undefined || down === undefined || lengths.length > 2) return null;
  return [across, down].every((length) => Number.isFinite(length) && length > 0) ? { step_x_um: across, step_y_um: down } : null;
}

/** @param {number} x_um @param {number} y_um
 * @returns {string} what `stepOf` takes */
export function stepText(x_um, y_um) {
  return x_um === y_um ? String(x_um / 1000) : `${x_um / 1000} × ${y_um / 1000}`;
}

const GREEK = /** @type {Record<string, string>} */ ({ a: "α", b: "β", g: "γ" });

/** Apart ("cu ka"), in one word as it is written ("CuKa", so that "Tl" stays thallium), or the element alone. */
const FORMS = [/^([a-z]{1,2})[\s_-]+([klm])\s*([abgαβγ]?)1?$/i, /^([A-Z][a-z]?)([KLM])([abgαβγ]?)1?$/, /^([a-z]{1,2})$/i];

/** "Cu K", "cu-ka", "Pb Lα", "Fe": the element's symbol as it is written, and its line. An empty text means no element.
 * Whether there is such an element and line, the core knows.
 * @param {string} text
 * @returns {{element: string, line: string|null}} */
export function lineOf(text) {
  const typed = text.trim();
  const [, symbol = typed, family = "", member = ""] = FORMS.map((form) => form.exec(typed)).find((found) => found !== null) ?? [];
  if (symbol.length > 2) return { element: symbol, line: null };
  const element = symbol.charAt(0).toUpperCase() + symbol.slice(1).toLowerCase();
  const greek = GREEK[member.toLowerCase()] ?? member.toLowerCase();
  return { element, line: family === "" ? null : family.toUpperCase() + greek };
}
