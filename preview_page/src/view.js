// One build on one canvas: its model, cut, moves, marks and measure.
import { Box3 } from "three";
import { toModel, toModelWay } from "./frame.js";
import { Marks } from "./marks.js";
import { Measure } from "./measure.js";
import { Moves } from "./moves.js";
import { Section } from "./section.js";
import { Stage } from "./stage.js";

const SIGNS = { error: "!", warning: "?", note: "i" };

export class View {
  constructor(place, told, model, lead) {
    this.place = place;
    this.stage = new Stage(place.querySelector("canvas"), lead?.stage);
    this.marks = new Marks(this.stage, place.querySelector(".marks"));
    this.share = 0;
    this.take(told, model);
  }

  // Shows this build from now on; what is hidden, the camera and how far apart it is drawn stay.
  take(told, model) {
    const { stage, model: old } = this;
    if (old) {
      const members = [...this.groups.values()];
      const away = members.filter((group) => [...this.groups].every(([name, own]) => own !== group || old.hidden.has(name)));
      this.hideAgain(told, model, new Set(away));
      for (const gone of [this.section, this.measure, old]) gone.dispose();
    }
    Object.assign(this, { told, model, groups: groupsOf(told) });
    stage.scene.add(model.root);
    this.whole = new Box3().setFromPoints(model.corners());
    stage.ground(this.whole);
    this.section = new Section(stage, model, this.whole);
    this.moves = new Moves(model, told);
    this.measure = new Measure(stage, model, told);
    this.marks.clear();
    this.explode(this.share);
  }

  // What was hidden stays so, and what is new in a hidden group is hidden with it.
  hideAgain(told, model, groups) {
    model.hidden = this.model.hidden;
    for (const [name, group] of groupsOf(told)) if (groups.has(group)) model.hidden.add(name);
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

// Name of a part or tube -> the group it is listed under.
function groupsOf(told) {
  const groups = new Map(told.parts.map((part) => [part.name, part.group]));
  for (const tube of told.tubes) groups.set(tube.name, "tubes");
  return groups;
}
