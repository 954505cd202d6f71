// Prints the Khronos validator's report of one GLB file as JSON.
const fs = require("fs");
const validator = require("gltf-validator");

validator
  .validateBytes(new Uint8Array(fs.readFileSync(process.argv[2])), { maxIssues: 100 })
  .then((report) => console.log(JSON.stringify(report)));
