// Mouse, pen and touch on a canvas: drag to pan, wheel or two fingers to zoom about the place under them, hover or tap to read.

/** Positions and distances are in canvas pixels.
 * @typedef {{pan: (dx: number, dy: number) => void, zoom: (factor: number, x: number, y: number) => void,
 *   at: (x: number, y: number) => void, leave: () => void}} Follower */

/** One notch of a usual wheel (100 pixels) zooms by about 1.2. */
const PER_PIXEL = 0.0018;
/** A pinch on a touchpad arrives as a wheel with Ctrl, in much smaller numbers. */
const PER_PIXEL_PINCH = 0.01;
const LINE_PIXELS = 16;

/** @param {HTMLCanvasElement} canvas @param {Follower} follower */
export function followPointer(canvas, follower) {
  /** @type {Map<number, {x: number, y: number}>} */
  const down = new Map();
  const position = (/** @type {MouseEvent} */ event) => {
    const box = canvas.getBoundingClientRect();
    return { x: (event.clientX - box.left) * devicePixelRatio, y: (event.clientY - box.top) * devicePixelRatio };
  };

  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    const pixels = event.deltaMode === 1 ? event.deltaY * LINE_PIXELS : event.deltaMode === 2 ? event.deltaY * canvas.clientHeight : event.deltaY;
    const { x, y } = position(event);
    follower.zoom(Math.exp(-pixels * (event.ctrlKey ? PER_PIXEL_PINCH : PER_PIXEL)), x, y);
    follower.at(x, y);
  }, { passive: false });

  canvas.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "mouse" && event.button !== 0 && event.button !== 1) return;
    canvas.setPointerCapture(event.pointerId);
    down.set(event.pointerId, position(event));
    if (event.pointerType !== "mouse") follower.at(position(event).x, position(event).y);
  });

  canvas.addEventListener("pointermove", (event) => {
    const now = position(event);
    const before = down.get(event.pointerId);
    if (before === undefined) return follower.at(now.x, now.y);
    const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
    down.set(event.pointerId, now);
    canvas.classList.add("view-dragged");
    if (other === undefined) {
      follower.pan(now.x - before.x, now.y - before.y);
      follower.at(now.x, now.y);
      return;
    }
    const apart = (/** @type {{x: number, y: number}} */ one) => Math.max(1, Math.hypot(one.x - other.x, one.y - other.y));
    follower.pan((now.x - before.x) / 2, (now.y - before.y) / 2);
    follower.zoom(apart(now) / apart(before), (now.x + other.x) / 2, (now.y + other.y) / 2);
  });

  const up = (/** @type {PointerEvent} */ event) => {
    down.delete(event.pointerId);
    if (down.size === 0) canvas.classList.remove("view-dragged");
  };
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  canvas.addEventListener("pointerleave", (event) => {
    // A finger leaves when it is lifted; what it read stays to be looked at.
    if (event.pointerType === "mouse" && down.size === 0) follower.leave();
  });
}
