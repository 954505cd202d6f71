// How long from saving the scene's file until the new verdict, and the new picture, are on the screen.
// node test/timing.mjs CHROMIUM ADDRESS FILE OTHER: saves OTHER's text and FILE's own in turn; prints milliseconds.
import { readFile, writeFile } from "node:fs/promises";
import { chromium } from "playwright-core";

const [, , executablePath, address, file, other] = process.argv;
const ROUNDS = 12;
const args = ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--disable-background-networking"];
const browser = await chromium.launch({ executablePath, args });
const page = await browser.newPage({ viewport: { width: 1100, height: 720 } });
const texts = [await readFile(other, "utf8"), await readFile(file, "utf8")];

await page.goto(address);
const settled = () => page.waitForFunction(() => window.__live?.shown >= window.__live?.said && window.__drawn > 0, null, { timeout: 60000 });
await settled();
await page.evaluate(() => {
  const now = () => performance.timeOrigin + performance.now();
  window.__times = {};
  // The second frame after a change begins once the first, which shows it, is done.
  const frames = (done) => requestAnimationFrame(() => requestAnimationFrame(done));
  new MutationObserver(() => frames(() => (window.__times.verdict = now()))).observe(document.querySelector(".verdict"), { childList: true });
  const { stage } = window.__preview.views[0];
  stage.onDraw(() => window.__times.verdict && (window.__times.picture = now()));
});

const took = { verdict: [], picture: [] };
for (let round = 0; round < ROUNDS; round++) {
  await page.waitForTimeout(1500);
  await page.evaluate(() => (window.__times = {}));
  const said = await page.evaluate(() => window.__live.said);
  await writeFile(file, texts[round % 2]);
  const saved = Date.now();
  await page.waitForFunction((before) => window.__live.said > before && window.__live.shown >= window.__live.said && window.__times.picture, said, { timeout: 60000 });
  const times = await page.evaluate(() => window.__times);
  // The first round warms up.
  if (round > 0) for (const kind of ["verdict", "picture"]) took[kind].push(times[kind] - saved);
}
console.log(JSON.stringify(took));
await browser.close();
