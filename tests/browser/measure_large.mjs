// SPDX-License-Identifier: Apache-2.0
// How smoothly a large photo moves on the photo bench: times between frames while it is dragged and brought
// closer, and how long opening it takes. Prints figures; asserts nothing, since machines differ.
// Usage: node measure_large.mjs PROGRAM PHOTO
import { Bench, browserLibrary, openBrowser } from "./bench.mjs";

const [program, picture] = process.argv.slice(2);
const chromium = await browserLibrary();
const bench = new Bench(program);
const browser = await openBrowser(chromium);

const quantile = (sorted, share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
const tell = (what, times) => {
  const sorted = [...times].sort((a, b) => a - b);
  console.log(`${what.padEnd(44)} median ${quantile(sorted, 0.5).toFixed(1)} ms, 95 % under ${quantile(sorted, 0.95).toFixed(1)} ms, worst ${sorted.at(-1).toFixed(1)} ms (${sorted.length})`);
};

// The times between the frames that pass while `work` goes on.
async function frames(page, work) {
  await page.evaluate(() => {
    window.frameTimes = [];
    let last = performance.now();
    const next = (now) => {
      window.frameTimes.push(now - last);
      last = now;
      window.frameLoop = requestAnimationFrame(next);
    };
    window.frameLoop = requestAnimationFrame(next);
  });
  await work();
  return page.evaluate(() => {
    cancelAnimationFrame(window.frameLoop);
    return window.frameTimes.slice(2);
  });
}

try {
  bench.addRope("KT-R048");
  const hold = JSON.parse(bench.run("hold", "open", "KT-R048", "--seen", "Sheath fibres broken", "--json")).number;
  let start = performance.now();
  bench.run("photo", "add", hold, picture, "--role", "close_up");
  console.log(`measured and kept in ${((performance.now() - start) / 1000).toFixed(1)} s`);
  const { bench: base } = await bench.serve();
  for (const [name, width, height] of [["1440 px", 1440, 900], ["360 px", 360, 740]]) {
    const page = await browser.newPage({ locale: "en-GB", viewport: { width, height } });
    page.setDefaultTimeout(120_000);
    start = performance.now();
    await page.goto(`${base}/hold/${hold}/photo/1`);
    await page.locator('#bench[data-ready="yes"]').waitFor();
    await page.waitForLoadState("networkidle");
    console.log(`${name}: opened in ${((performance.now() - start) / 1000).toFixed(1)} s`);
    const box = await page.locator("#stage").boundingBox();
    const x = box.x + box.width / 2, y = box.y + box.height / 2;
    const zoomed = await frames(page, async () => {
      await page.mouse.move(x, y);
      for (let i = 0; i < 25; ++i) await page.mouse.wheel(0, -120);
      for (let i = 0; i < 12; ++i) await page.mouse.wheel(0, 120);
    });
    tell(`${name}: between frames, bringing it closer`, zoomed);
    const dragged = await frames(page, async () => {
      for (let turn = 0; turn < 4; ++turn) {
        await page.mouse.move(x, y);
        await page.mouse.down();
        const way = turn % 2 ? 1 : -1;
        for (let i = 1; i <= 40; ++i) await page.mouse.move(x + way * i * box.width / 90, y + way * i * box.height / 160);
        await page.mouse.up();
      }
    });
    tell(`${name}: between frames, dragging it`, dragged);
    const tiles = await page.evaluate(() => performance.getEntriesByType("resource").filter((each) => each.name.includes("/tile/")).map((each) => each.responseEnd - each.requestStart));
    tell(`${name}: a tile from the server`, tiles);
    await page.close();
  }
} finally {
  await browser.close();
  await bench.close();
}
