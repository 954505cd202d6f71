// Numbered pins over the picture, one a finding, each a button that leads to its row.
import { toModel } from "./frame.js";

export class Pins {
  constructor(stage, layer, findings, chosen) {
    this.stage = stage;
    this.pins = findings
      .map((finding, index) => ({ finding, number: index + 1 }))
      .filter(({ finding }) => finding.at_mm)
      .map(({ finding, number }) => {
        const button = document.createElement("button");
        button.type = "button";
        button.className = `pin ${finding.severity}`;
        button.textContent = `${finding.severity === "error" ? "!" : "?"}${number}`;
        button.setAttribute("aria-label", `!${number} ${finding.severity} ${finding.rule}: ${finding.message}`);
        button.addEventListener("click", () => chosen(number - 1));
        layer.append(button);
        return { button, at: toModel(finding.at_mm) };
      });
    stage.onDraw((camera) => this.place(camera));
  }

  place(camera) {
    const { clientWidth: width, clientHeight: height } = this.stage.canvas;
    for (const { button, at } of this.pins) {
      const seen = at.clone().project(camera);
      button.hidden = seen.z > 1 || Math.abs(seen.x) > 1 || Math.abs(seen.y) > 1;
      button.style.translate = `${((seen.x + 1) / 2) * width}px ${((1 - seen.y) / 2) * height}px`;
    }
  }
}
