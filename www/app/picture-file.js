// What is typed when a picture is saved, understood: its size and the name of its file. Pure.

/** @typedef {"mm"|"px"} SizeUnit */
/** @typedef {{width_mm: number, dpi: number}|{width_px: number}} PictureSize */

/** Sides beyond this make files that hardly a program opens; the core has its own limit and says so. */
const MOST_PIXELS = 16384;
const LEAST_PIXELS = 50;
const MM_PER_INCH = 25.4;

/** @param {SizeUnit} unit @param {string} width as typed @param {number} dpi
 * @returns {PictureSize|string} the size, or what is wrong with it */
export function sizeOf(unit, width, dpi) {
  const bare = width.trim().replace(/\s*(mm|px|pixels?)$/i, "").replace(",", ".");
  const value = bare === "" ? NaN : Number(bare);
  if (!Number.isFinite(value) || value <= 0) return unit === "mm" ? "Give the width in millimetres, for example 120." : "Give the width in pixels, for example 1600.";
  const pixels = unit === "mm" ? (value / MM_PER_INCH) * dpi : value;
  if (pixels > MOST_PIXELS) return `That would be ${Math.round(pixels)} pixels wide; at most ${MOST_PIXELS} are possible. Make it narrower${unit === "mm" ? " or lower the resolution" : ""}.`;
  if (pixels < LEAST_PIXELS) return `That would be ${Math.round(pixels)} pixels wide, too few for a picture with its key. Make it wider.`;
  return unit === "mm" ? { width_mm: value, dpi } : { width_px: Math.round(value) };
}

/** How many pixels across that is. @param {PictureSize} size */
export function pixelsAcross(size) {
  return "width_px" in size ? size.width_px : Math.round((size.width_mm / MM_PER_INCH) * size.dpi);
}

/** A name that every usual file system takes.
 * @param {string} title
 * @returns {string} */
export function fileNameOf(title) {
  const bare = title.replace(/[\u0000-\u001f\u007f<>:"/\\|?*]/g, " ").replace(/\s+/g, " ").trim().replace(/^[. ]+|[. ]+$/g, "");
  const short = [...bare].slice(0, 100).join("").trim();
  // Names of devices, which Windows refuses whatever follows the point.
  const name = /^(con|prn|aux|nul|com\d|lpt\d)$/i.test(short) ? `${short} picture` : short;
  return `${name === "" ? "picture" : name}.png`;
}
