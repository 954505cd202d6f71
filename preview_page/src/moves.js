// Parts drawn apart along the way they come off, and the order of assembly shown step by step.
import { Vector3 } from "three";
import { toModelWay } from "./frame.js";

export class Moves {
  constructor(stage, model, parts, steps) {
    this.stage = stage;
    this.model = model;
    this.steps = steps;
    this.home = new Map([...model.owners].map(([name, node]) => [name, node.position.clone()]));
    this.apart = new Map(parts.map((part) => [part.name, toModelWay(part.apart_mm).multiplyScalar(1e-3)]));
    this.timer = null;
  }

  explode(share) {
    for (const [name, node] of this.model.owners) {
      const off = this.apart.get(name) ?? new Vector3();
      node.position.copy(this.home.get(name)).addScaledVector(off, share);
    }
    this.stage.draw();
  }

  // Shows the build after so many steps; the last of them comes in over the time given.
  show(count, seconds, done) {
    clearInterval(this.timer);
    const placed = new Set(this.steps.slice(0, count).flatMap((step) => step.names));
    const later = new Set(this.steps.slice(count).flatMap((step) => step.names));
    for (const [name, node] of this.model.owners) {
      node.position.copy(this.home.get(name));
      if (later.has(name)) node.visible = false;
      else if (placed.has(name)) node.visible = true;
    }
    const step = this.steps[count - 1];
    if (!step || !seconds) {
      this.stage.draw();
      done?.();
      return;
    }
    const way = toModelWay(step.from).normalize();
    const start = performance.now();
    const move = () => {
      const share = Math.min((performance.now() - start) / (1000 * seconds), 1);
      for (const name of step.names) {
        const node = this.model.owners.get(name);
        node?.position.copy(this.home.get(name)).addScaledVector(way, 0.25 * (1 - share) ** 2);
      }
      this.stage.draw();
      if (share === 1) {
        clearInterval(this.timer);
        done?.();
      }
    };
    this.timer = setInterval(move, 40);
  }

  stop() {
    clearInterval(this.timer);
  }
}
