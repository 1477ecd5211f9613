// One arm as it is drawn: the machine, the passes that are over, the one that goes on, and the force now.
import { drawMachine, reach, viewOf } from "/assets/drawing.js";
import { Ribbon } from "/assets/ribbon.js";

const FIRST_REACH_RAD = 1.2;
const SEEN_RAD = 0.15;
const OLD_PASSES = 12;

export class Arm {
  constructor(shape) {
    this.shape = shape;
    this.ribbon = new Ribbon(shape);
    this.passes = [];
    this.current = null;
    this.now = {};
    this.pose = 0;
  }

  takePasses({ from, list }) {
    if (!list.length) return;
    this.passes = [...this.passes.slice(0, from), ...list];
    this.current = null;
  }

  takeNow(now) {
    this.now = now;
    this.pose = now.q ?? this.pose;
    if (!now.pass) return;
    if (!this.current || this.current.id !== now.pass.id) this.current = { id: now.pass.id, up: now.pass.up, q: [], f: [] };
    this.current.q.push(...now.pass.q);
    this.current.f.push(...now.pass.f);
  }

  get all() {
    return [...this.passes, ...(this.current ? [this.current] : [])];
  }

  get strongest() {
    return this.all.reduce((most, one) => one.f.reduce((a, b) => Math.max(a, b), most), this.now.f ?? 0);
  }

  get furthest() {
    const most = Math.max(this.now.most ?? 0, this.now.q ?? 0);
    return this.all.reduce((far, one) => one.q.reduce((a, b) => Math.max(a, b), far), most);
  }

  // Scaled to `strongest` and `furthest`, which two arms have in common.
  draw({ ink, width, height }, paint, { strongest, furthest, beat, unit }) {
    this.ribbon.scaleTo(strongest);
    const most = furthest > SEEN_RAD ? furthest : FIRST_REACH_RAD;
    const { shape, ribbon, now } = this;
    const points = shape.straight ? [] : reach(shape, most);
    const view = viewOf([...points, ...ribbon.room(most)], width, height, 0.04);
    if (!shape.straight) {
      drawMachine(ink, shape, view, 0, paint, { faint: true });
      drawMachine(ink, shape, view, most, paint, { faint: true });
    }
    ribbon.lines(ink, view, paint, most, unit);
    this.passes.slice(-OLD_PASSES).forEach((one) => ribbon.pass(ink, view, paint, one));
    // Where it was last, and pale, while nobody knows where it is.
    ink.globalAlpha = this.pose && (now.q ?? null) === null ? 0.3 : 1;
    if (!shape.straight) drawMachine(ink, shape, view, this.pose, paint);
    ink.globalAlpha = 1;
    if (this.current) ribbon.pass(ink, view, paint, this.current, { strong: true });
    if (beat && furthest > SEEN_RAD) ribbon.lead(ink, view, paint, (beat.raising ? beat.share : 1 - beat.share) * most);
    if (now.q !== undefined && now.q !== null && now.f !== null && now.f !== undefined) {
      const colour = now.up === false ? paint.down : now.up ? paint.up : paint.ink;
      ribbon.mark(ink, view, colour, now.q, now.f);
    }
  }
}

// How often each part of the travel was passed, a row for each way.
export function drawCoverage({ ink, width, height }, paint, rows) {
  rows.forEach((row, r) => {
    const [top, tall] = [(height / 2) * r + 3, height / 2 - 6];
    row.forEach((count, i) => {
      const x = (width * i) / row.length;
      ink.strokeStyle = paint.line;
      ink.lineWidth = 1;
      ink.strokeRect(x + 1, top, width / row.length - 3, tall);
      const part = Math.min(count, 3) / 3;
      ink.fillStyle = r ? paint.down : paint.up;
      ink.fillRect(x + 1, top + tall * (1 - part), width / row.length - 3, tall * part);
    });
  });
}
