// Maps that hold next to nothing, asked all five questions through the page's own workers. Gives one line for each that has no
// answer with a sentence, or a verdict that such a map cannot carry, and how many answers there were.
const [WIDTH, HEIGHT] = [48, 40];
function npy(descr, array) {
  const header = new TextEncoder().encode(`{'descr': '${descr}', 'fortran_order': False, 'shape': (${HEIGHT}, ${WIDTH}), }\n`);
  const bytes = new Uint8Array(10 + header.length + array.byteLength);
  bytes.set([0x93, 0x4e, 0x55, 0x4d, 0x50, 0x59, 1, 0, header.length & 255, header.length >> 8]);
  bytes.set(header, 10);
  bytes.set(new Uint8Array(array.buffer), 10 + header.length);
  return bytes;
}
const painted = (x, y) => {
  const background = (x * 37 + y * 101 + x * y * 7) % 7;
  return x >= 10 && x < 30 && y >= 8 && y < 30 ? 90 + 2 * background : background;
};
const of = (type, value) => type.from({ length: WIDTH * HEIGHT }, (_, i) => value(i % WIDTH, Math.floor(i / WIDTH)));
const odd = [
  ["all zero", "window", "<u2", of(Uint16Array, () => 0), false],
  ["constant", "window", "<u2", of(Uint16Array, () => 7), false],
  ["all blank", "window", "<f4", of(Float32Array, () => NaN), false],
  ["one pixel", "window", "<f4", of(Float32Array, (x, y) => (x === 5 && y === 5 ? 9 : NaN)), false],
  ["saturated", "window", "<u2", of(Uint16Array, () => 65535), false],
  ["negative", "net", "<f4", of(Float32Array, (x, y) => -50 - painted(x, y)), true],
  ["fitted", "fitted", "<f4", of(Float32Array, (x, y) => Math.max(0, painted(x, y) * 1.37 - 4)), true],
  ["8 bit, stretched", "display copy", "|u1", of(Uint8Array, (x, y) => Math.floor((painted(x, y) * 255) / 102)), false],
];
const wrong = [];
let answers = 0;
await limner.open([{ name: "Fe-K.npy", bytes: npy("<u2", of(Uint16Array, painted)) }]);
const [iron] = await limner.maps();
await limner.set_map(iron.id, { kind: "window" });
for (const [name, x] of [["left", 2], ["right", 26]]) await limner.add_region({ name, rectangle: { x, y: 2, width: 20, height: 36 } });
for (const [name, kind, descr, array, may_judge] of odd) {
  const { maps } = await limner.open([{ name: `${name}_Cu-K.npy`, bytes: npy(descr, array) }]);
  await limner.set_map(maps[0], { kind });
  const [a, b] = [maps[0], iron.id];
  for (const [question, settings] of [
    ["faint", { map: a }], ["together", { a, b }], ["apart", { a, b }], ["ratio", { a, b }], ["regions", { maps: [a] }],
  ]) {
    try {
      const { answer } = await limner.ask(question, settings);
      answers += 1;
      const judged = !answer.verdict.startsWith("cannot be judged");
      if (answer.sentence.length < 20 || /NaN|Infinity|undefined/.test(answer.sentence)) wrong.push(`${name}, ${question}: ${answer.sentence}`);
      if (judged && !may_judge) wrong.push(`${name}, ${question}: ${answer.verdict}`);
    } catch (thrown) {
      wrong.push(`${name}, ${question}: ${thrown.code} ${thrown.message}`);
    }
  }
}
return { wrong, answers };
