// Opens 20 maps of 4096 x 4096 counts, made here by integer formulas and given to the page one after the other.
const [SIZE, ELEMENTS, FIRST] = [4096, args[0], args[1]];
const start = performance.now();
const times = [];
for (const [index, name] of ELEMENTS.entries()) {
  const number = FIRST + index;
  const data = new Uint16Array(SIZE * SIZE);
  let chance = number + 1;
  for (let y = 0, at = 0; y < SIZE; y += 1) {
    for (let x = 0; x < SIZE; x += 1, at += 1) {
      chance = (Math.imul(chance, 1664525) + 1013904223) >>> 0;
      const tile = ((x >> 7) * 7 + (y >> 7) * 13 + number * 5) & 31;
      data[at] = 20 + tile * 12 + (chance >>> 27) + (((x + number * 97) ^ y) & 64 ? 150 : 0);
    }
  }
  const file = e2e.npy(`${name}.npy`, SIZE, SIZE, data);
  const begin = performance.now();
  const { maps, notices } = await limner.open([file]);
  if (maps.length !== 1) throw new Error(`${name}: ${JSON.stringify(notices)}`);
  times.push(performance.now() - begin);
}
return { reading: times, whole: performance.now() - start };
