// The parts and tubes of the build: found by name, shown, hidden, dimmed, moved.
import { Box3, Group, Raycaster, Vector2, Vector3 } from "three";
import { GLTFLoader } from "three/examples/jsm/loaders/GLTFLoader.js";

const SEE_THROUGH = new Set(["glass", "clear", "tube-rigid"]);

export async function loaded(text) {
  const bytes = Uint8Array.from(atob(text.trim()), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  const gltf = await new GLTFLoader().parseAsync(await new Response(stream).arrayBuffer(), "");
  return new Model(gltf.scene);
}

export class Model {
  constructor(root) {
    this.root = new Group();
    this.root.add(root);
    this.owners = new Map();
    for (const node of root.children) this.owners.set(node.userData.part ?? node.userData.tube, node);
    this.meshes = [];
    const own = new Map();
    root.traverse((node) => {
      if (!node.isMesh) return;
      this.meshes.push(node);
      // A solid of several surfaces is a group of meshes, and only the group says what it is.
      if (!node.userData.part && !node.userData.tube) Object.assign(node.userData, node.parent.userData);
      // Materials are shared between parts: each part gets its own, so that one can be dimmed alone.
      const key = `${this.ownerOf(node)} ${node.material.uuid}`;
      if (!own.has(key)) own.set(key, node.material.clone());
      node.material = own.get(key);
      node.userData.opacity = node.material.opacity;
      if (node.material.transparent) node.material.depthWrite = false;
    });
    this.raycaster = new Raycaster();
  }

  ownerOf(node) {
    for (let up = node; up; up = up.parent) {
      const name = up.userData.part ?? up.userData.tube;
      if (name !== undefined && this.owners?.get(name) === up) return name;
    }
    return node.userData.part ?? node.userData.tube;
  }

  show(name, shown) {
    const node = this.owners.get(name);
    if (node) node.visible = shown;
  }

  // Everything but these is faded; null shows all plainly.
  dimAllBut(names) {
    for (const mesh of this.meshes) {
      const faded = names !== null && !names.has(this.ownerOf(mesh));
      mesh.material.opacity = faded ? 0.12 * mesh.userData.opacity : mesh.userData.opacity;
      mesh.material.transparent = faded || mesh.userData.opacity < 1;
      mesh.material.depthWrite = !mesh.material.transparent;
    }
  }

  // What lies under the pointer, through glass and through what is hidden.
  hit(x, y, camera, solidOnly = true) {
    this.raycaster.setFromCamera(new Vector2(x, y), camera);
    const visible = (node) => {
      for (let up = node; up; up = up.parent) if (!up.visible) return false;
      return true;
    };
    const clipped = (hit) => hit.object.material.clippingPlanes?.some((plane) => plane.distanceToPoint(hit.point) < 0);
    const hits = this.raycaster.intersectObjects(this.meshes, false).filter((hit) => visible(hit.object) && !clipped(hit));
    const plain = hits.find((hit) => !SEE_THROUGH.has(hit.object.material.name));
    return plain ?? (solidOnly ? undefined : hits[0]);
  }

  boxOf(name) {
    return new Box3().setFromObject(this.owners.get(name));
  }

  centreOf(name) {
    return this.boxOf(name).getCenter(new Vector3());
  }

  clip(planes) {
    for (const mesh of this.meshes) {
      mesh.material.clippingPlanes = planes;
      mesh.material.needsUpdate = true;
    }
  }
}
