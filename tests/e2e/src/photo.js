// A photo of many megapixels beside a stack, both made here: how long it takes, whether the page stays awake, and whether it can be
// stopped. Gives times in milliseconds.
const [WIDTH, HEIGHT] = args;

/** Noise over colours that run, as a JPEG. */
async function made(seed) {
  const tile = new OffscreenCanvas(1024, 1024);
  const pen = tile.getContext("2d");
  const noise = pen.createImageData(1024, 1024);
  let chance = seed;
  for (let at = 0; at < noise.data.length; at += 4) {
    chance = (Math.imul(chance, 1664525) + 1013904223) >>> 0;
    const grain = chance >>> 26;
    noise.data.set([90 + grain, 70 + (grain ^ 21), 60 + (grain >> 1), 255], at);
  }
  pen.putImageData(noise, 0, 0);
  const canvas = new OffscreenCanvas(WIDTH, HEIGHT);
  const all = canvas.getContext("2d");
  all.fillStyle = all.createPattern(tile, "repeat");
  all.fillRect(0, 0, WIDTH, HEIGHT);
  const run = all.createLinearGradient(0, 0, WIDTH, HEIGHT);
  run.addColorStop(0, "rgba(200, 60, 20, 0.4)");
  run.addColorStop(1, "rgba(20, 90, 190, 0.4)");
  all.fillStyle = run;
  all.fillRect(0, 0, WIDTH, HEIGHT);
  const blob = await canvas.convertToBlob({ type: "image/jpeg", quality: 0.9 });
  canvas.width = 1;
  return blob;
}

/** Does it, and tells the longest time in which the page did nothing else. */
async function awake(work) {
  let last = performance.now();
  let longest = 0;
  const beat = setInterval(() => {
    const now = performance.now();
    longest = Math.max(longest, now - last);
    last = now;
  }, 10);
  const begin = performance.now();
  try {
    const result = await work();
    return { result, took: performance.now() - begin, longest: Math.max(longest, performance.now() - last) };
  } finally {
    clearInterval(beat);
  }
}

const SIDE = [1600, 1250];
for (const [number, line] of ["Ca-K", "Ti-K", "V-K", "Cr-K", "Mn-K", "Fe-K", "Co-K", "Ni-K", "Cu-K", "Zn-K", "As-K", "Se-K", "Br-K", "Rb-K",
  "Sr-K", "Sn-L", "Ba-L", "Au-L", "Hg-L", "Pb-L"].entries()) {
  const data = new Uint16Array(SIDE[0] * SIDE[1]);
  let chance = number + 1;
  for (let at = 0; at < data.length; at += 1) {
    chance = (Math.imul(chance, 1664525) + 1013904223) >>> 0;
    data[at] = 20 + (((at >> 6) * 7 + number * 5) & 31) * 3 + (chance >>> 28);
  }
  await limner.open([e2e.npy(`${line}.npy`, ...SIDE, data)]);
}

const file = new File([await made(7)], "painting.jpg");
// While it is decoded, pictures of maps are asked for as if somebody were looking.
let opening = true;
const waits = [];
const looking = (async () => {
  while (opening) {
    const begin = performance.now();
    await limner.picture({ map: "Fe K", view: { x: 0, y: 0, width: 1600, height: 1250, out_width: 800 } });
    waits.push(performance.now() - begin);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
})();
const opened = await awake(() => limner.open([file]));
opening = false;
await looking;
const [photo] = await limner.photos();
const view = { x: WIDTH / 2, y: HEIGHT / 2, width: 800, height: 600, out_width: 800 };
const whole = await awake(() => limner.picture({ photo: photo.id, view: { x: 0, y: 0, width: WIDTH, height: HEIGHT, out_width: 1000 } }));
const close = await awake(() => limner.picture({ photo: photo.id, view }));

// Stopped in the middle: at once, and as if it had never begun.
const other = new File([await made(8)], "other.jpg");
const before = JSON.stringify(await limner.record());
const stop = new AbortController();
let code = "";
const stopping = limner.open([other], { signal: stop.signal }).catch((thrown) => (code = thrown.code));
await new Promise((resolve) => setTimeout(resolve, 400));
const stopped = await awake(() => {
  stop.abort();
  return stopping;
});

// The session's worker is lost: the photo comes back with it.
const again = await awake(async () => {
  e2e.session().terminate();
  return (await limner.picture({ photo: photo.id, view })).rgba.length;
});
const same = close.result.rgba.length === again.result;
const kept = before === JSON.stringify(await limner.record());
return { mb: file.size / 1e6, notices: opened.result.notices, photo, open: opened.took, gap: opened.longest, waits, whole: whole.took, close: close.took,
  stop: stopped.took, code, kept, back: again.took, same };
