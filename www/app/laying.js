// Quarter turns and mirroring of the stack, as the buttons say them. Pure.

/** @typedef {{turns: number, mirror: boolean}} Laid maps are mirrored left to right first, then turned clockwise */

/** How the maps lie after one more turn, or after what is seen is mirrored left to right.
 * @param {Laid} laid @param {"left"|"right"|"mirror"} how
 * @returns {Laid} */
export function laidAfter({ turns, mirror }, how) {
  switch (how) {
    case "right":
      return { turns: (turns + 1) % 4, mirror };
    case "left":
      return { turns: (turns + 3) % 4, mirror };
    case "mirror":
      // Mirroring after a turn is turning the other way after mirroring.
      return { turns: (4 - turns) % 4, mirror: !mirror };
  }
}

/** In words; empty as the files are. @param {Laid} laid
 * @returns {string} */
export function laidText({ turns, mirror }) {
  const turned = ["", "turned a quarter to the right", "turned by half", "turned a quarter to the left"][turns] ?? "";
  return [mirror ? "mirrored" : "", turned].filter(Boolean).join(", then ");
}
