// The parts and tubes of the build: found by name, shown, hidden, faded, outlined, moved.
import {
  Box3, Color, EdgesGeometry, Group, LineBasicMaterial, LineSegments, MeshPhongMaterial, Raycaster, Vector2, Vector3,
} from "three";
import { GLTFLoader } from "three/examples/jsm/loaders/GLTFLoader.js";

const SEE_THROUGH = new Set(["glass", "clear", "tube-rigid"]);
const EDGE_DEG = 35;
// Fins and blades drawn with all their edges would be black.
const MOST_EDGES = 700;
const MOST_CORNERS = 12000;

// Edges cost more than all else of a part: kept as long as its shape is.
const edges = new WeakMap();

export async function loaded(text) {
  const bytes = Uint8Array.from(atob(text.trim()), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Model(await parsed(await new Response(stream).arrayBuffer()));
}

// The scene in the bytes of a GLB file.
export const parsed = async (bytes) => (await new GLTFLoader().parseAsync(bytes, "")).scene;

// Lets go of what a scene holds on the graphics card.
export function forget(root) {
  root.traverse((node) => {
    if (!node.isMesh) return;
    node.geometry.dispose();
    edges.get(node.geometry)?.dispose();
    edges.delete(node.geometry);
  });
}

function edgesOf(geometry) {
  if (!edges.has(geometry)) edges.set(geometry, new EdgesGeometry(geometry, EDGE_DEG));
  return edges.get(geometry);
}

export class Model {
  constructor(root) {
    this.root = new Group();
    this.root.add(root);
    this.owners = new Map();
    for (const node of root.children) this.owners.set(node.userData.part ?? node.userData.tube, node);
    this.meshes = [];
    this.hidden = new Set();
    this.later = new Set();
    const own = new Map();
    root.traverse((node) => {
      if (!node.isMesh) return;
      this.meshes.push(node);
      // A solid of several surfaces is a group of meshes, and only the group says what it is.
      if (!node.userData.part && !node.userData.tube) Object.assign(node.userData, node.parent.userData);
      // Materials are shared between parts: each part gets its own, so that one can be faded alone.
      const key = `${this.ownerOf(node)} ${node.material.uuid}`;
      if (!own.has(key)) own.set(key, drawn(node.material));
      node.material = own.get(key);
      node.userData.opacity = node.material.opacity;
      if (node.material.transparent) node.material.depthWrite = false;
    });
    this.raycaster = new Raycaster();
    this.ink = new LineBasicMaterial({ color: 0x10161d, transparent: true, opacity: 0.42 });
    this.bold = new LineBasicMaterial({ color: 0x10161d });
    for (const mesh of this.meshes) this.line(mesh);
    this.outline = [];
  }

  // Shapes stay: another model may show them.
  dispose() {
    this.root.removeFromParent();
    for (const material of [...this.meshes.map((mesh) => mesh.material), this.ink, this.bold]) material.dispose();
  }

  ownerOf(node) {
    return node.userData.part ?? node.userData.tube ?? node.parent?.userData.part ?? node.parent?.userData.tube;
  }

  line(mesh) {
    const corners = mesh.geometry.index?.count ?? 0;
    if (corners > MOST_CORNERS || SEE_THROUGH.has(mesh.material.name)) return;
    const sharp = edgesOf(mesh.geometry);
    if (sharp.attributes.position.count > 2 * MOST_EDGES) return;
    mesh.userData.line = new LineSegments(sharp, this.ink);
    mesh.add(mesh.userData.line);
  }

  // Ink that is seen on a light or a dark page.
  inked(dark) {
    this.ink.color.set(dark ? 0x05080b : 0x10161d);
    this.bold.color.set(dark ? 0xffffff : 0x10161d);
  }

  // Whether each solid shows: its part is not hidden, is already built in, and is not a panel taken off.
  refresh() {
    for (const mesh of this.meshes) {
      const name = this.ownerOf(mesh);
      const solid = `${name}.${mesh.userData.solid}`;
      mesh.visible = ![name, solid].some((each) => this.hidden.has(each) || this.later.has(each));
    }
  }

  show(name, shown) {
    if (shown) this.hidden.delete(name);
    else this.hidden.add(name);
  }

  // Everything but these is faded and they are outlined; null shows all plainly.
  pick(names) {
    for (const line of this.outline) line.removeFromParent();
    this.outline = [];
    for (const mesh of this.meshes) {
      const picked = names !== null && names.has(this.ownerOf(mesh));
      const faded = names !== null && !picked;
      mesh.material.opacity = faded ? 0.13 * mesh.userData.opacity : mesh.userData.opacity;
      const clear = faded || mesh.userData.opacity < 1;
      if (clear !== mesh.material.transparent) mesh.material.needsUpdate = true;
      mesh.material.transparent = clear;
      mesh.material.depthWrite = !clear;
      mesh.userData.faded = faded;
      if (mesh.userData.line) mesh.userData.line.visible = !faded;
      if (!picked) continue;
      const line = new LineSegments(edgesOf(mesh.geometry), this.bold);
      line.renderOrder = 4;
      mesh.add(line);
      this.outline.push(line);
    }
  }

  // What lies under the pointer, through glass and through what is hidden.
  hit(x, y, camera, solidOnly = true) {
    this.raycaster.setFromCamera(new Vector2(x, y), camera);
    const clipped = (hit) => hit.object.material.clippingPlanes?.some((plane) => plane.distanceToPoint(hit.point) < 0);
    const shown = this.meshes.filter((mesh) => mesh.visible);
    const hits = this.raycaster.intersectObjects(shown, false).filter((hit) => !clipped(hit));
    const plain = hits.find((hit) => !SEE_THROUGH.has(hit.object.material.name));
    return plain ?? (solidOnly ? undefined : hits[0]);
  }

  boxOf(name) {
    return new Box3().setFromObject(this.owners.get(name));
  }

  // Corners of the boxes of all that shows; of all there is where nothing shows.
  corners() {
    this.root.updateMatrixWorld(true);
    const shown = this.meshes.filter((mesh) => mesh.visible);
    return (shown.length ? shown : this.meshes).flatMap((mesh) => {
      const { min, max } = boxOf(mesh);
      return [0, 1, 2, 3, 4, 5, 6, 7].map((k) =>
        new Vector3(k & 1 ? max.x : min.x, k & 2 ? max.y : min.y, k & 4 ? max.z : min.z).applyMatrix4(mesh.matrixWorld),
      );
    });
  }

  centreOf(name) {
    return this.boxOf(name).getCenter(new Vector3());
  }

  topOf(name) {
    const box = this.boxOf(name);
    const top = box.getCenter(new Vector3());
    top.y = box.max.y;
    return top;
  }

  clip(planes) {
    const changed = (this.clipped ?? null) !== planes;
    this.clipped = planes;
    for (const material of [...this.meshes.map((mesh) => mesh.material), this.ink, this.bold]) {
      material.clippingPlanes = planes;
      if (changed) material.needsUpdate = true;
    }
  }
}

// A physical material as a drawn one: far cheaper without a graphics card, and it needs no room to mirror.
function drawn(from) {
  const { name, color, map, normalMap, opacity, transparent, side, roughness, metalness } = from;
  const material = new MeshPhongMaterial({ name, color, map, normalMap, opacity, transparent, side });
  material.shininess = 4 + 90 * (1 - roughness) ** 2;
  const gloss = 0.5 * (1 - roughness);
  material.specular = new Color(gloss, gloss, gloss).lerp(color, metalness * 0.6);
  return material;
}

function boxOf(mesh) {
  if (!mesh.geometry.boundingBox) mesh.geometry.computeBoundingBox();
  return mesh.geometry.boundingBox;
}
