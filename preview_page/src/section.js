// A section plane with filled cuts: where back faces outnumber front faces behind the plane, material was cut.
import {
  AlwaysStencilFunc, BackSide, DecrementWrapStencilOp, DoubleSide, FrontSide, Group, IncrementWrapStencilOp, Mesh,
  MeshBasicMaterial, MeshStandardMaterial, NotEqualStencilFunc, Plane, PlaneGeometry, ReplaceStencilOp,
} from "three";
import { toModelWay } from "./frame.js";

const AXES = { window: [0, 1, 0], front: [-1, 0, 0], roof: [0, 0, -1] };

export class Section {
  constructor(stage, model, box) {
    this.stage = stage;
    this.model = model;
    this.box = box;
    this.plane = new Plane();
    this.group = new Group();
    this.group.visible = false;
    for (const [side, op] of [[BackSide, IncrementWrapStencilOp], [FrontSide, DecrementWrapStencilOp]]) {
      const counting = new MeshBasicMaterial({
        side, depthWrite: false, depthTest: false, colorWrite: false, stencilWrite: true, stencilFunc: AlwaysStencilFunc,
        stencilFail: op, stencilZFail: op, stencilZPass: op, clippingPlanes: [this.plane],
      });
      for (const mesh of model.meshes) {
        // A sheet seen from both sides has no inside to cap.
        if (mesh.material.side === DoubleSide) continue;
        const twin = new Mesh(mesh.geometry, counting);
        twin.matrixAutoUpdate = false;
        twin.userData.of = mesh;
        twin.renderOrder = 1;
        this.group.add(twin);
      }
    }
    const size = box.getSize(box.min.clone()).length() * 2;
    this.cap = new Mesh(
      new PlaneGeometry(size, size),
      new MeshStandardMaterial({
        color: 0xb98a6a, roughness: 0.9, metalness: 0, side: DoubleSide, stencilWrite: true, stencilRef: 0,
        stencilFunc: NotEqualStencilFunc, stencilFail: ReplaceStencilOp, stencilZFail: ReplaceStencilOp,
        stencilZPass: ReplaceStencilOp,
      }),
    );
    this.cap.renderOrder = 2;
    this.cap.onAfterRender = (renderer) => renderer.clearStencil();
    this.group.add(this.cap);
    stage.scene.add(this.group);
  }

  // axis: a side the cut is seen from, or null for none; share: how far in, 0 to 1.
  set(axis, share) {
    this.group.visible = axis !== null;
    if (axis === null) {
      this.model.clip(null);
      this.stage.draw();
      return;
    }
    const normal = toModelWay(AXES[axis]).normalize();
    const ends = [this.box.min, this.box.max].map((corner) => corner.dot(normal)).sort((a, b) => a - b);
    const at = ends[0] + (ends[1] - ends[0]) * Math.min(Math.max(share, 0.001), 0.999);
    this.plane.set(normal, -at);
    this.cap.position.copy(normal).multiplyScalar(at);
    this.cap.lookAt(this.cap.position.clone().add(normal));
    this.model.clip([this.plane]);
    this.follow();
    this.stage.draw();
  }

  // The counting twins stand where their meshes stand, and hide with them.
  follow() {
    for (const twin of this.group.children) {
      const mesh = twin.userData.of;
      if (!mesh) continue;
      mesh.updateWorldMatrix(true, false);
      twin.matrix.copy(mesh.matrixWorld);
      twin.matrixWorldNeedsUpdate = true;
      let shown = true;
      for (let up = mesh; up; up = up.parent) shown &&= up.visible;
      twin.visible = shown && mesh.userData.opacity === 1;
    }
  }
}
