// Parts drawn apart along the way they come off, and the order of assembly shown step by step.
import { Vector3 } from "three";
import { toModelWay } from "./frame.js";

const FROM_M = 0.25;

export class Moves {
  constructor(model, told) {
    this.model = model;
    this.steps = told.steps;
    this.nodes = new Map(model.owners);
    // A panel is a solid of the case and moves by itself.
    for (const [part, solid] of told.panels) {
      const node = model.owners.get(part)?.children.find((each) => each.userData.solid === solid);
      if (node) this.nodes.set(`${part}.${solid}`, node);
    }
    this.home = new Map([...this.nodes.values()].map((node) => [node, node.position.clone()]));
    this.apart = new Map(
      [...told.parts, ...told.tubes].map((each) => [each.name, toModelWay(each.apart_mm).multiplyScalar(1e-3)]),
    );
  }

  // share: 0 built, 1 fully apart.
  explode(share) {
    for (const [name, node] of this.nodes) this.put(node, this.apart.get(name) ?? new Vector3(), share);
  }

  // The build after so many steps, the last of them still so far off: 1 outside, 0 in place.
  build(count, off) {
    for (const node of this.nodes.values()) node.position.copy(this.home.get(node));
    this.model.later = new Set(this.steps.slice(count).flatMap((step) => step.names));
    const step = this.steps[count - 1];
    if (step && off > 0) {
      const way = toModelWay(step.from).normalize();
      for (const name of step.names) this.put(this.nodes.get(name), way, FROM_M * off);
    }
    this.model.refresh();
  }

  // way: in the model's frame [m]; a panel's node counts in its part's.
  put(node, way, share) {
    if (!node) return;
    const own = way.clone().multiplyScalar(share);
    if (node.parent.userData.part) own.applyQuaternion(node.parent.quaternion.clone().invert());
    node.position.copy(this.home.get(node)).add(own);
  }
}
