// The live page: its words and its build come anew whenever the scene's file is saved.
import { Group, Matrix4 } from "three";
import { desk } from "./desk.js";
import { toModel, toModelTurn } from "./frame.js";
import { Model, forget, parsed } from "./model.js";
import { View } from "./view.js";

const $ = (id) => document.getElementById(id);
// A page that is not looked at is given no frames: it goes on without.
const PATIENCE_MS = 150;

const painted = () =>
  Promise.race([
    new Promise((done) => requestAnimationFrame(() => setTimeout(done))),
    new Promise((done) => setTimeout(done, PATIENCE_MS)),
  ]);

export function follow(data) {
  // Key of a shape -> its scene, as it came.
  const shapes = new Map();
  let table = null;
  let shown = 0;
  let latest = 0;

  async function scene(key) {
    const answer = await fetch(`${data.models}${key}`);
    if (!answer.ok) throw new Error(`no model ${key}`);
    return parsed(await answer.arrayBuffer());
  }

  // The build out of shapes: those that are here, and those that must be asked for.
  async function built(nodes) {
    const missing = [...new Set(nodes.map((node) => node.key))].filter((key) => !shapes.has(key));
    const came = await Promise.all(missing.map(scene));
    missing.forEach((key, k) => shapes.set(key, came[k]));
    const root = new Group();
    for (const { key, name, kind, origin_mm: origin, rotation } of nodes) {
      const copy = shapes.get(key).clone(true);
      const node = copy.children[0];
      node.traverse((each) => {
        for (const word of ["part", "tube"]) if (each.userData[word]) each.userData[word] = name;
      });
      node.userData[kind] = name;
      if (origin) {
        node.position.copy(toModel(origin));
        node.quaternion.setFromRotationMatrix(new Matrix4().setFromMatrix3(toModelTurn(rotation)));
      }
      root.add(node);
    }
    return new Model(root);
  }

  function take(told, model) {
    if (table) table.take(told, model);
    else table = desk([new View($("stage-now"), told, model, null)]);
  }

  async function view(good) {
    const mine = ++latest;
    await painted();
    if (mine !== latest) return;
    $("stages").classList.toggle("bare", good.nodes.length === 0);
    if (good.nodes.length) {
      const model = await built(good.nodes);
      if (mine !== latest) return model.dispose();
      take(good.told, model);
      const kept = new Set(good.nodes.map((node) => node.key));
      for (const [key, gone] of shapes)
        if (!kept.has(key)) {
          forget(gone);
          shapes.delete(key);
        }
    }
    shown = good.version;
    window.__live = { ...window.__live, shown };
  }

  function state(told) {
    words(told.words);
    table?.ticks();
    $("stages").classList.toggle("stale", told.stale);
    window.__live = { ...window.__live, said: told.version };
    if (told.good && told.good.version !== shown) view(told.good).catch((error) => console.error(error));
  }

  const source = new EventSource(data.events);
  source.addEventListener("state", (event) => state(JSON.parse(event.data)));
  source.addEventListener("busy", () => note("Reading ..."));
  source.addEventListener("end", () => {
    source.close();
    note("The program was stopped: this is how the build was last.");
  });
  source.onerror = () => note("No connection to the program; trying again ...");
}

function note(text) {
  written.delete($("follow"));
  $("follow").textContent = text;
}

// Replaces what differs, and leaves the focus where it was.
function words({ title, verdict, sign, kind, lists, ...parts }) {
  document.title = `${sign} ${title}`;
  document.querySelector("h1").textContent = title;
  const place = document.querySelector(".verdict");
  place.className = `verdict ${kind}`;
  write(place, verdict);
  write($("lists"), lists);
  for (const id of Object.keys(parts)) write($(id), parts[id]);
}

const written = new WeakMap();

function write(place, text) {
  if (written.get(place) === text) return;
  written.set(place, text);
  const focus = place.contains(document.activeElement) ? document.activeElement : null;
  const part = focus?.closest("[data-part]")?.dataset.part;
  const picker = focus?.className ? `.${focus.className.split(" ")[0]}` : focus?.localName;
  place.innerHTML = text;
  if (!focus) return;
  const within = part === undefined ? place : place.querySelector(`[data-part="${CSS.escape(part)}"]`);
  (focus.id ? $(focus.id) : within?.querySelector(picker))?.focus();
}
