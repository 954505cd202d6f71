// What is written over the picture: numbered pins of the findings, and tags of what is chosen.
import { Vector3 } from "three";

const ROOM_PX = 36;

export class Marks {
  constructor(stage, layer) {
    this.canvas = stage.canvas;
    this.layer = layer;
    this.pins = [];
    this.tags = [];
    // Pins are where findings are in the built state: away while parts are drawn apart.
    this.away = false;
    stage.onDraw((camera) => this.place(camera));
  }

  clear() {
    this.layer.replaceChildren();
    this.pins = [];
    this.tags = [];
  }

  pin(at, sign, kind, told, chosen) {
    const button = element("button", `pin ${kind}`, sign);
    button.type = "button";
    button.setAttribute("aria-label", `${sign} ${told}`);
    button.addEventListener("click", chosen);
    const leader = element("i", "leader", "");
    this.layer.append(leader, button);
    this.pins.push({ button, leader, at });
  }

  // Replaces the tags; each is a text at a point.
  tag(tags) {
    for (const { element: old } of this.tags) old.remove();
    this.tags = tags.map(({ at, text, kind }) => ({ at, up: kind === "above" ? 20 : 0, element: element("span", `tag ${kind ?? ""}`, text) }));
    for (const each of this.tags) this.layer.append(each.element);
  }

  place(camera) {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    const seen = (at) => {
      const point = new Vector3().copy(at).project(camera);
      const inside = point.z < 1 && Math.abs(point.x) < 1 && Math.abs(point.y) < 1;
      return { x: ((point.x + 1) / 2) * width, y: ((1 - point.y) / 2) * height, inside };
    };
    for (const { element: tag, at, up } of this.tags) {
      const { x, y, inside } = seen(at);
      tag.hidden = !inside;
      tag.style.translate = `calc(${x}px - 50%) calc(${y - up}px - 50%)`;
    }
    const shown = [];
    for (const pin of this.pins) {
      const point = seen(pin.at);
      pin.button.hidden = pin.leader.hidden = this.away || !point.inside;
      if (!pin.button.hidden) shown.push({ pin, point, x: point.x, y: point.y - 26 });
    }
    spread(shown);
    for (const { pin, point, x, y } of shown) {
      pin.button.style.translate = `calc(${x}px - 50%) calc(${y}px - 50%)`;
      pin.leader.style.width = `${Math.hypot(x - point.x, y - point.y)}px`;
      pin.leader.style.transform = `translate(${point.x}px, ${point.y}px) rotate(${Math.atan2(y - point.y, x - point.x)}rad)`;
    }
  }
}

// Moves pins that would lie on each other aside.
function spread(shown) {
  for (let round = 0; round < 24; round++)
    for (let i = 0; i < shown.length; i++)
      for (let k = i + 1; k < shown.length; k++) {
        const [a, b] = [shown[i], shown[k]];
        let [dx, dy] = [b.x - a.x, b.y - a.y];
        const far = Math.hypot(dx, dy);
        if (far >= ROOM_PX) continue;
        if (far < 0.5) [dx, dy] = [Math.cos(k), Math.sin(k)];
        const push = (ROOM_PX - far) / 2 / Math.max(Math.hypot(dx, dy), 0.5);
        a.x -= dx * push;
        a.y -= dy * push;
        b.x += dx * push;
        b.y += dy * push;
      }
}

function element(kind, look, text) {
  const made = document.createElement(kind);
  made.className = look;
  made.textContent = text;
  return made;
}
