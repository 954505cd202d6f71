// Camera, lights and frames. A frame is drawn when something changed, never in a loop.
import {
  ACESFilmicToneMapping, AmbientLight, Box3, Color, DirectionalLight, HemisphereLight, NeutralToneMapping,
  PerspectiveCamera, PMREMGenerator, Scene, Vector3, WebGLRenderer,
} from "three";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
import { RoomEnvironment } from "three/examples/jsm/environments/RoomEnvironment.js";
import { toModelWay } from "./frame.js";

const FROM = {
  window: [0, -1, 0], tray: [0, 1, 0], front: [1, 0, 0], rear: [-1, 0, 0], roof: [0, 0, 1], floor: [0, 0, -1],
  corner: [0.55, -1, 0.45],
};
const SLOW_MS = 150;

export class Stage {
  constructor(canvas) {
    this.canvas = canvas;
    this.renderer = new WebGLRenderer({ canvas, antialias: true, stencil: true });
    this.renderer.toneMapping = NeutralToneMapping ?? ACESFilmicToneMapping;
    this.renderer.localClippingEnabled = true;
    this.scene = new Scene();
    const room = new RoomEnvironment();
    const maker = new PMREMGenerator(this.renderer);
    this.scene.environment = maker.fromScene(room, 0.04).texture;
    this.scene.environmentIntensity = 0.8;
    maker.dispose();
    this.scene.add(new HemisphereLight(0xffffff, 0x667788, 0.6), new AmbientLight(0xffffff, 0.15));
    const sun = new DirectionalLight(0xffffff, 1.4);
    sun.position.set(0.6, 1.2, 1.4);
    this.scene.add(sun);
    this.camera = new PerspectiveCamera(32, 1, 0.01, 20);
    this.controls = new OrbitControls(this.camera, canvas);
    this.controls.enableDamping = false;
    this.controls.screenSpacePanning = true;
    this.controls.addEventListener("change", () => this.draw());
    this.listeners = [];
    this.pending = false;
    this.slow = false;
    new ResizeObserver(() => this.resize()).observe(canvas.parentElement);
  }

  onDraw(listener) {
    this.listeners.push(listener);
  }

  background(colour) {
    this.scene.background = new Color(colour);
    this.draw();
  }

  resize() {
    const { clientWidth: width, clientHeight: height } = this.canvas.parentElement;
    if (!width || !height) return;
    this.renderer.setPixelRatio(this.slow ? 1 : Math.min(window.devicePixelRatio, 2));
    this.renderer.setSize(width, height, false);
    this.camera.aspect = width / height;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  draw() {
    if (this.pending) return;
    this.pending = true;
    requestAnimationFrame(() => {
      this.pending = false;
      const start = performance.now();
      this.renderer.render(this.scene, this.camera);
      for (const listener of this.listeners) listener(this.camera);
      if (!this.slow && performance.now() - start > SLOW_MS && window.devicePixelRatio > 1) {
        this.slow = true;
        this.resize();
      }
    });
  }

  // Looks from a side at all of an object, as near as it fits.
  look(from, object) {
    const box = new Box3().setFromObject(object);
    if (box.isEmpty()) return;
    const way = toModelWay(FROM[from]).normalize();
    const centre = box.getCenter(new Vector3());
    this.camera.up.set(0, 1, 0);
    if (from === "roof" || from === "floor") this.camera.up.copy(toModelWay([0, from === "roof" ? 1 : -1, 0]));
    const eye = new PerspectiveCamera();
    eye.up.copy(this.camera.up);
    eye.position.copy(centre).add(way);
    eye.lookAt(centre);
    eye.updateMatrixWorld();
    const right = new Vector3().setFromMatrixColumn(eye.matrixWorld, 0);
    const up = new Vector3().setFromMatrixColumn(eye.matrixWorld, 1);
    const rise = Math.tan((this.camera.fov * Math.PI) / 360);
    let far = 0.05;
    for (let k = 0; k < 8; k++) {
      const corner = new Vector3(k & 1 ? box.max.x : box.min.x, k & 2 ? box.max.y : box.min.y, k & 4 ? box.max.z : box.min.z).sub(centre);
      const ahead = corner.dot(way);
      far = Math.max(far, ahead + Math.abs(corner.dot(up)) / rise, ahead + Math.abs(corner.dot(right)) / (rise * this.camera.aspect));
    }
    this.camera.position.copy(centre).addScaledVector(way, far * 1.06);
    this.camera.near = far / 100;
    this.camera.far = far * 10;
    this.camera.updateProjectionMatrix();
    this.controls.target.copy(centre);
    this.controls.update();
    this.draw();
  }
}
