// From the scene's frame (mm, z up) to the model's (m, y up), and back.
import { Matrix3, Vector3 } from "three";

export const toModel = ([x, y, z]) => new Vector3(x, z, -y).multiplyScalar(1e-3);
export const toModelWay = ([x, y, z]) => new Vector3(x, z, -y);
export const toScene = (v) => [v.x * 1e3, -v.z * 1e3, v.y * 1e3];

// A rotation of the scene (rows) in the model's frame.
export const toModelTurn = ([[a, b, c], [d, e, f], [g, h, i]]) => new Matrix3().set(a, c, -b, g, i, -h, -d, -f, e);
