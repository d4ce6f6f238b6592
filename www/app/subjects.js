// What each of the views shows, and what becomes of it when there are more or fewer of them. Pure.

/** @typedef {import("./state.js").State} State */

/** `overlap`: of the map, what overlaps of lines could give.
 * @typedef {"map"|"overlap"|"overlay"|"answer"|"photo"} Mode */
/** @typedef {1|2|4} Layout */
/** `map`, `photo` and `show` (a picture of the answer) are kept while another mode is on.
 * @typedef {{mode: Mode, map: string|null, photo: string|null, show: string|null}} Subject */

export const MOST_VIEWS = 4;

/** @type {Layout[]} */
export const LAYOUTS = [1, 2, 4];

/** A view that has not been used yet. @type {Subject} */
export const NOTHING = Object.freeze({ mode: "map", map: null, photo: null, show: null });

/** @param {Layout} layout */
export function layoutText(layout) {
  return layout === 1 ? "1 view" : `${layout} views`;
}

/** The list of views takes over what the active one shows now.
 * @param {State} state
 * @returns {State} */
export function taken(state) {
  const { mode, map, photo, active, views } = state;
  const before = views[active] ?? NOTHING;
  const now = { mode, map, photo, show: state.shown?.show ?? before.show };
  const same = before.mode === now.mode && before.map === now.map && before.photo === now.photo && before.show === now.show;
  return same ? state : { ...state, views: views.with(active, now) };
}

/** Another number of views. The active one stays in sight: if it would be left out, it takes the place of the last.
 * @param {State} state @param {Layout} layout
 * @returns {State} */
export function arranged(state, layout) {
  const last = layout - 1;
  if (state.active <= last) return { ...state, layout };
  const [here, there] = [state.views[state.active] ?? NOTHING, state.views[last] ?? NOTHING];
  return { ...state, layout, active: last, views: state.views.with(state.active, there).with(last, here) };
}

/** Every view in sight shows something: first what is most likely wanted beside the others (the overlay, the answer), then the maps that
 * are not in sight yet, in the order of the sheet.
 * @param {State} state
 * @returns {State} */
export function filled(state) {
  const views = [...state.views];
  const seen = () => views.slice(0, state.layout);
  for (let view = 0; view < state.layout; view += 1) {
    const subject = views[view] ?? NOTHING;
    if (view === state.active || subject.mode !== "map" || subject.map !== null) continue;
    views[view] = { ...subject, ...likely(state, seen()) };
  }
  return { ...state, views };
}

/** @param {State} state @param {Subject[]} seen
 * @returns {Partial<Subject>} */
function likely(state, seen) {
  const is_seen = (/** @type {Mode} */ mode) => state.mode === mode || seen.some((view) => view.mode === mode);
  const maps = new Set([...seen.filter(({ mode }) => mode === "map").map(({ map }) => map), state.mode === "map" ? state.map : null]);
  const start = state.maps.findIndex(({ id }) => id === state.map) + 1;
  const next = [...state.maps.slice(start), ...state.maps.slice(0, start)].find(({ id }) => !maps.has(id));
  const map = next?.id ?? state.maps[0]?.id ?? null;
  if (state.lights.some(Boolean) && !is_seen("overlay")) return { mode: "overlay", map };
  if (state.shown !== null && !is_seen("answer")) return { mode: "answer", map };
  return { map };
}

/** What a view shows, as a short name: "Fe K", "Fe K + Pb L", "Apart, Ti K, Fe K", the name of a photo.
 * @param {State} state @param {number} view
 * @returns {string} */
export function subjectName(state, view) {
  const subject = state.views[view] ?? NOTHING;
  switch (subject.mode) {
    case "map":
      return state.maps.find(({ id }) => id === subject.map)?.label ?? "";
    case "overlap":
      return `${state.maps.find(({ id }) => id === subject.map)?.label ?? ""}, what overlaps could give`;
    case "overlay":
      return state.lights.flatMap((light) => (light === null ? [] : [light.label])).join(" + ");
    case "answer": {
      const { answer } = state;
      if (answer === null) return "Answer";
      const question = state.questions.find(({ key }) => key === answer.question)?.label.replace(/[?\s]+$/, "") ?? "Answer";
      const maps = Object.values(answer.settings).flatMap((value) => state.maps.filter(({ id }) => id === value).map(({ label }) => label));
      const show = answer.shows.find((one) => one.show === (subject.show ?? state.shown?.show));
      return [question, ...maps, ...(show && answer.shows.length > 1 ? [show.label] : [])].join(", ");
    }
    case "photo":
      return photoName(state.photos.find(({ id }) => id === subject.photo));
  }
}

/** A name of the user's own as it is, a file's without its ending. @param {import("./types.js").PhotoSummary|undefined} photo */
export function photoName(photo) {
  if (photo === undefined) return "";
  return photo.name !== undefined && photo.name !== photo.file ? photo.name : photo.file.replace(/\.[^.]*$/, "");
}
