// Drives preview pages in a real browser and prints what it saw as JSON; the expectations are in the Python test.
// node test/drive.mjs CHROMIUM FOLDER, the folder holding posts.html, crossed.html and tower.html.
import { createRequire } from "node:module";
import { readFile } from "node:fs/promises";
import { chromium } from "playwright-core";

const [, , executablePath, folder] = process.argv;
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const args = ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--disable-background-networking"];
const browser = await chromium.launch({ executablePath, args });
const seen = { requests: [], complaints: [], axe: {} };

async function opened(name, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1100, height: 720 }, bypassCSP: false, ...options });
  const page = await context.newPage();
  page.on("console", (message) => message.type() === "error" && seen.complaints.push(message.text()));
  page.on("pageerror", (error) => seen.complaints.push(String(error)));
  page.on("dialog", (dialog) => (seen.complaints.push(`dialog ${dialog.message()}`), dialog.dismiss()));
  page.on("request", (request) => !/^(file|data|blob):/.test(request.url()) && seen.requests.push(request.url()));
  await page.goto(`file://${folder}/${name}.html`);
  if (options.javaScriptEnabled !== false) await page.waitForFunction(() => window.__drawn > 0, null, { timeout: 60000 });
  return page;
}

const card = (page) => page.textContent("#card");
const frames = (page) => page.evaluate(() => window.__drawn);

// Waits until no more frames come.
async function still(page) {
  for (let last = -1, now = await frames(page); now !== last; now = await frames(page)) {
    last = now;
    await page.waitForTimeout(120);
  }
}

// Where a point of the scene (mm) is on the screen.
const where = (page, at, view = 0) =>
  page.evaluate(([[x, y, z], k]) => {
    const { stage } = window.__preview.views[k];
    const box = stage.canvas.getBoundingClientRect();
    const point = stage.camera.position.clone().set(x / 1000, z / 1000, -y / 1000).project(stage.camera);
    return [box.left + ((point.x + 1) / 2) * box.width, box.top + ((1 - point.y) / 2) * box.height];
  }, [at, view]);

// Red, green, blue and cover of the picture there, 0 to 255.
async function colour(page, at, view = 0) {
  const [x, y] = await where(page, at, view);
  return page.evaluate(([px, py, k]) => {
    const { canvas } = window.__preview.views[k].stage;
    const box = canvas.getBoundingClientRect();
    const copy = document.createElement("canvas");
    [copy.width, copy.height] = [canvas.width, canvas.height];
    const pen = copy.getContext("2d");
    pen.drawImage(canvas, 0, 0);
    return [...pen.getImageData(((px - box.left) / box.width) * canvas.width, ((py - box.top) / box.height) * canvas.height, 1, 1).data];
  }, [x, y, view]);
}

async function click(page, at, view = 0) {
  await page.mouse.click(...(await where(page, at, view)));
  await still(page);
}

const set = (page, id, value) =>
  page.evaluate(([which, to]) => {
    const input = document.getElementById(which);
    input.value = to;
    input.dispatchEvent(new Event("input"));
    input.dispatchEvent(new Event("change"));
  }, [id, String(value)]);

const violations = async (page) => {
  await page.evaluate(axe);
  const found = await page.evaluate(() => window.axe.run({ resultTypes: ["violations"] }));
  return found.violations.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.target.join(" ")).join(", ")}`);
};

async function posts() {
  const page = await opened("posts");
  const way = () =>
    page.evaluate(() => {
      const { camera, controls } = window.__preview.views[0].stage;
      const off = camera.position.clone().sub(controls.target);
      return [...off.clone().normalize().toArray(), off.length()];
    });
  const shown = (name) =>
    page.evaluate((which) => {
      const { model } = window.__preview.views[0];
      return model.meshes.filter((mesh) => model.ownerOf(mesh) === which).every((mesh) => mesh.visible);
    }, name);
  const faded = (name) =>
    page.evaluate((which) => {
      const { model } = window.__preview.views[0];
      return model.meshes.filter((mesh) => model.ownerOf(mesh) === which).every((mesh) => mesh.material.opacity < 0.3);
    }, name);
  const found = {};

  await page.focus("#stage-now canvas");
  await page.keyboard.press("2");
  await still(page);
  found.window = await way();
  await page.keyboard.press("ArrowRight");
  found.turned = await way();
  await page.keyboard.press("+");
  found.nearer = (await way())[3] / found.turned[3];
  await page.keyboard.press("2");
  await still(page);

  await click(page, [0, -20, 10]);
  found.picked = { card: await card(page), row: await page.getAttribute("tr.chosen", "data-part") };
  found.picked.faded = [await faded("left"), await faded("right")];
  found.picked.outlined = await page.evaluate(() => window.__preview.views[0].model.outline.length);
  await page.keyboard.press("h");
  await still(page);
  found.hidden = [await shown("left"), await page.isChecked('tr[data-part="left"] input')];
  found.bare = (await colour(page, [0, -20, 10]))[3];
  await page.keyboard.press("a");
  await still(page);
  found.again = [await shown("left"), (await colour(page, [0, -20, 10]))[3]];
  await page.uncheck('input.group[value="tubes"]');
  found.group = [await shown("over"), await page.isChecked('tr[data-part="over"] input')];
  await page.click("#all");

  await page.click('[data-pick="over"]');
  await still(page);
  found.tube = { card: await card(page), tags: await page.$$eval(".tag", (tags) => tags.map((tag) => tag.textContent)) };
  await page.click('[data-pick="over"]');

  await page.check('input.group[value="tubes"]');
  await page.click("#measure");
  await click(page, [0, 0, 70]);
  found.from = await card(page);
  await click(page, [200, 0, 20]);
  found.measured = await card(page);
  await page.click("#measure");

  await set(page, "section", "window");
  await set(page, "depth", 50);
  await still(page);
  // The tube's straight over the top.
  const top = await page.evaluate(() => Math.max(...window.__preview.views[0].told.tubes[0].corners_mm.map((corner) => corner[2])));
  found.cut = { solid: await colour(page, [-13, 0, 12]), coolant: await colour(page, [100, 0, top]) };
  await set(page, "section", "");
  await still(page);

  await set(page, "step", 1);
  await still(page);
  found.first = [await shown("left"), await shown("right"), await shown("over"), await page.textContent("#at")];
  await page.click("#play");
  await page.waitForFunction(() => document.getElementById("play").textContent === "Play", null, { timeout: 30000 });
  found.last = [await shown("left"), await shown("right"), await shown("over"), await page.textContent("#at")];
  await still(page);
  const before = await frames(page);
  await page.waitForTimeout(700);
  found.idle = (await frames(page)) - before;
  found.hostile = await page.evaluate(() => [window.hostile ?? null, document.images.length]);
  await page.emulateMedia({ media: "print" });
  found.print = [await page.isVisible("#tools"), await page.isVisible("#stage-now canvas"), await page.isVisible("table")];
  await page.context().close();
  return found;
}

async function crossed() {
  const page = await opened("crossed");
  const found = { canvases: await page.locator("canvas").count(), changed: await page.textContent("table.changes") };
  found.pins = await page.$$eval(".pin", (pins) => pins.map((pin) => pin.textContent));
  await page.click("#stage-now .pin");
  await still(page);
  found.sought = { card: await card(page), row: await page.getAttribute("li.chosen", "data-finding") };
  const eyes = () => page.evaluate(() => window.__preview.views.map(({ stage }) => stage.camera.position.toArray()));
  await page.focus("#stage-before canvas");
  await page.keyboard.press("4");
  await still(page);
  found.eyes = await eyes();
  seen.axe.crossed = await violations(page);
  await page.context().close();
  return found;
}

async function tower() {
  const found = { first: [] };
  let page;
  for (let round = 0; round < 3 && !(Math.min(...found.first) < 5); round++) {
    await page?.context().close();
    page = await opened("tower");
    found.first.push((await page.evaluate(() => performance.now())) / 1000);
  }
  seen.axe.light = await violations(page);
  await page.emulateMedia({ colorScheme: "dark" });
  await still(page);
  seen.axe.dark = await violations(page);
  await set(page, "apart", 100);
  await still(page);
  found.apart = await page.evaluate(() => {
    const { model, stage, moves } = window.__preview.views[0];
    const off = (name) => model.owners.get(name).position.clone().sub(moves.home.get(model.owners.get(name))).multiplyScalar(1000).toArray();
    const out = model.corners().filter((corner) => Math.max(...corner.project(stage.camera).toArray().map(Math.abs)) > 1).length;
    return { radiator: off("roof_radiator"), board: off("board"), out };
  });
  await page.context().close();
  page = await opened("tower", { viewport: { width: 390, height: 780 }, hasTouch: true, isMobile: true, deviceScaleFactor: 1 });
  found.wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  await page.touchscreen.tap(...(await where(page, [240, 60, 60])));
  await still(page);
  found.tapped = await card(page);
  seen.axe.phone = await violations(page);
  await page.emulateMedia({ colorScheme: "dark" });
  seen.axe.phoneDark = await violations(page);
  await page.context().close();
  page = await opened("tower", { javaScriptEnabled: false });
  found.still = [await page.isVisible("#still img"), await page.isVisible("#tools"), await page.isVisible("table")];
  found.stillSize = await page.locator("#still img").boundingBox();
  await page.context().close();
  return found;
}

seen.posts = await posts();
seen.crossed = await crossed();
seen.tower = await tower();
await browser.close();
console.log(JSON.stringify(seen));
