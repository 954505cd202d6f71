// One build on one canvas: its model, cut, moves, marks and measure.
import { Box3 } from "three";
import { toModel, toModelWay } from "./frame.js";
import { Marks } from "./marks.js";
import { Measure } from "./measure.js";
import { loaded } from "./model.js";
import { Moves } from "./moves.js";
import { Section } from "./section.js";
import { Stage } from "./stage.js";

const SIGNS = { error: "!", warning: "?", note: "i" };

export class View {
  static async made(place, told, packed, lead) {
    const stage = new Stage(place.querySelector("canvas"), lead?.stage);
    return new View(place, stage, told, await loaded(packed));
  }

  constructor(place, stage, told, model) {
    Object.assign(this, { place, stage, told, model });
    stage.scene.add(model.root);
    this.whole = new Box3().setFromPoints(model.corners());
    stage.ground(this.whole);
    this.section = new Section(stage, model, this.whole);
    this.moves = new Moves(model, told);
    this.measure = new Measure(stage, model, told);
    this.marks = new Marks(stage, place.querySelector(".marks"));
    this.groups = new Map(told.parts.map((part) => [part.name, part.group]));
    for (const tube of told.tubes) this.groups.set(tube.name, "tubes");
    this.share = 0;
  }

  pins(chosen) {
    this.told.findings.forEach((finding, index) => {
      if (!finding.at_mm) return;
      const sign = `${SIGNS[finding.severity]}${index + 1}`;
      const told = `${finding.severity} ${finding.rule}: ${finding.message}`;
      this.marks.pin(toModel(finding.at_mm), sign, finding.severity, told, () => chosen(index));
    });
  }

  refresh() {
    this.model.refresh();
    this.section.follow();
    this.stage.draw();
  }

  explode(share) {
    this.share = share;
    this.measure.catching = share === 0;
    this.stage.shade.visible = share === 0;
    this.marks.away = share > 0;
    this.moves.explode(share);
    this.refresh();
  }

  // Tags for what is chosen: a part's name, a tube's cut and the length of each straight of it.
  tags(name) {
    const tube = this.told.tubes.find((each) => each.name === name);
    if (!tube) return this.model.owners.has(name) ? [{ at: this.model.topOf(name), text: name, kind: "above" }] : [];
    const off = toModelWay(tube.apart_mm).multiplyScalar(1e-3 * this.share);
    const cut = `${name}: cut ${tube.cut_mm.toFixed(1)} mm`;
    if (!tube.corners_mm) return [{ at: this.model.centreOf(name), text: cut }];
    const points = [tube.ends_mm[0], ...tube.corners_mm, tube.ends_mm[1]].map((point) => toModel(point).add(off));
    const straights = [...tube.bends.map((bend) => bend.straight_mm), tube.last_straight_mm];
    const middles = points.slice(1).map((point, k) => point.clone().add(points[k]).multiplyScalar(0.5));
    if (straights.length === 1) return [{ at: middles[0], text: cut }];
    const fits = straights.length === middles.length;
    const pieces = fits ? middles.map((at, k) => ({ at, text: straights[k].toFixed(1), kind: "piece" })) : [];
    return [...pieces, { at: points[Math.floor(points.length / 2)], text: cut }];
  }
}
