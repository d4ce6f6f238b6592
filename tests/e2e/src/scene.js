// A made scan without any symmetry: three maps of one design with counting noise, the third mirrored if asked for.
// An invented drawing from plain formulas; noise from a linear congruential generator.
const mirrored = args[0];
const [width, height] = [96, 72];
let chance = 12345;
const unit = () => (chance = (Math.imul(chance, 1664525) + 1013904223) >>> 0) / 2 ** 32;
const design = (x, y) =>
  (Math.hypot(x - 24, y - 20) < 14 ? 60 : 0) + (Math.abs(x - 70) < 4 && y > 30 ? 110 : 0) + (y > 58 && x < 50 ? 80 : 0) + (x > 60 && x < 90 && y > 8 && y < 14 ? 140 : 0);
const maps = [["Fe-K", 1, 4], ["Cu-K", 0.8, 9], ["Zn-K", 1.3, 6]].map(([name, gain, background]) => {
  const data = new Uint16Array(width * height);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      const mean = background + gain * design(x, y);
      // near enough to counting noise: twelve draws make a normal one
      let normal = -6;
      for (let draw = 0; draw < 12; draw += 1) normal += unit();
      data[y * width + x] = Math.max(0, Math.round(mean + Math.sqrt(mean) * normal));
    }
  }
  return { name, data };
});
e2e.straight = maps[2].data.slice();
if (mirrored) for (let y = 0; y < height; y += 1) maps[2].data.subarray(y * width, (y + 1) * width).reverse();
await limner.open(maps.map(({ name, data }) => e2e.npy(`${name}.npy`, width, height, data)));
return (await limner.maps()).map(({ label }) => label).join();
