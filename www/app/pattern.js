// The patterns of class pictures, by the same rule as the core draws them in a picture. Pure.

/** Whether the pattern's mark stands at this pixel of the screen. A pattern that is not known leaves the ground plain.
 * @param {string} pattern @param {number} x @param {number} y
 * @returns {boolean} */
export function isMarked(pattern, x, y) {
  switch (pattern) {
    case "stripes":
      return (x + y) % 6 < 2;
    case "dots":
      return x % 5 < 2 && y % 5 < 2;
    default:
      return false;
  }
}
