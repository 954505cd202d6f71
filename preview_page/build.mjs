// Builds the page's script into one file, with the licence of what it contains at its head.
import { build } from "esbuild";
import { readFile } from "node:fs/promises";

const licence = await readFile("node_modules/three/LICENSE", "utf8");

await build({
  entryPoints: ["src/main.js"],
  outfile: "../layout3d/preview/page.js",
  bundle: true,
  minify: true,
  format: "iife",
  target: "es2022",
  charset: "ascii",
  legalComments: "none",
  banner: { js: `/*! Contains three.js.\n\n${licence.trim()}\n*/` },
});
