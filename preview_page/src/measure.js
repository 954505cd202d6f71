// The distance between two points, caught by ports, corners and edges near the pointer.
import { BufferGeometry, Line, LineBasicMaterial, Vector3 } from "three";
import { toModel, toScene } from "./frame.js";

const CATCH_PX = 14;

export class Measure {
  constructor(stage, model, ports) {
    this.stage = stage;
    this.model = model;
    this.ports = ports.map((port) => ({ name: port.name, at: toModel(port.at_mm) }));
    this.points = [];
    this.line = new Line(new BufferGeometry(), new LineBasicMaterial({ color: 0xd0603a, depthTest: false }));
    this.line.renderOrder = 5;
    this.line.visible = false;
    stage.scene.add(this.line);
  }

  clear() {
    this.points = [];
    this.line.visible = false;
    this.stage.draw();
  }

  // Adds the point under the pointer; returns what to say, or null where there is nothing.
  add(x, y, width, height) {
    const point = this.caught(x, y, width, height);
    if (!point) return null;
    if (this.points.length === 2) this.points = [];
    this.points.push(point);
    this.line.geometry.dispose();
    this.line.geometry = new BufferGeometry().setFromPoints(this.points.map((each) => each.at));
    this.line.visible = this.points.length === 2;
    this.stage.draw();
    if (this.points.length === 1) return `from ${point.what}: choose a second point`;
    const [a, b] = this.points.map((each) => toScene(each.at));
    const off = b.map((value, axis) => value - a[axis]);
    const parts = ["to the front", "to the tray", "up"].map((word, axis) => `${off[axis].toFixed(1)} ${word}`);
    return `${Math.hypot(...off).toFixed(1)} mm from ${this.points[0].what} to ${point.what} (${parts.join(", ")})`;
  }

  caught(x, y, width, height) {
    const away = (at) => {
      const seen = at.clone().project(this.stage.camera);
      return Math.hypot(((seen.x - x) * width) / 2, ((seen.y - y) * height) / 2);
    };
    const port = this.ports.map((each) => ({ ...each, px: away(each.at) })).filter((each) => each.px < CATCH_PX);
    if (port.length) {
      const nearest = port.reduce((a, b) => (a.px < b.px ? a : b));
      return { at: nearest.at, what: `the middle of ${nearest.name}` };
    }
    const hit = this.model.hit(x, y, this.stage.camera, false);
    if (!hit) return null;
    const name = this.model.ownerOf(hit.object);
    const corners = [hit.face.a, hit.face.b, hit.face.c].map((index) =>
      new Vector3().fromBufferAttribute(hit.object.geometry.attributes.position, index).applyMatrix4(hit.object.matrixWorld),
    );
    const corner = corners.reduce((a, b) => (away(a) < away(b) ? a : b));
    if (away(corner) < CATCH_PX) return { at: corner, what: `a corner of ${name}` };
    const edges = corners.map((a, k) => nearestOn(a, corners[(k + 1) % 3], hit.point));
    const edge = edges.reduce((a, b) => (away(a) < away(b) ? a : b));
    if (away(edge) < CATCH_PX / 2) return { at: edge, what: `an edge of ${name}` };
    return { at: hit.point.clone(), what: `a face of ${name}` };
  }
}

function nearestOn(a, b, point) {
  const along = b.clone().sub(a);
  const share = Math.min(Math.max(point.clone().sub(a).dot(along) / Math.max(along.lengthSq(), 1e-20), 0), 1);
  return a.clone().addScaledVector(along, share);
}
