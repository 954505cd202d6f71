// Camera, lights and frames. A frame is drawn when something changed, never in a loop.
import {
  Box3, CanvasTexture, DirectionalLight, HemisphereLight, Mesh, MeshBasicMaterial, PerspectiveCamera, PlaneGeometry, Scene,
  Vector3, WebGLRenderer,
} from "three";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
import { toModelWay } from "./frame.js";

const FROM = {
  window: [0, -1, 0], tray: [0, 1, 0], front: [1, 0, 0], rear: [-1, 0, 0], roof: [0, 0, 1], floor: [0, 0, -1],
  corner: [0.55, -1, 0.45],
};
const SLOW_MS = 120;
const REST_MS = 220;

export class Stage {
  // lead: the stage whose camera this one shares; what moves one moves both.
  constructor(canvas, lead = null) {
    this.canvas = canvas;
    this.lead = lead ?? this;
    this.renderer = new WebGLRenderer({ canvas, antialias: true, stencil: true, alpha: true, preserveDrawingBuffer: true });
    this.renderer.localClippingEnabled = true;
    this.scene = new Scene();
    // The lights go with the camera: every side is seen in the same light.
    const key = new DirectionalLight(0xfff6ea, 2.5);
    key.position.set(-0.5, 0.9, 1);
    const fill = new DirectionalLight(0xdfe9f5, 0.9);
    fill.position.set(1, 0.1, 0.5);
    this.lamps = [key, fill];
    for (const lamp of this.lamps) this.scene.add(lamp, lamp.target);
    this.aims = this.lamps.map((lamp) => lamp.position.clone());
    this.scene.add(new HemisphereLight(0xffffff, 0xaaa49a, 2.1));
    this.camera = lead ? lead.camera : new PerspectiveCamera(30, 1, 0.01, 20);
    this.controls = new OrbitControls(this.camera, canvas);
    this.controls.enableDamping = false;
    this.controls.screenSpacePanning = true;
    if (lead) {
      this.controls.target = lead.controls.target;
      lead.followers.push(this);
    }
    this.controls.addEventListener("change", () => this.draw());
    this.controls.addEventListener("start", () => this.lead.moves(true));
    this.controls.addEventListener("end", () => this.lead.moves(false));
    this.followers = [];
    this.listeners = [];
    this.pending = this.moving = this.slow = this.coarse = false;
    this.last = 0;
    new ResizeObserver(() => this.resize()).observe(canvas.parentElement);
  }

  onDraw(listener) {
    this.listeners.push(listener);
  }

  resize() {
    const { clientWidth: width, clientHeight: height } = this.canvas.parentElement;
    if (!width || !height) return;
    const sharp = Math.min(window.devicePixelRatio, 2);
    this.renderer.setPixelRatio(this.lead.coarse ? Math.max(sharp / 2.5, 0.5) : sharp);
    this.renderer.setSize(width, height, false);
    this.camera.aspect = width / height;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  // While the camera is turned, slow machines get coarse frames; at rest the picture is sharp.
  moves(moving) {
    clearTimeout(this.rest);
    if (moving) this.moving = true;
    else
      this.rest = setTimeout(() => {
        this.moving = false;
        this.sharpness(false);
      }, REST_MS);
  }

  sharpness(coarse) {
    if (this.coarse === coarse) return;
    this.coarse = coarse;
    for (const stage of [this, ...this.followers]) stage.resize();
  }

  draw() {
    const lead = this.lead;
    if (lead.pending) return;
    lead.pending = true;
    requestAnimationFrame(() => {
      lead.pending = false;
      const now = performance.now();
      if (lead.moving && !lead.coarse && now - lead.last < 3000 && now - lead.last > SLOW_MS) lead.slow = true;
      lead.last = now;
      if (lead.moving && lead.slow) lead.sharpness(true);
      for (const stage of [lead, ...lead.followers]) {
        stage.lamps.forEach((lamp, k) => lamp.position.copy(stage.aims[k]).applyQuaternion(stage.camera.quaternion));
        stage.renderer.render(stage.scene, stage.camera);
        for (const listener of stage.listeners) listener(stage.camera);
      }
    });
  }

  // A soft shade on the ground under a box.
  ground(box) {
    if (!this.shade) {
      const material = new MeshBasicMaterial({ map: new CanvasTexture(shade()), transparent: true, depthWrite: false });
      this.shade = new Mesh(new PlaneGeometry(1, 1), material);
      this.shade.rotation.x = -Math.PI / 2;
      this.shade.renderOrder = -1;
      this.scene.add(this.shade);
    }
    const size = box.getSize(new Vector3());
    this.shade.scale.set(size.x * 1.5, size.z * 1.9, 1);
    box.getCenter(this.shade.position).y = box.min.y - 0.001;
  }

  // Looks from a side at all of the points, as near as they fit.
  look(from, points) {
    this.camera.up.set(0, 1, 0);
    if (from === "roof" || from === "floor") this.camera.up.copy(toModelWay([0, from === "roof" ? 1 : -1, 0]));
    this.fit(toModelWay(FROM[from]).normalize(), points);
  }

  // Keeps its way of looking.
  refit(points) {
    this.fit(this.camera.position.clone().sub(this.controls.target).normalize(), points);
  }

  fit(way, points) {
    const centre = new Box3().setFromPoints(points).getCenter(new Vector3());
    const eye = new PerspectiveCamera();
    eye.up.copy(this.camera.up);
    eye.position.copy(centre).add(way);
    eye.lookAt(centre);
    eye.updateMatrixWorld();
    const right = new Vector3().setFromMatrixColumn(eye.matrixWorld, 0);
    const up = new Vector3().setFromMatrixColumn(eye.matrixWorld, 1);
    const rise = Math.tan((this.camera.fov * Math.PI) / 360) * 0.95;
    // Where the lines of sight along the four edges of the picture must meet to hold all points.
    const reach = (axis, slope) => {
      let [low, high] = [-Infinity, -Infinity];
      for (const point of points) {
        const off = point.clone().sub(centre);
        low = Math.max(low, off.dot(way) - off.dot(axis) / slope);
        high = Math.max(high, off.dot(way) + off.dot(axis) / slope);
      }
      return { far: (low + high) / 2, shift: ((high - low) * slope) / 2 };
    };
    const [across, upward] = [reach(right, rise * this.camera.aspect), reach(up, rise)];
    const far = Math.max(across.far, upward.far, 0.05);
    centre.addScaledVector(right, across.shift).addScaledVector(up, upward.shift);
    this.camera.position.copy(centre).addScaledVector(way, far);
    this.camera.near = far / 100;
    this.camera.far = far * 10;
    this.camera.updateProjectionMatrix();
    this.controls.target.copy(centre);
    this.controls.update();
    this.draw();
  }
}

function shade() {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 128;
  const pen = canvas.getContext("2d");
  const dark = pen.createRadialGradient(64, 64, 8, 64, 64, 64);
  dark.addColorStop(0, "rgba(20,24,30,.5)");
  dark.addColorStop(0.55, "rgba(20,24,30,.28)");
  dark.addColorStop(1, "rgba(20,24,30,0)");
  pen.fillStyle = dark;
  pen.fillRect(0, 0, 128, 128);
  return canvas;
}
