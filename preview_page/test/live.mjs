// Drives the live page in a real browser while it edits the scene's file; prints what it saw as JSON.
// node test/live.mjs CHROMIUM ADDRESS FILE
import { createRequire } from "node:module";
import { readFile, rename, rm, writeFile } from "node:fs/promises";
import { chromium } from "playwright-core";

const [, , executablePath, address, file] = process.argv;
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const args = ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--disable-background-networking"];
const browser = await chromium.launch({ executablePath, args });
const seen = { requests: [], complaints: [], axe: {} };
const text = await readFile(file, "utf8");

async function opened(options = {}) {
  const context = await browser.newContext({ viewport: { width: 1100, height: 720 }, ...options });
  const page = await context.newPage();
  page.on("console", (message) => message.type() === "error" && seen.complaints.push(message.text()));
  page.on("pageerror", (error) => seen.complaints.push(String(error)));
  page.on("request", (request) => {
    const url = request.url();
    if (!/^(data|blob):/.test(url)) seen.requests.push(url.replace(/[0-9a-f]{64}$/, "KEY"));
  });
  await page.goto(address);
  await page.waitForFunction(() => window.__live?.said > 0, null, { timeout: 60000 });
  return page;
}

const shown = (page) => page.waitForFunction(() => window.__live.shown >= window.__live.said && window.__drawn > 0, null, { timeout: 60000 });

// Does something to the file and waits until the page has heard of it.
async function after(page, change) {
  const before = await page.evaluate(() => window.__live.said);
  await change();
  await page.waitForFunction((said) => window.__live.said > said, before, { timeout: 20000 });
}

const save = (to) => writeFile(file, to);
// As many editors save: a new file under another name, then renamed.
async function saveByRename(to) {
  await writeFile(`${file}.tmp`, to);
  await rename(`${file}.tmp`, file);
}

const look = (page) =>
  page.evaluate(() => {
    const { model, stage } = window.__preview.views[0];
    const shows = (name) => model.meshes.filter((mesh) => model.ownerOf(mesh) === name).some((mesh) => mesh.visible);
    const at = (name) => model.owners.get(name)?.position.toArray().map((value) => Math.round(value * 1e6) / 1e3);
    return {
      title: document.title,
      verdict: document.querySelector(".verdict").textContent.trim(),
      follow: document.getElementById("follow").textContent,
      stale: document.getElementById("stages").classList.contains("stale"),
      lists: document.getElementById("lists").textContent,
      card: document.getElementById("card").textContent,
      chosen: document.querySelector("tr.chosen")?.dataset.part ?? null,
      pins: [...document.querySelectorAll(".pin")].map((pin) => pin.textContent),
      eye: [...stage.camera.position.toArray(), ...stage.controls.target.toArray()],
      parts: [...model.owners.keys()],
      shown: Object.fromEntries([...model.owners.keys()].map((name) => [name, shows(name)])),
      at: Object.fromEntries([...model.owners.keys()].map((name) => [name, at(name)])),
      ticks: Object.fromEntries([...document.querySelectorAll("input.group")].map((tick) => [tick.value, tick.checked])),
      focus: document.activeElement?.dataset?.pick ?? document.activeElement?.id ?? null,
      children: stage.scene.children.length,
      section: window.__preview.views[0].section.group.visible,
    };
  });

const violations = async (page) => {
  await page.evaluate(axe);
  const found = await page.evaluate(() => window.axe.run({ resultTypes: ["violations"] }));
  return found.violations.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.target.join(" ")).join(", ")}`);
};

const page = await opened();
await shown(page);
seen.first = await look(page);
seen.axe.light = await violations(page);

// A way of looking at it: turned, a group hidden, a part chosen, a cut.
await page.focus("#stage-now canvas");
await page.keyboard.press("3");
await page.keyboard.press("ArrowLeft");
await page.uncheck('input.group[value="tubes"]');
await page.selectOption("#section", "window");
await page.click('[data-pick="right"]');
seen.before = await look(page);
seen.models = seen.requests.filter((url) => url.includes("/models/")).length;

// Moved by hand into the other, saved under another name and renamed; a second tube comes in the hidden group.
await after(page, () => saveByRename(text.replace("at: [200, 0, 0]", "at: [30, 0, 0]").replace("over:", "second:")));
seen.saidFirst = await page.textContent(".verdict");
await shown(page);
seen.moved = await look(page);
seen.modelsAfter = seen.requests.filter((url) => url.includes("/models/")).length;

await after(page, () => save(text.replace("box: [40", "bax: [40").replace("kind: rigid", "kind: rigged")));
seen.broken = await look(page);
seen.axe.broken = await violations(page);
await page.emulateMedia({ colorScheme: "dark" });
seen.axe.brokenDark = await violations(page);

// Who opens the page now sees what was good last, and the problems.
const other = await opened({ viewport: { width: 390, height: 780 }, hasTouch: true, isMobile: true, colorScheme: "dark" });
await other.waitForFunction(() => window.__drawn > 0, null, { timeout: 60000 });
seen.late = await look(other);
seen.wide = await other.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
seen.axe.phone = await violations(other);
await other.context().close();

// Taken away as an editor does between two steps, and back again whole.
await after(page, () => rm(file));
seen.gone = await look(page);
await after(page, () => save(text));
await shown(page);
seen.mended = await look(page);

// Written in two pieces, the first of them no scene: only the whole is told.
const versions = [];
await page.exposeFunction("heard", (told) => versions.push(told));
await page.evaluate(() => {
  const place = document.querySelector(".verdict");
  new MutationObserver(() => window.heard(place.textContent.trim())).observe(place, { childList: true });
});
await save(text.slice(0, 120) + "\n  x: [");
await new Promise((done) => setTimeout(done, 90));
await after(page, () => save(text.replace("at: [200, 0, 0]", "at: [31, 0, 0]")));
await page.waitForTimeout(300);
seen.pieces = versions;

// Names that try to be markup, in the file and in its problems.
const hostile = `<img src=x onerror=window.hostile=1>`;
await after(page, () => save(text.replace("title: Two posts", `title: "${hostile}"`)));
await shown(page);
await after(page, () => save(`${text}  "${hostile}": {from: 3}\n`));
seen.hostile = await page.evaluate(() => [window.hostile ?? null, document.images.length, document.querySelector("h1").textContent]);
seen.hostile.push(await page.textContent("#lists"));

await after(page, () => save("layout3d: 1\nparts: {}\n"));
await page.waitForTimeout(300);
seen.empty = await page.evaluate(() => [document.querySelector(".verdict").textContent.trim(), document.getElementById("stages").className]);
await after(page, () => save(text));
await shown(page);
seen.last = await look(page);
console.log(JSON.stringify(seen));

// The other end may stop while a page is open: it then says so. The test stops it when it has read the line above.
await page.waitForFunction(() => /stopped/.test(document.getElementById("follow").textContent), null, { timeout: 20000 });
console.log(JSON.stringify({ stopped: await page.textContent("#follow") }));
await browser.close();
