// A section plane with filled cuts: where back faces outnumber front faces behind the plane, material was cut.
// What is solid is hatched as on a drawing; coolant is filled with its own colour.
import {
  AlwaysStencilFunc, BackSide, CanvasTexture, DecrementWrapStencilOp, DoubleSide, FrontSide, Group, IncrementWrapStencilOp,
  Mesh, MeshBasicMaterial, NotEqualStencilFunc, Plane, PlaneGeometry, RepeatWrapping, ReplaceStencilOp, SRGBColorSpace,
} from "three";
import { toModelWay } from "./frame.js";

const AXES = { window: [0, 1, 0], front: [-1, 0, 0], roof: [0, 0, -1] };
const HATCH_M = 0.006;

export class Section {
  constructor(stage, model, box) {
    this.stage = stage;
    this.model = model;
    this.box = box;
    this.plane = new Plane();
    this.group = new Group();
    this.group.visible = false;
    const size = box.getSize(box.min.clone()).length() * 2;
    // A sheet seen from both sides has no inside to fill.
    const closed = model.meshes.filter((mesh) => mesh.material.side !== DoubleSide);
    const wet = (mesh) => mesh.material.name === "coolant";
    this.caps = [
      this.cap(closed.filter((mesh) => !wet(mesh)), size, new MeshBasicMaterial({ map: hatching(size), toneMapped: false }), 1),
      this.cap(closed.filter(wet), size, new MeshBasicMaterial({ color: 0x8fd3e0, toneMapped: false }), 3),
    ];
    stage.scene.add(this.group);
  }

  cap(meshes, size, material, order) {
    for (const [side, op] of [[BackSide, IncrementWrapStencilOp], [FrontSide, DecrementWrapStencilOp]]) {
      const counting = new MeshBasicMaterial({
        side, depthWrite: false, depthTest: false, colorWrite: false, stencilWrite: true, stencilFunc: AlwaysStencilFunc,
        stencilFail: op, stencilZFail: op, stencilZPass: op, clippingPlanes: [this.plane],
      });
      for (const mesh of meshes) {
        const twin = new Mesh(mesh.geometry, counting);
        twin.matrixAutoUpdate = false;
        twin.userData.of = mesh;
        twin.renderOrder = order;
        this.group.add(twin);
      }
    }
    Object.assign(material, {
      side: DoubleSide, stencilWrite: true, stencilRef: 0, stencilFunc: NotEqualStencilFunc, stencilFail: ReplaceStencilOp,
      stencilZFail: ReplaceStencilOp, stencilZPass: ReplaceStencilOp,
    });
    const cap = new Mesh(new PlaneGeometry(size, size), material);
    cap.renderOrder = order + 1;
    cap.onAfterRender = (renderer) => renderer.clearStencil();
    this.group.add(cap);
    return cap;
  }

  dispose() {
    this.group.removeFromParent();
    for (const cap of this.caps) {
      cap.geometry.dispose();
      cap.material.map?.dispose();
    }
    for (const each of this.group.children) each.material.dispose();
  }

  // axis: a side the cut is seen from, or null for none; share: how far in, 0 to 1.
  set(axis, share) {
    this.group.visible = axis !== null;
    if (axis === null) {
      this.model.clip(null);
      return;
    }
    const normal = toModelWay(AXES[axis]).normalize();
    const ends = [this.box.min, this.box.max].map((corner) => corner.dot(normal)).sort((a, b) => a - b);
    const at = ends[0] + (ends[1] - ends[0]) * Math.min(Math.max(share, 0.001), 0.999);
    this.plane.set(normal, -at);
    for (const cap of this.caps) {
      cap.position.copy(normal).multiplyScalar(at);
      cap.lookAt(cap.position.clone().add(normal));
    }
    this.planes ??= [this.plane];
    this.model.clip(this.planes);
    this.follow();
  }

  // The counting twins stand where their meshes stand, and hide with them.
  follow() {
    if (!this.group.visible) return;
    for (const twin of this.group.children) {
      const mesh = twin.userData.of;
      if (!mesh) continue;
      mesh.updateWorldMatrix(true, false);
      twin.matrix.copy(mesh.matrixWorld);
      twin.matrixWorldNeedsUpdate = true;
      twin.visible = mesh.visible && !mesh.userData.faded;
    }
  }
}

// Lines at 45 degrees on paper.
function hatching(size) {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 64;
  const pen = canvas.getContext("2d");
  pen.fillStyle = "#e9e2d4";
  pen.fillRect(0, 0, 64, 64);
  pen.strokeStyle = "#8a7d68";
  pen.lineWidth = 7;
  for (const shift of [-64, 0, 64]) {
    pen.beginPath();
    pen.moveTo(shift - 8, 72);
    pen.lineTo(shift + 72, -8);
    pen.stroke();
  }
  const map = new CanvasTexture(canvas);
  map.colorSpace = SRGBColorSpace;
  map.wrapS = map.wrapT = RepeatWrapping;
  map.repeat.set(size / HATCH_M, size / HATCH_M);
  map.anisotropy = 8;
  return map;
}
