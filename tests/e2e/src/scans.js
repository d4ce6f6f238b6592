// Two scans of one design as TIFF files: the second with a finer step (0.8 of the first), 0.87 as bright, and 76.5 and 8.5 pixels of the first
// to the right of it and down. An invented drawing from plain formulas; noise from a linear congruential generator, near enough to counting
// noise (twelve draws make a normal one).
const [first, second] = [[160, 120], [100, 130]];
let chance = 4711;
const unit = () => (chance = (Math.imul(chance, 1664525) + 1013904223) >>> 0) / 2 ** 32;
const soft = (d) => Math.min(1, Math.max(0, 0.5 - d / 1.6));
const design = (x, y) => soft(Math.hypot(x - 112, y - 44) - 16) + soft(Math.abs(y - 82 - 5 * Math.sin(x / 11)) - 5) + 0.6 * soft(Math.abs(x - 96 - 0.35 * (y - 60)) - 5);
const scan = (of, [width, height], place, bright) => {
  const data = new Uint16Array(width * height);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      const [ground, gain] = of;
      const mean = bright * (ground + gain * design(...place(x + 0.5, y + 0.5)));
      let normal = -6;
      for (let draw = 0; draw < 12; draw += 1) normal += unit();
      data[y * width + x] = Math.max(0, Math.round(mean + Math.sqrt(mean) * normal));
    }
  }
  return data;
};
/** Grey, 16 bits, one strip, little-endian (TIFF 6.0, "Baseline TIFF"). */
const tiff = (name, [width, height], data) => {
  const entries = [[256, 4, width], [257, 4, height], [258, 3, 16], [259, 3, 1], [262, 3, 1], [273, 4, 8], [277, 3, 1], [278, 4, height], [279, 4, data.byteLength]];
  const bytes = new DataView(new ArrayBuffer(8 + data.byteLength + 2 + 12 * entries.length + 4));
  const ifd = 8 + data.byteLength;
  [0x4949, 42].forEach((value, at) => bytes.setUint16(2 * at, value, true));
  bytes.setUint32(4, ifd, true);
  data.forEach((value, at) => bytes.setUint16(8 + 2 * at, value, true));
  bytes.setUint16(ifd, entries.length, true);
  entries.forEach(([tag, type, value], at) => {
    const place = ifd + 2 + 12 * at;
    bytes.setUint16(place, tag, true);
    bytes.setUint16(place + 2, type, true);
    bytes.setUint32(place + 4, 1, true);
    bytes.setUint32(place + 8, value, true);
  });
  return { name, bytes: new Uint8Array(bytes.buffer) };
};
const lines = { "Fe-K": [20, 60], "Ca-K": [50, 30] };
e2e.second = scan(lines["Fe-K"], second, (u, v) => [0.8 * u + 76.5, 0.8 * v + 8.5], 0.87);
await limner.open([
  ...Object.entries(lines).map(([name, of]) => tiff(`first/${name}.tif`, first, scan(of, first, (x, y) => [x, y], 1))),
  tiff("second/Fe-K.tif", second, e2e.second),
  tiff("second/Ca-K.tif", second, scan(lines["Ca-K"], second, (u, v) => [0.8 * u + 76.5, 0.8 * v + 8.5], 0.87)),
]);
return (await limner.maps()).map(({ label, width }) => `${label} ${width}`).join();
