// From the scene's frame (mm, z up) to the model's (m, y up), and back.
import { Vector3 } from "three";

export const toModel = ([x, y, z]) => new Vector3(x, z, -y).multiplyScalar(1e-3);
export const toModelWay = ([x, y, z]) => new Vector3(x, z, -y);
export const toScene = (v) => [v.x * 1e3, -v.z * 1e3, v.y * 1e3];
