// Force over the handle's own path: as far off the path as it is large.
import { between, dot, line, pointAt } from "/assets/drawing.js";

const NICE = [100, 150, 200, 300, 400, 500, 700, 1000, 1500, 2000, 3000, 5000, 10000];
const DEEP = 0.55;
const LABEL_PX = 34;

// A path for machines whose handle has none on the drawing: straight, so that the ribbon is an ordinary diagram.
export function straightGeometry() {
  const q = Array.from({ length: 37 }, (_, i) => (i * 2) / 36);
  return { q_rad: q, moving: [], fixed: [], load: null, pivots: [], handle: q.map((x) => [x, 0]), straight: true };
}

export class Ribbon {
  constructor(geometry) {
    this.geometry = geometry;
    this.path = geometry.handle;
    this.full = NICE[0];
    this.normals = this.path.map((_, i) => this.normal(i));
    const xs = this.path.map((p) => p[0]);
    const ys = this.path.map((p) => p[1]);
    const size = Math.hypot(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys));
    this.depth = DEEP * size;
  }

  // Square to the path, on the side away from the pivots.
  normal(i) {
    const [a, b] = [this.path[Math.max(i - 1, 0)], this.path[Math.min(i + 1, this.path.length - 1)]];
    const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
    const length = Math.hypot(dx, dy) || 1;
    let n = [dy / length, -dx / length];
    if (this.geometry.straight) return [0, 1];
    const pivot = this.geometry.pivots[0] ?? [0, 0];
    if (n[0] * (this.path[i][0] - pivot[0]) + n[1] * (this.path[i][1] - pivot[1]) < 0) n = [-n[0], -n[1]];
    return n;
  }

  scaleTo(force) {
    while (force * 1.1 > this.full && this.full < NICE.at(-1)) this.full = NICE[NICE.indexOf(this.full) + 1];
  }

  at(q, force) {
    const [index, share] = between(this.geometry.q_rad, q);
    const next = Math.min(index + 1, this.normals.length - 1);
    const base = pointAt(this.path, this.geometry.q_rad, q);
    const off = (this.depth * Math.max(force, -0.1 * this.full)) / this.full;
    const n = [0, 1].map((k) => this.normals[index][k] + share * (this.normals[next][k] - this.normals[index][k]));
    return [base[0] + n[0] * off, base[1] + n[1] * off];
  }

  // What the ribbon may take, to fit the view to.
  room(qMost) {
    const grid = this.geometry.q_rad.filter((q, i) => i === 0 || q <= qMost);
    return grid.flatMap((q) => [this.at(q, 0), this.at(q, this.full)]);
  }

  lines(ink, view, paint, qMost, unit) {
    const grid = this.geometry.q_rad.filter((q, i) => i === 0 || q <= qMost);
    const steps = this.full % 3 === 0 ? 3 : this.full % 4 === 0 ? 4 : this.full % 7 === 0 ? 7 : 5;
    ink.font = "600 14px system-ui, sans-serif";
    const places = Array.from({ length: steps + 1 }, (_, i) => view.at(this.at(grid[0], (this.full * i) / steps)));
    const apart = Math.hypot(places[steps][0] - places[0][0], places[steps][1] - places[0][1]);
    // As many numbers as there is room for, counted from the outermost.
    const each = Math.ceil(LABEL_PX / (apart / steps));
    for (let i = 0; i <= steps; i += 1) {
      const force = (this.full * i) / steps;
      ink.strokeStyle = i ? paint.line : paint.quiet;
      ink.lineWidth = i ? 1 : 2;
      line(ink, grid.map((q) => this.at(q, force)), view);
      if (i && (steps - i) % each === 0) {
        const [x, y] = places[i];
        ink.fillStyle = paint.quiet;
        ink.textAlign = "center";
        ink.fillText(`${Math.round(force / unit.newtons)} ${i === steps ? unit.name : ""}`.trim(), x, y + 18);
      }
    }
  }

  pass(ink, view, paint, one, { strong = false } = {}) {
    if (one.q.length < 2) return;
    ink.save();
    ink.lineJoin = "round";
    ink.lineCap = strong ? "round" : "butt";
    ink.strokeStyle = one.up ? paint.up : paint.down;
    ink.globalAlpha = strong ? 1 : 0.45;
    ink.lineWidth = strong ? 6 : 2.5;
    ink.setLineDash(one.up ? [] : strong ? [14, 10] : [7, 5]);
    line(ink, one.q.map((q, i) => this.at(q, one.f[i])), view);
    ink.restore();
  }

  // The force at this moment: from the handle to the curve.
  mark(ink, view, colour, q, force) {
    const [from, to] = [view.at(this.at(q, 0)), view.at(this.at(q, force))];
    ink.save();
    ink.strokeStyle = ink.fillStyle = colour;
    ink.lineWidth = 4;
    ink.beginPath();
    ink.moveTo(...from);
    ink.lineTo(...to);
    ink.stroke();
    dot(ink, to, 11);
    ink.restore();
  }

  // Where the tempo is now: a diamond on the path, to be followed by the handle.
  lead(ink, view, paint, q) {
    const [x, y] = view.at(this.at(q, 0));
    ink.save();
    ink.translate(x, y);
    ink.rotate(Math.PI / 4);
    ink.lineWidth = 4;
    ink.strokeStyle = paint.ink;
    ink.fillStyle = paint.sheet;
    ink.fillRect(-11, -11, 22, 22);
    ink.strokeRect(-11, -11, 22, 22);
    ink.restore();
  }
}
