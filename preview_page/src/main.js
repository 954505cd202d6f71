// The page: everything in it was written by the program; this only adds the picture that can be turned.
import { Box3 } from "three";
import { toModel } from "./frame.js";
import { Measure } from "./measure.js";
import { loaded } from "./model.js";
import { Moves } from "./moves.js";
import { Pins } from "./pins.js";
import { Section } from "./section.js";
import { Stage } from "./stage.js";

const $ = (id) => document.getElementById(id);
const all = (selector) => [...document.querySelectorAll(selector)];

function theme(stage) {
  const dark = document.documentElement.dataset.theme
    ? document.documentElement.dataset.theme === "dark"
    : matchMedia("(prefers-color-scheme: dark)").matches;
  stage.background(dark ? 0x1b2026 : 0xf1efe9);
}

async function start() {
  const data = JSON.parse($("data").textContent);
  const canvas = $("canvas");
  let stage;
  try {
    stage = new Stage(canvas);
  } catch {
    $("still-note").hidden = false;
    return;
  }
  const model = await loaded($("model").textContent);
  stage.scene.add(model.root);
  const whole = new Box3().setFromObject(model.root);
  const section = new Section(stage, model, whole);
  const measure = new Measure(stage, model, data.ports);
  const moves = new Moves(stage, model, data.parts, data.steps);
  document.body.classList.add("live");
  $("still").hidden = true;
  $("stage").hidden = false;
  $("tools").hidden = false;

  const say = (text) => ($("said").textContent = text);
  const shown = () => section.group.visible && section.follow();

  // Choosing: a row or a click in the picture; the rest is faded, never marked by colour alone.
  const rows = new Map(all("[data-part]").map((row) => [row.dataset.part, row]));
  let chosen = null;
  function choose(name, scroll) {
    chosen = name === chosen ? null : name;
    for (const [part, row] of rows) {
      row.classList.toggle("chosen", part === chosen);
      row.querySelector(".pick")?.setAttribute("aria-pressed", String(part === chosen));
    }
    model.dimAllBut(chosen === null ? null : new Set([chosen]));
    shown();
    const row = rows.get(chosen);
    if (row && scroll) row.scrollIntoView({ block: "nearest" });
    say(chosen === null ? "" : (row?.dataset.told ?? chosen));
    stage.draw();
  }
  for (const [name, row] of rows) row.querySelector(".pick")?.addEventListener("click", () => choose(name, false));

  let measuring = false;
  let down = null;
  canvas.addEventListener("pointerdown", (event) => (down = [event.clientX, event.clientY]));
  canvas.addEventListener("pointerup", (event) => {
    if (!down || Math.hypot(event.clientX - down[0], event.clientY - down[1]) > 5) return;
    const box = canvas.getBoundingClientRect();
    const x = ((event.clientX - box.left) / box.width) * 2 - 1;
    const y = 1 - ((event.clientY - box.top) / box.height) * 2;
    if (measuring) {
      say(measure.add(x, y, box.width, box.height) ?? "nothing there to measure from");
      return;
    }
    const hit = model.hit(x, y, stage.camera);
    if (hit) choose(model.ownerOf(hit.object), true);
    else if (chosen !== null) choose(chosen, false);
  });

  // Showing and hiding.
  function hide(name, hidden) {
    model.show(name, !hidden);
    const box = rows.get(name)?.querySelector("input.shown");
    if (box) box.checked = !hidden;
  }
  for (const box of all("input.shown"))
    box.addEventListener("change", () => {
      model.show(box.closest("[data-part]").dataset.part, box.checked);
      shown();
      stage.draw();
    });
  for (const box of all("input.group"))
    box.addEventListener("change", () => {
      for (const part of data.parts) if (part.group === box.value) hide(part.name, !box.checked);
      for (const tube of data.tubes) if (box.value === "tubes") hide(tube.name, !box.checked);
      shown();
      stage.draw();
    });
  $("panels").addEventListener("change", (event) => {
    for (const mesh of model.meshes) {
      const panel = data.panels.some(([part, solid]) => mesh.userData.part === part && mesh.userData.solid === solid);
      if (panel) mesh.visible = event.target.checked;
    }
    shown();
    stage.draw();
  });

  // Views and keys.
  for (const button of all("button[data-view]"))
    button.addEventListener("click", () => stage.look(button.dataset.view, model.root));
  const keys = { 1: "corner", 2: "window", 3: "front", 4: "roof", 5: "tray", 6: "rear", 7: "floor" };
  canvas.addEventListener("keydown", (event) => {
    const offset = stage.camera.position.clone().sub(stage.controls.target);
    const up = stage.camera.up;
    const side = up.clone().cross(offset).normalize();
    const turns = { ArrowLeft: [up, -0.12], ArrowRight: [up, 0.12], ArrowUp: [side, -0.12], ArrowDown: [side, 0.12] };
    if (keys[event.key]) stage.look(keys[event.key], model.root);
    else if (turns[event.key]) {
      offset.applyAxisAngle(...turns[event.key]);
      stage.camera.position.copy(stage.controls.target).add(offset);
      stage.controls.update();
    } else if (event.key === "+" || event.key === "-") {
      offset.multiplyScalar(event.key === "+" ? 0.87 : 1.15);
      stage.camera.position.copy(stage.controls.target).add(offset);
      stage.controls.update();
    } else if (event.key === "Escape") {
      if (chosen !== null) choose(chosen, false);
    } else return;
    event.preventDefault();
    stage.draw();
  });

  // Tools.
  $("section").addEventListener("change", cut);
  $("depth").addEventListener("input", cut);
  function cut() {
    const axis = $("section").value;
    $("depth").disabled = axis === "";
    section.set(axis === "" ? null : axis, Number($("depth").value) / 100);
  }
  $("apart").addEventListener("input", (event) => {
    moves.explode(Number(event.target.value) / 100);
    shown();
  });
  $("measure").addEventListener("click", (event) => {
    measuring = !measuring;
    event.target.setAttribute("aria-pressed", String(measuring));
    if (!measuring) measure.clear();
    say(measuring ? "choose a first point" : "");
  });
  const step = $("step");
  if (step) {
    let playing = null;
    const tell = () => {
      const at = Number(step.value);
      say(at === 0 ? "before the first step" : `step ${at}: ${data.steps[at - 1].told}`);
    };
    step.addEventListener("input", () => {
      moves.show(Number(step.value), 0);
      shown();
      tell();
    });
    $("play").addEventListener("click", (event) => {
      if (playing !== null) {
        playing = null;
        moves.stop();
        event.target.textContent = "Play";
        return;
      }
      playing = Number(step.value) < data.steps.length ? Number(step.value) : 0;
      event.target.textContent = "Stop";
      const next = () => {
        if (playing === null) return;
        if (playing === data.steps.length) {
          playing = null;
          $("play").textContent = "Play";
          return;
        }
        playing += 1;
        step.value = String(playing);
        tell();
        moves.show(playing, 0.6, () => setTimeout(next, 250));
      };
      next();
    });
  }

  // Findings.
  const findings = all("[data-finding]");
  function seek(index) {
    const finding = data.findings[index];
    for (const row of findings) row.classList.toggle("chosen", Number(row.dataset.finding) === index);
    findings[index]?.scrollIntoView({ block: "nearest" });
    model.dimAllBut(new Set(finding.parts));
    if (finding.at_mm) {
      const at = toModel(finding.at_mm);
      const off = stage.camera.position.clone().sub(stage.controls.target).setLength(0.35);
      stage.controls.target.copy(at);
      stage.camera.position.copy(at).add(off);
      stage.controls.update();
    }
    say(finding.message);
    stage.draw();
  }
  new Pins(stage, $("pins"), data.findings, seek);
  for (const row of findings) row.querySelector("button")?.addEventListener("click", () => seek(Number(row.dataset.finding)));

  // Light and dark.
  $("theme").addEventListener("click", () => {
    const now = document.documentElement.dataset.theme ?? (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light");
    document.documentElement.dataset.theme = now === "dark" ? "light" : "dark";
    theme(stage);
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => theme(stage));
  theme(stage);
  stage.resize();
  stage.look("corner", model.root);
  stage.onDraw(() => (window.__drawn = (window.__drawn ?? 0) + 1));
  window.__preview = { stage, model, choose, seek };
}

start().catch((error) => {
  document.getElementById("still-note").hidden = false;
  console.error(error);
});
