// The distance between two points, caught by ports, corners and edges near the pointer.
import { BufferGeometry, Line, LineBasicMaterial, Vector3 } from "three";
import { toModel, toScene } from "./frame.js";

const CATCH_PX = 14;
// A point this far behind what is seen in front of it is not meant [m].
const BEHIND_M = 0.03;

export class Measure {
  constructor(stage, model, told) {
    this.stage = stage;
    this.model = model;
    this.caught = [
      ...told.ports.map((port) => ({ what: `the middle of ${port.name}`, at: toModel(port.at_mm) })),
      ...told.centres.map((centre) => ({ what: `a centre of ${centre.name}`, at: toModel(centre.at_mm) })),
    ];
    this.catching = true;
    this.points = [];
    this.line = new Line(new BufferGeometry(), new LineBasicMaterial({ color: 0xc2410c, depthTest: false }));
    this.line.renderOrder = 5;
    this.line.visible = false;
    stage.scene.add(this.line);
  }

  clear() {
    this.points = [];
    this.line.visible = false;
    this.stage.draw();
  }

  dispose() {
    this.line.removeFromParent();
    this.line.geometry.dispose();
    this.line.material.dispose();
  }

  // Adds the point under the pointer; returns what to say and where, or null where there is nothing.
  add(x, y, width, height) {
    const point = this.point(x, y, width, height);
    if (!point) return null;
    if (this.points.length === 2) this.points = [];
    this.points.push(point);
    this.line.geometry.dispose();
    this.line.geometry = new BufferGeometry().setFromPoints(this.points.map((each) => each.at));
    this.line.visible = this.points.length === 2;
    this.stage.draw();
    const ends = this.points.map(({ at }) => ({ at, text: "+", kind: "end" }));
    if (this.points.length === 1) return { title: "From here", lines: [point.what, "choose a second point"], tags: ends };
    const [a, b] = this.points.map((each) => toScene(each.at));
    const off = b.map((value, axis) => value - a[axis]);
    const far = `${Math.hypot(...off).toFixed(1)} mm`;
    const ways = [["front", "rear"], ["tray", "window"], ["roof", "floor"]]
      .map(([more, less], axis) => [Math.abs(off[axis]).toFixed(1), off[axis] < 0 ? less : more])
      .filter(([value]) => value !== "0.0")
      .map(([value, word]) => `${value} toward the ${word}`);
    const middle = this.points[0].at.clone().add(this.points[1].at).multiplyScalar(0.5);
    return {
      title: far,
      lines: [`from ${this.points[0].what}`, `to ${point.what}`, ways.join(", ")],
      tags: [...ends, { at: middle, text: far }],
    };
  }

  point(x, y, width, height) {
    const camera = this.stage.camera;
    const away = (at) => {
      const seen = at.clone().project(camera);
      return Math.hypot(((seen.x - x) * width) / 2, ((seen.y - y) * height) / 2);
    };
    const hit = this.model.hit(x, y, camera, false);
    const limit = hit ? hit.distance + BEHIND_M : Infinity;
    const near = (this.catching ? this.caught : [])
      .map((each) => ({ ...each, px: away(each.at) }))
      .filter((each) => each.px < CATCH_PX && each.at.distanceTo(camera.position) < limit);
    if (near.length) return near.reduce((a, b) => (a.px <= b.px ? a : b));
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
