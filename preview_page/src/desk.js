// Lists, tools and keys at work on the views. The lists may be written anew at any time: their clicks are heard
// by what they stand in.
import { toModel } from "./frame.js";

const $ = (id) => document.getElementById(id);
const all = (selector) => [...document.querySelectorAll(selector)];
const KEYS = { 1: "corner", 2: "window", 3: "front", 4: "roof", 5: "tray", 6: "rear", 7: "floor" };

export function desk(views) {
  const now = views[0];
  $("tools").hidden = false;

  const corners = () => views.flatMap((view) => view.model.corners());
  const look = (from) => now.stage.look(from, corners());
  const say = (title, lines = []) => {
    const made = [title, ...lines].filter(Boolean).map((line, k) => {
      const element = document.createElement(k ? "p" : "h2");
      element.textContent = line;
      return element;
    });
    $("card").replaceChildren(...(title ? made : []));
  };
  const heard = (place, kind, selector, listener) =>
    place.addEventListener(kind, (event) => {
      const found = event.target.closest(selector);
      if (found) listener(found);
    });
  const lists = document.querySelector(".lists");
  const tools = $("tools");

  // Choosing: a row or a click in the picture; the rest is faded and the chosen outlined and named.
  let chosen = null;
  let sought = null;
  const rows = () => all("tr[data-part]");
  const entry = (name) => views.flatMap((view) => [...view.told.parts, ...view.told.tubes]).find((each) => each.name === name);
  function pick(names, tagged) {
    for (const view of views) {
      view.model.pick(names);
      view.marks.tag(tagged ? view.tags(tagged) : []);
      view.refresh();
    }
    sought = null;
  }
  // Rows and buttons as what is chosen or looked for has them.
  function pressed() {
    const index = sought === null ? -1 : now.told.findings.indexOf(sought);
    for (const row of all("[data-finding]")) row.classList.toggle("chosen", Number(row.dataset.finding) === index);
    for (const row of rows()) row.classList.toggle("chosen", row.dataset.part === chosen);
    for (const button of all("[data-pick]")) button.setAttribute("aria-pressed", String(button.dataset.pick === chosen));
  }
  function choose(name, scroll) {
    chosen = name === chosen ? null : name;
    pick(chosen === null ? null : new Set([chosen]), chosen);
    pressed();
    if (scroll) rows().find((row) => row.dataset.part === chosen)?.scrollIntoView({ block: "nearest" });
    if (chosen === null) say("");
    else say(chosen, entry(chosen)?.lines);
  }
  heard(lists, "click", "[data-pick]", (button) => choose(button.dataset.pick, false));

  // Showing and hiding.
  function ticks() {
    for (const row of rows()) {
      const tick = row.querySelector("input.shown");
      if (tick) tick.checked = !now.model.hidden.has(row.dataset.part);
    }
    for (const tick of all("input.group")) {
      const names = [...now.groups].filter(([, group]) => group === tick.value).map(([name]) => name);
      const out = names.filter((name) => now.model.hidden.has(name)).length;
      tick.indeterminate = out > 0 && out < names.length;
      if (names.length) tick.checked = out === 0;
    }
  }
  function refresh() {
    for (const view of views) view.refresh();
    ticks();
  }
  const show = (name, shown) => views.forEach((view) => view.model.show(name, shown));
  const panels = (shown) => views.forEach((view) => view.told.panels.forEach(([part, solid]) => view.model.show(`${part}.${solid}`, shown)));
  heard(lists, "change", "input.shown", (tick) => {
    show(tick.closest("tr").dataset.part, tick.checked);
    refresh();
  });
  heard(tools, "change", "input.group", (tick) => {
    for (const view of views) for (const [name, group] of view.groups) if (group === tick.value) view.model.show(name, tick.checked);
    refresh();
  });
  heard(tools, "change", "#panels", (tick) => {
    panels(tick.checked);
    refresh();
  });
  function showAll() {
    for (const view of views) view.model.hidden.clear();
    if ($("panels")) $("panels").checked = true;
    refresh();
  }
  heard(tools, "click", "#all", showAll);

  // Clicks, views and keys.
  let measuring = false;
  for (const view of views) {
    const canvas = view.stage.canvas;
    let down = null;
    canvas.addEventListener("pointerdown", (event) => (down = [event.clientX, event.clientY]));
    canvas.addEventListener("pointerup", (event) => {
      if (!down || Math.hypot(event.clientX - down[0], event.clientY - down[1]) > 5) return;
      const place = canvas.getBoundingClientRect();
      const x = ((event.clientX - place.left) / place.width) * 2 - 1;
      const y = 1 - ((event.clientY - place.top) / place.height) * 2;
      if (measuring) {
        const found = view.measure.add(x, y, place.width, place.height);
        if (!found) return say("Nothing there", ["choose a point on the build"]);
        view.marks.tag(found.tags);
        return say(found.title, found.lines);
      }
      const hit = view.model.hit(x, y, view.stage.camera);
      if (hit) choose(view.model.ownerOf(hit.object), true);
      else if (chosen !== null) choose(chosen, false);
    });
    canvas.addEventListener("keydown", (event) => press(event, view.stage));
  }
  heard(tools, "click", "button[data-view]", (button) => look(button.dataset.view));
  function press(event, stage) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const camera = stage.camera;
    const target = stage.controls.target;
    const offset = camera.position.clone().sub(target);
    const side = camera.up.clone().cross(offset).normalize();
    const turns = { ArrowLeft: [camera.up, -0.12], ArrowRight: [camera.up, 0.12], ArrowUp: [side, -0.12], ArrowDown: [side, 0.12] };
    const nearer = { "+": 0.87, "=": 0.87, "-": 1.15 }[event.key];
    const key = event.key.toLowerCase();
    if (KEYS[event.key]) look(KEYS[event.key]);
    else if (turns[event.key] || nearer) {
      if (turns[event.key]) offset.applyAxisAngle(...turns[event.key]);
      else offset.multiplyScalar(nearer);
      camera.position.copy(target).add(offset);
      stage.controls.update();
      stage.draw();
    } else if (key === "h" && chosen !== null) {
      show(chosen, false);
      choose(chosen, false);
      refresh();
    } else if (key === "a") showAll();
    else if (event.key === "Escape") {
      if (chosen !== null) choose(chosen, false);
      else {
        pick(null, null);
        pressed();
        say("");
      }
    } else return;
    event.preventDefault();
  }

  // Tools.
  $("section").addEventListener("change", cut);
  $("depth").addEventListener("input", cut);
  function cut() {
    const axis = $("section").value;
    $("depth").disabled = axis === "";
    for (const view of views) {
      view.section.set(axis === "" ? null : axis, Number($("depth").value) / 100);
      view.stage.draw();
    }
  }
  $("apart").addEventListener("input", () => {
    for (const view of views) {
      view.model.later = new Set();
      view.explode(Number($("apart").value) / 100);
      view.marks.tag(chosen === null ? [] : view.tags(chosen));
    }
    if ($("step")) $("step").value = $("step").max;
    now.stage.refit(corners());
  });
  $("measure").addEventListener("click", () => {
    measuring = !measuring;
    $("measure").setAttribute("aria-pressed", String(measuring));
    if (measuring && chosen !== null) choose(chosen, false);
    if (measuring) return say("Measure", ["choose a first point"]);
    for (const view of views) {
      view.measure.clear();
      view.marks.tag([]);
    }
    say("");
  });

  // Findings.
  function seek(view, index) {
    const finding = view.told.findings[index];
    if (!finding) return;
    if (chosen !== null) choose(chosen, false);
    pick(new Set(finding.parts), null);
    sought = finding;
    if (finding.at_mm) {
      const { camera, controls } = view.stage;
      const off = camera.position.clone().sub(controls.target).setLength(0.45);
      controls.target.copy(toModel(finding.at_mm));
      camera.position.copy(controls.target).add(off);
      controls.update();
    }
    pressed();
    if (view === now) document.querySelector(`[data-finding="${index}"]`)?.scrollIntoView({ block: "nearest" });
    say(`${finding.severity}: ${finding.rule}`, [finding.message, finding.remedy]);
    now.stage.draw();
  }
  const pins = () => views.forEach((view) => view.pins((index) => seek(view, index)));
  heard(lists, "click", "[data-finding] button", (button) => seek(now, Number(button.closest("[data-finding]").dataset.finding)));

  // Light and dark.
  const system = matchMedia("(prefers-color-scheme: dark)");
  const isDark = () => (document.documentElement.dataset.theme ?? (system.matches ? "dark" : "light")) === "dark";
  const themed = () => {
    for (const view of views) view.model.inked(isDark());
    now.stage.draw();
  };
  $("theme").addEventListener("click", () => {
    document.documentElement.dataset.theme = isDark() ? "light" : "dark";
    themed();
  });
  system.addEventListener("change", themed);

  // Another state of the build in the first view: all else stays as it is.
  function take(told, model) {
    const was = sought;
    const off = $("panels")?.checked === false;
    now.take(told, model);
    $("panels") && ($("panels").checked = !off);
    if (off) panels(false);
    themed();
    pins();
    cut();
    if (chosen !== null && !entry(chosen)) chosen = null;
    // A finding looked at stays in sight as long as it stands.
    const finding = was && told.findings.find((each) => each.rule === was.rule && String(each.parts) === String(was.parts));
    if (finding) {
      pick(new Set(finding.parts), null);
      sought = finding;
      say(`${finding.severity}: ${finding.rule}`, [finding.message, finding.remedy]);
    } else {
      pick(chosen === null ? null : new Set([chosen]), chosen);
      if (chosen !== null) say(chosen, entry(chosen).lines);
      else if (measuring) say("Measure", ["choose a first point"]);
      else say("");
    }
    pressed();
    ticks();
  }

  themed();
  pins();
  for (const view of views) view.stage.resize();
  now.stage.onDraw(() => (window.__drawn = (window.__drawn ?? 0) + 1));
  look("corner");
  ticks();
  window.__preview = { views };
  return { say, refresh, take, ticks: () => (pressed(), ticks()) };
}
