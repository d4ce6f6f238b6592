// One part of the page alone on the screen: the browser's full screen where it is allowed, else the whole window.

/** @param {HTMLElement} element @param {(on: boolean) => void} changed
 * @returns {{toggle: () => void, leave: () => void, is_on: () => boolean}} */
export function createFullScreen(element, changed) {
  let on = false;

  function set(/** @type {boolean} */ now) {
    if (on === now) return;
    on = now;
    element.classList.toggle("view-alone", on);
    changed(on);
  }

  document.addEventListener("fullscreenchange", () => {
    if (document.fullscreenElement !== element) set(false); // left by the browser's own key
  });

  async function enter() {
    set(true);
    try {
      await element.requestFullscreen?.();
    } catch {
      // Not allowed here: it fills the window, which is nearly as much.
    }
  }

  function leave() {
    set(false);
    if (document.fullscreenElement === element) void document.exitFullscreen();
  }

  return { toggle: () => (on ? leave() : void enter()), leave, is_on: () => on };
}
