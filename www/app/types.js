// Shapes that cross between core, worker and page. The core makes them; the page only reads them.

/** A failure as everyone sees it; every field is text.
 * @typedef {{code: string, message: string, detail: string}} Problem */

/** A file to be read: under which name (with its folders, where it came in one), and in which way if the core asked.
 * @typedef {{file: File, name: string, way: string|null}} Input */

/** What the user may accept of what is proposed: exactly this call is then made.
 * @typedef {{label: string, call: "set_map"|"set_maps"|"set_grid"|"derive"|"add_region", args: unknown[]}} Offer */

/** `map` is the id of the map it is about, null for the file as a whole.
 * @typedef {{severity: "info"|"warning"|"error", code: string, file: string, text: string, map?: string|null, offers?: Offer[]}} Notice */

/** A file that can be read in several ways, and nothing decides.
 * @typedef {{file: string, sha256: string, question: string, ways: {key: string, text: string, sample: string}[]}} AskToRead */

/** `read_line`: what was read from the file's title or name before the user named the map.
 * @typedef {{id: string, file: string, page: number, title: string, element: string|null, line: string|null, kind: string,
 *   width: number, height: number, low: number|null, high: number|null, median: number|null, blank: number, saturated: number,
 *   file_sha256: string, label: string, largest: string, marks: string[], cell?: [number, number],
 *   read_line?: string|null, role?: string, belongs_to?: string|null, detector?: number|null, group?: string[], kind_text?: string, kind_reason?: string,
 *   kind_is_stated?: boolean, derived?: {how: string, of: string[], text: string, account: string[]}|null, field?: number}} MapSummary */

/** `width` and `height` are those of the full photo as it lies now.
 * @typedef {{id: string, file: string, name: string, width: number, height: number, file_sha256: string, light: PhotoLight, side: PhotoSide,
 *   turns: number, mirror: boolean, text: string, alignment: Alignment|null}} PhotoSummary */
/** @typedef {"visible"|"ultraviolet"|"infrared"} PhotoLight */
/** @typedef {"recto"|"verso"} PhotoSide */
/** @typedef {{light?: PhotoLight, side?: PhotoSide, name?: string, turns?: number, mirror?: boolean}} PhotoSettings */

/** @typedef {"similarity"|"affine"|"homography"|"piecewise"} AlignModel */
/** Another scan than the first. @typedef {{field: number, label: string, maps: string[], width: number, height: number, alignment: Alignment|null}} Field */
/** A map of another scan against the first; all of it in sentences in `text`.
 * @typedef {{first: string, second: string, ratio: number|null, error: number|null, low: number|null, high: number|null, per_area: number|null,
 *   density: number|null, blocks: number, side: number, moved: number[], is_one: boolean|null, line: number[]|null, outline: [number, number][],
 *   text: string[]}} Overlap */
/** The same place twice: in pixels of what is aligned, and of the grid.
 * @typedef {{from: [number, number], to: [number, number]}} MatchingPoint */
/** @typedef {{photo?: string, map?: string, model?: AlignModel, points: MatchingPoint[], transform?: number[]}} AlignSettings */
/** Errors are where a point is laid less where it should be, in pixels of the grid.
 * @typedef {MatchingPoint & {error_px: [number, number]|null, left_out_px: [number, number]|null, text: string}} AlignedPoint */
/** `trouble` says why nothing can be laid; `text` is all of it in one sentence. `corners` are those of what is aligned, on the grid.
 * @typedef {{model: AlignModel|"found", model_stated: AlignModel|null, points: AlignedPoint[], rms_px: number|null, rms_mm: number|null,
 *   left_out_rms_px: number|null, left_out_rms_mm: number|null, error_px: number|null, transform: number[]|null,
 *   corners: ([number, number]|null)[], doubtful: number|null, text: string, trouble: string}} Alignment */

/** What was found by looking at photo and maps alone; nothing is changed by it. `measure_before` and `measure_after`: how much the photo tells
 * of the maps, as it lay at first and as it was found. @typedef {{transform: number[], is_accepted: boolean, text: string, measure_before: number,
 *   measure_after: number, corners: ([number, number]|null)[]}} Found */

/** @typedef {"upper left"|"upper right"|"lower right"|"lower left"} Corner */
/** Places of the grid: a corner of the object, a place on the horizontal edge through it, one on the vertical edge.
 * `photo`: one on which marks were set; `alignment_px`: how far off marks may be that were set on a photo earlier.
 * @typedef {{corner: Corner, at: [number, number], across: [number, number], down: [number, number], photo?: string, alignment_px?: number}} ObjectSettings */
/** @typedef {{corner: Corner, at: [number, number], across: [number, number], down: [number, number], alignment_px: number, text: string, trouble: string}} ObjectText */

/** What a worker of its own makes of a file that holds a photo alone, for the session to take in; without a photo where the file
 * cannot be read. `pixels` are three bytes each, means of `factor` x `factor` pixels of the photo.
 * @typedef {{sha256: string, size: number, notices: Notice[], format?: string, doubt?: string,
 *   photo?: {width: number, height: number, factor: number, kept_width: number, kept_height: number, pixels: Uint8Array}}} PhotoRead */

/** @typedef {{step_x_um: number|null, step_y_um: number|null, source: string, turns: number, mirror: boolean, pixel_aspect: number,
 *   width: number, height: number, text: string}} Grid */

/** @typedef {{map: string, label: string, colour: string, low: number, high: number, gamma: number, colour_label?: string}} Light */

/** A window of the picture in map pixels; `out_width` and `out_height` are the size of the result in its own pixels. Without the height
 * it follows from the window's proportion.
 * @typedef {{x: number, y: number, width: number, height: number, out_width: number, out_height?: number}} ViewWindow */

/** How values rise between the limits, and how the axis of a histogram is divided.
 * @typedef {"linear"|"square root"|"logarithmic"} ToneScale */

/** A photo seen with maps: mixed, its share of the light, or divided from them by a line at a share of the picture. `photo_transform` is looked
 * at instead of the photo's own alignment.
 * @typedef {{photo?: string, mix?: number, divide?: number, divide_along?: "x"|"y", photo_transform?: number[]}} WithPhoto */
/** @typedef {({map: string, colours?: string, low?: number, high?: number, scale?: ToneScale, view?: ViewWindow} & WithPhoto)
 *   | ({lights: {map: string, colour?: string, low?: number, high?: number, gamma?: number, scale?: ToneScale}[], view?: ViewWindow} & WithPhoto)
 *   | ({overlap: string, colours?: string, view?: ViewWindow} & WithPhoto)
 *   | ({answer: string, show: string, view?: ViewWindow} & WithPhoto)
 *   | {photo: string, on?: "grid", photo_transform?: number[], view?: ViewWindow}} PictureSettings */

/** `full` is the ground of a pattern and `mark` what it draws; `number` is what the raster holds where a class is.
 * @typedef {{kind: "light"|"both"|"class"|"fill", label: string, full: string, half: string|null, pattern: string, mark?: string, number?: number}} KeySwatch */
/** @typedef {{kind: "bar", label: string, colours: string[], ticks: {at: number, text: string}[]}} KeyBar */
/** @typedef {KeySwatch|KeyBar} KeyEntry */

/** @typedef {{width: number, height: number, rgba: Uint8ClampedArray, key: KeyEntry[], scale_bar: {length_px: number, text: string}|null,
 *   scale_bar_reason?: string|null, caption: string, source_width: number, source_height: number}} Picture */

/** @typedef {{map: string, label: string, text: string}} ReadValue */
/** The values at a place, and of the region that it lies in.
 * `region` is the patch of an answer's class there, `regions` the named regions there, the smallest first, at most four; how many more there
 * are stands in `more_regions`, in words.
 * @typedef {{text: string, values: ReadValue[], region?: {text: string, values: ReadValue[]}|null, regions?: {text: string, values: ReadValue[]}[],
 *   more_regions?: string}} ReadOut */

/** @typedef {"passage"|"off the object"|"bare support"|"ground"|"reference"} RegionRole */
/** @typedef {{x: number, y: number, width: number, height: number}} Rectangle */
/** @typedef {"and"|"or"|"without"|"grown"|"shrunk"} CombineWord */

/** A region as it is handed in: exactly one of the shapes (none is needed to change name or role alone). Places are pixels of the grid.
 * @typedef {{name?: string, role?: RegionRole, pure?: string, rectangle?: Rectangle, polygon?: [number, number][], mask?: Uint8Array, mask_png?: Uint8Array,
 *   threshold?: {map: string, low?: number|null, high?: number|null}, classes?: {answer: string, classes: number[]},
 *   cloud?: {answer: string, from: [number, number], to: [number, number], region?: string}
 *     | {a: string, b: string, a_low?: number|null, a_high?: number|null, b_low?: number|null, b_high?: number|null, region?: string},
 *   colour?: {photo?: string, at: [number, number][], alike?: number, except?: [number, number][], connected?: boolean, smallest_px?: number, rim?: boolean},
 *   combine?: {how: CombineWord, of: string[], by_px?: number}}} RegionSettings */

/** A region at a glance. `makers`: the maps that made it, by id. Shapes are said as they lie now.
 * @typedef {{id: string, name: string, role: RegionRole, pure?: string, how: "rectangle"|"polygon"|"mask"|"threshold"|"classes"|"cloud"|"colour"|"combine", text: string,
 *   makers: string[], makers_text: string, pixels: number, area_text: string, bounds: Rectangle, rectangle?: Rectangle,
 *   polygon?: [number, number][], threshold?: {map: string, low: number|null, high: number|null},
 *   cloud?: {a: string, b: string, a_low: number|null, a_high: number|null, b_low: number|null, b_high: number|null, region?: string},
 *   colour?: {photo: string, at: [number, number][], colours: string[], alike: number, except: [number, number][], except_colours: string[], connected: boolean,
 *     smallest_px: number, rim: boolean, rim_px: number|null, caution: string},
 *   combine?: {how: CombineWord, of: string[], by_px?: number}}} RegionSummary */
/** The same with its pixels: 1 inside, 0 outside.
 * @typedef {RegionSummary & {mask: {width: number, height: number, data: Uint8Array}}} RegionWithMask */

/** @typedef {"found"|"not found"|"open"} Says */
/** An analysis point as it is handed in. A place in millimetres from the upper left corner of the maps, or in pixels of the grid;
 * `technique` is one of `techniques()`, `pigment` an id of `materials()`.
 * @typedef {{x_mm?: number, y_mm?: number, at?: [number, number], name?: string, technique?: string, result?: string, pigment?: string, says?: Says}} PointSettings */
/** The same at a glance. `at` is in pixels of the grid as it lies now, `regions` are those that it lies in, by id, `text` is all of it in one
 * sentence. @typedef {{id: string, name: string, at: [number, number], x_mm: number|null, y_mm: number|null, place_text: string, technique: string,
 *   result: string, pigment: string|null, pigment_name: string, says: Says, regions: string[], text: string}} PointSummary */

/** @typedef {{id: string, name: string, other_names: string[], colours: string[]}} MaterialChoice */
/** A layer that may lie over something else; `text` is what is assumed of it, `basis` what that rests on.
 * @typedef {{id: string, name: string, text: string, basis: string}} LayerChoice */

/** @typedef {"sum"|"maximum pixel"} SpectrumHow */
/** A spectrum as it is handed in: `bytes` are those of its file. Energies in keV where the file does not say them.
 * @typedef {{name: string, bytes: Uint8Array, region?: string, how: SpectrumHow, first_kev?: number, step_kev?: number}} SpectrumSettings */
/** @typedef {{id: string, name: string, region: string|null, how: SpectrumHow, channels: number, first_kev: number, step_kev: number, last_kev: number,
 *   text: string}} SpectrumSummary */

/** How a map's values are spread. Edges are values between the bars, `places` where they stand along the axis as it
 * is drawn, 0 to 1; bars are heights from 0 to 1.
 * @typedef {{low: number, high: number, bars: number[], edges: number[], places?: number[], ticks: {at: number, text: string}[], critical: number|null,
 *   start: {low: number, high: number}, thresholds: {name: string, value: number, text: string}[], text: string, unit?: string}} Histogram */

/** @typedef {{key: string, label: string}} ColourChoice */

/** @typedef {{settings: PictureSettings, width_px?: number, width_mm?: number, dpi?: number, title?: string}} PictureFile */

/** @typedef {"picture"|"map"|"raster"|"mask"|"answer"|"table"|"profile"|"regions_table"|"points"|"files"|"spectrum"|"record"} ExportWhat */

/** How something is exported. `record: false` leaves the settings out of a table. `as_file_of`: a mask on the pixels of that map's file,
 * as other programs read it; empty for the maps as they lie now.
 * @typedef {PictureFile
 *   | {map: string, format?: "tiff"|"npz"|"npy"}
 *   | {answer: string, raster: string, format?: "tiff"|"npz"|"npy"}
 *   | {region: string, format?: "png"|"tiff"|"npz"|"npy"|"csv", as_file_of?: string, record?: boolean}
 *   | {answer: string, record?: boolean} | {spectrum: string, record?: boolean} | {record?: boolean}} ExportOptions */

/** Something that can be exported; `needs` is what has to be named for it, and the first format is taken where none is asked for.
 * @typedef {{what: ExportWhat, label: string, formats: {format: string, label: string, ending: string}[],
 *   needs: "settings"|"map"|"answer"|"region"|"spectrum"|""}} ExportOffer */

/** One part of a question's sentence: plain words, or a setting that the user chooses. `text` stands there before anything is chosen;
 * `needed`: nothing is asked before it is chosen (a map always is). `of`: the setting is said of the map that this other setting names.
 * `per`: how much of the setting one of the unit is, as it is typed (a per cent is 0.01).
 * @typedef {{text: string, setting?: undefined, kind?: undefined, choices?: undefined}} WordsPart
 * @typedef {{text: string, setting: string, kind: string, choices?: {value: string, text: string, detail?: string}[], needed?: boolean, of?: string|null,
 *   unit?: string, low?: number, high?: number, step?: number, start?: number|null, per?: number, label?: string}} SettingPart
 * @typedef {WordsPart|SettingPart} QuestionPart */

/** The same question asked of more, in another sentence.
 * `settings`: what it is asked with where nothing else is chosen.
 * @typedef {{key: string, label: string, parts: QuestionPart[], more?: QuestionPart[], rest?: QuestionPart[], settings?: Record<string, number>}} QuestionForm */
/** `more`: the settings behind the sentence, as a second one, and `rest`: those that are seldom touched. `back`: what leads from another form to this one.
 * @typedef {{key: string, label: string, parts: QuestionPart[], more?: QuestionPart[], rest?: QuestionPart[], forms?: QuestionForm[], back?: string, ready: boolean, reason: string}} Question */

/** @typedef {{label: string, value: string, detail: string}} Figure */
/** @typedef {{text: string, source: string, basis: string}} MethodNote */

/** Numbers as text; a cell without one says why.
 * @typedef {{columns: string[], rows: {label: string, cells: {value: number|null, text: string}[]}[]}} Table */
/** Whether the verdict stays when its settings are moved, and what became of it at each move.
 * @typedef {{holds: boolean, text: string, trials: {change: string, verdict: string}[]}} Stability */
/** @typedef {{label: string, ticks: {at: number, text: string}[]}} PlotAxis */
/** Places are shares of the axis, 0 to 1, upward for y.
 * @typedef {{kind: "bars", key: string, label: string, note: string, rows: {label: string, share: number, text: string, beside: number, beside_text: string}[]}} BarsPlot
 * @typedef {{kind: "joint", key: string, label: string, note: string, raster: string, x: PlotAxis, y: PlotAxis, lines: {label: string, points: [number, number][]}[],
 *   marks?: {label: string, at: [number, number]}[]}} JointPlot
 * @typedef {{kind: "matrix", key: string, label: string, note: string, maps: {id: string, label: string}[],
 *   cells: {a: number, b: number, shade: number|null, text: string, verdict: string, detail: string}[]}} MatrixPlot
 * @typedef {{kind: "profile", key: string, label: string, note: string, x: PlotAxis, y: PlotAxis,
 *   series: {map: string, label: string, points: ([number, number]|null)[], low: (number|null)[], high: (number|null)[]}[]}} ProfilePlot
 * @typedef {{kind: "dots", key: string, label: string, note: string, x: PlotAxis,
 *   rows: {label: string, at: number|null, low: number|null, high: number|null, low_all: number|null, high_all: number|null, text: string}[]}} DotsPlot
 * @typedef {BarsPlot|JointPlot|MatrixPlot|ProfilePlot|DotsPlot} Plot */
/** A line of another element in a map; `share` has the names of an answer's numbers.
 * @typedef {{map: string, by: string, by_map: string|null, how: "line"|"escape"|"sum", grade: "same peak"|"near"|"partly",
 *   share: {value: number|null, low: number|null, high: number|null, low_all: number|null, high_all: number|null, unit: string, reason: string},
 *   measured_in: string|null, text: string, consequence: string, check: string, basis: string, source: string, mark: string}} LineWarning */

/** A spectrum; its marks are where lines of elements lie, each with how strong it is within its family, roughly, and the row of its label.
 * @typedef {{kind: "spectrum", key: string, label: string, note: string, x: PlotAxis, y: PlotAxis, points: [number, number][],
 *   marks: {element: string, label: string, at: number, share: number, row: number, is_excited: boolean, text: string}[]}} SpectrumPlot */

/** @typedef {{id: string, program: string, inputs: unknown, question: string, settings: Record<string, unknown>, numbers: Record<string, unknown>,
 *   table: Table|null, pixels: number, judged_pixels: number, verdict: string, verdict_text: string, sentence: string, cautions: string[], method: MethodNote[],
 *   figures: Figure[], shows: {show: string, label: string}[], plots?: Plot[], stability?: Stability|null, regions?: {id: string, name: string}[], zones?: string[],
 *   materials?: MaterialsFound|null, covered?: CoveredFound|null, dates?: DatesFound|null}} Answer */

/** A number with its 95 % intervals, from counting and (`_all`) with the systematic part; without a value it says why.
 * @typedef {{value: number|null, low: number|null, high: number|null, low_all: number|null, high_all: number|null, unit: string, reason: string}} Quantity */
/** A sentence with what it rests on: "from memory", "published", ... @typedef {{text: string, basis: string, source: string}} Reason */
/** What a technique looks for. @typedef {{technique: string, text: string, basis: string, source: string}} Settling */
/** One element in the passage; `text` says it in full, or why it cannot be judged.
 * @typedef {{element: string, label: string, state: "detected"|"as below"|"not detected"|"cannot be judged"|"not measured", text: string}} ElementFound */
/** `verdict` is one of the fixed words, `verdict_text` the same filled in. `fits_colour`, `fits_years`: false where it does not go with what was stated.
 * @typedef {{id: string, name: string, verdict: string, verdict_text: string, reasons: Reason[], alike: string[], settle_by: Settling[],
 *   fits_colour?: boolean|string|null, fits_years?: boolean|string|null, hazard: string}} MaterialFound */
/** Where another technique would tell the open alternatives apart; `at` in pixels of the grid.
 * @typedef {{at: [number, number], place_text: string, technique: string, between: string[], reason: string}} PlaceToMeasure */
/** @typedef {{elements: ElementFound[], materials: MaterialFound[], sets: {materials: string[], names: string[], text: string}[], sets_text: string,
 *   unexplained: {element: string, text: string}[], measure_next: PlaceToMeasure[], readings: Reason[], hazards: string[]}} MaterialsFound */
/** Two lines of one element, one harder than the other, in the region and where nothing lies over it.
 * @typedef {{pair: string, hard: string, soft: string, here: Quantity, bare: Quantity, ratio: Quantity, text: string, usable: boolean}} CoveredPair */
/** @typedef {{pairs: CoveredPair[], layer: {id: string, name: string, text: string}|null, thickness_um: Quantity,
 *   others: {id: string, name: string, thickness_um: Quantity, text: string}[], depth: {line: string, half_um: number|null, text: string}[]}} CoveredFound */
/** `explanations`: what else could be the cause, the innocent ones first.
 * @typedef {{id: string, name: string, is_element: boolean, from: number|null, to: number|null, years_text: string, verdict: string, verdict_text: string,
 *   explanations: string[], basis: string, source: string}} DateRow */
/** @typedef {{rows: DateRow[]}} DatesFound */

/** @typedef {Uint8Array|Int8Array|Uint16Array|Int16Array|Uint32Array|Int32Array|Float32Array|Float64Array} Samples */
/** @typedef {{width: number, height: number, data: Samples}} Raster */
/** @typedef {{answer: Answer, rasters: Record<string, Raster>}} Result */

/** What one opening gave: ids of maps and photos, what to tell the user, what to ask before a file can be read, and whether anything
 * of the file is kept; `sha256` of a single file of which something is.
 * @typedef {{maps: string[], photos: string[], notices: Notice[], asks: AskToRead[], is_kept: boolean, sha256?: string}} Opened */

/** How the scan was made; null where it is not known. `own_lines` are those of the instrument itself, `text` is all of it in words.
 * @typedef {{anode: string|null, kv: number|null, current_ua: number|null, filter: string|null, dwell_ms: number|null, beam_um: number|null,
 *   incidence_deg: number|null, takeoff_deg: number|null, distance_mm: number|null, detectors: number|null, path: string|null,
 *   date: string|null, resolution_ev: number|null, own_lines: string|string[], text: string}} Scan */

/** The object as the user names it, and the study of it. Every field is text. @typedef {{object: string, number: string, described: string, dated: string,
 *   author: string, remarks: string}} About */

/** A finding at a glance. `changed`: what of its ground is otherwise now, in sentences; empty as long as it stands as it was kept. `trouble`: what
 * is missing of it itself. Of a view the sentence is the picture in words.
 * @typedef {{id: string, place: number, title: string, note: string, question: string|null, question_text: string, sentence: string, verdict: string,
 *   verdict_text: string, figures: Figure[], cautions: string[], picture: {width: number, height: number, png: string, caption: string}|null,
 *   maps: {id: string, label: string}[], regions: {id: string, label: string}[], changed: string[], can_renew: boolean, trouble: string}} Finding */
/** All of it; `settings`: what it was asked with; `scene` is the page's own and read by `scene.js` alone.
 * @typedef {{finding: Finding, answer: Answer|null, settings: Record<string, unknown>|null, scene: unknown, picture: Blob|null}} FindingWhole */
/** @typedef {{title?: string, note?: string, picture?: PictureSettings, scene?: unknown}} KeepSettings */

/** How many steps can be undone and done again, and what the next ones are in words. @typedef {{undo: number, redo: number, undo_text: string, redo_text: string}} History */

/** A kind of file that can be saved, in words; `needs`: what it is of.
 * @typedef {{what: string, label: string, formats: {format: string, label: string, ending: string}[], needs: "map"|"answer"|"region"|"spectrum"|""}} ExportKind */

/** What came of computing a finding again. @typedef {{id: string, title: string, same: boolean, text: string, differences: {name: string, kept: string, now: string}[]}} Reproduced */

/** The whole changeable state of a session, as plain data. Opaque to the page.
 * @typedef {Record<string, unknown>} StateRecord */

/** A state that the study went through: what led to it in words, and its whole record. Steps of one `key` that follow each other are one.
 * `is_whole`: another study was open before.
 * @typedef {{text: string, key: string|null, at: number, record: StateRecord, is_whole?: boolean}} KeptStep */
/** A history as plain data. Parts of records that are equal are one object, in all steps and from one export to the next.
 * @typedef {{position: number, steps: KeptStep[]}} KeptHistory */

/** Bytes that a record names by their SHA-256: kept answers and kept pictures.
 * @typedef {{sha256: string, bytes: Uint8Array}} KeptBlob */
/** A file that the study was made from, also one that only an undone step names.
 * @typedef {{sha256: string, file: File, name: string, way: string|null}} KeptInput */
/** A file of a study, by where it lies in the study file. @typedef {{name: string, sha256: string, way: string|null, from: number, to: number}} InputInFile */
/** All that is needed to go on after a crash, by reference: nothing in it is copied, and nothing of it may be changed.
 * @typedef {{record: StateRecord|null, history: KeptHistory|null, inputs: KeptInput[], blobs: Map<string, Uint8Array>}} Snapshot */

/** @typedef {{fraction: number, text: string}} Progress */
/** The last argument of every call.
 * @typedef {{signal?: AbortSignal, on_progress?: (progress: Progress) => void}} CallOptions */

export {};
