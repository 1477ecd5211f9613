// What is measured at this moment, drawn on the machine: fed by the stream, at most as often as the screen is drawn.
import { colours, drawMachine, reach, sized, viewOf } from "/assets/drawing.js";
import { Ribbon, straightGeometry } from "/assets/ribbon.js";
import { Stream, keepAwake } from "/assets/stream.js";

const { h } = Vue;
const NUMBER_MS = 120;
const FIRST_REACH_RAD = 1.2;
const OLD_PASSES = 12;

export default {
  props: { words: Object, unit: Object, beside: Object, id: String },
  data() {
    return { said: {}, number: "–", second: "", live: true };
  },
  mounted() {
    this.passes = [];
    this.current = null;
    this.now = {};
    this.beat = null;
    this.shape = straightGeometry();
    this.ribbon = new Ribbon(this.shape);
    this.dirty = true;
    this.frames = 0;
    this.numbered = 0;
    this.awake = keepAwake();
    this.stream = new Stream("/stream", (message) => this.take(message));
    this.watcher = new ResizeObserver(() => (this.dirty = true));
    this.watcher.observe(this.$refs.canvas);
    const tick = () => {
      this.frame = requestAnimationFrame(tick);
      if (this.live !== this.stream.live) this.live = this.stream.live;
      if (this.dirty) this.draw();
    };
    tick();
  },
  beforeUnmount() {
    cancelAnimationFrame(this.frame);
    this.watcher.disconnect();
    this.stream.close();
    this.awake();
  },
  methods: {
    take(message) {
      if (message.whole) this.takeWhole(message.whole);
      if (message.said) this.said = message.said;
      if (message.passes) this.takePasses(message.passes);
      if (message.now) this.takeNow(message.now);
      this.dirty = true;
    },
    takeWhole(whole) {
      const geometry = whole.geometry?.handle ? whole.geometry : null;
      this.shape = geometry ?? straightGeometry();
      this.ribbon = new Ribbon(this.shape);
      this.passes = [];
      this.current = null;
      this.now = {};
    },
    takePasses({ from, list }) {
      this.passes = [...this.passes.slice(0, from), ...list];
      this.current = null;
    },
    takeNow(now) {
      this.now = now;
      this.beat = now.beat ?? null;
      if (now.pass) {
        if (!this.current || this.current.id !== now.pass.id) this.current = { id: now.pass.id, up: now.pass.up, q: [], f: [] };
        this.current.q.push(...now.pass.q);
        this.current.f.push(...now.pass.f);
      }
      const at = performance.now();
      if (at - this.numbered > NUMBER_MS) {
        this.numbered = at;
        this.number = this.format(now.f, this.unit);
        this.second = this.format(now.f, this.beside);
      }
    },
    format(force, unit) {
      if (force === null || force === undefined) return "–";
      const value = force / unit.newtons;
      return value.toFixed(unit.decimals).replace("-", "−").replace(/^−(0(\.0+)?)$/, "$1");
    },
    most() {
      const seen = [...this.passes, ...(this.current ? [this.current] : [])].flatMap((one) => one.q);
      return Math.max(this.now.most ?? 0, this.now.q ?? 0, ...(seen.length ? [seen.reduce((a, b) => Math.max(a, b))] : []));
    },
    draw() {
      this.dirty = false;
      this.frames += 1;
      const canvas = this.$refs.canvas;
      canvas.dataset.frames = this.frames;
      canvas.dataset.passes = this.passes.length;
      const { ink, width, height } = sized(canvas);
      const paint = colours(canvas);
      const all = [...this.passes, ...(this.current ? [this.current] : [])];
      const forces = all.flatMap((one) => one.f);
      this.ribbon.scaleTo(forces.reduce((a, b) => Math.max(a, b), this.now.f ?? 0));
      const seen = this.most();
      const most = seen > 0.15 ? seen : FIRST_REACH_RAD;
      const points = this.shape.straight ? [] : reach(this.shape, most);
      const view = viewOf([...points, ...this.ribbon.room(most)], width, height, 0.04);
      if (!this.shape.straight) {
        drawMachine(ink, this.shape, view, 0, paint, { faint: true });
        drawMachine(ink, this.shape, view, most, paint, { faint: true });
      }
      this.ribbon.lines(ink, view, paint, most, this.unit);
      this.passes.slice(-OLD_PASSES).forEach((one) => this.ribbon.pass(ink, view, paint, one));
      if (!this.shape.straight) drawMachine(ink, this.shape, view, this.now.q ?? 0, paint);
      if (this.current) this.ribbon.pass(ink, view, paint, this.current, { strong: true });
      if (this.beat && seen > 0.15) {
        const share = this.beat.raising ? this.beat.share : 1 - this.beat.share;
        this.ribbon.lead(ink, view, paint, share * most);
      }
      if (this.now.q !== undefined && this.now.q !== null && this.now.f !== null && this.now.f !== undefined) {
        const colour = this.now.up === false ? paint.down : this.now.up ? paint.up : paint.ink;
        this.ribbon.mark(ink, view, colour, this.now.q, this.now.f);
      }
      if (this.$refs.cover) this.drawCoverage();
    },
    drawCoverage() {
      const { ink, width, height } = sized(this.$refs.cover);
      const paint = colours(this.$refs.cover);
      const rows = this.said.coverage ?? [];
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
    },
  },
  render() {
    const said = this.said;
    const lines = (key) =>
      h("ul", { class: key }, (said[key] ?? []).map((text) => h("li", text)));
    return h("div", { class: ["stage", said.stop ? "stopped" : ""], id: this.id }, [
      h("p", { class: "headline", role: said.stop ? "alert" : "status" }, this.live ? (said.headline ?? "") : this.words.lost),
      h("div", { class: "figures" }, [
        h("p", { class: "force" }, [h("b", this.live ? this.number : "–"), h("span", this.unit.name)]),
        h("p", { class: "second" }, this.live && this.second ? `${this.second} ${this.beside.name}` : ""),
        h("p", { class: "place" }, said.place ?? ""),
      ]),
      h("canvas", { ref: "canvas", class: "board", role: "img", "aria-label": said.alt ?? this.words.board }),
      h("div", { class: "covered", hidden: !said.coverage }, [
        h("p", this.words.coverage),
        h("div", { class: "rows" }, [
          h("span", { class: "small" }, [h("span", this.words.up), h("span", this.words.down)]),
          h("canvas", { ref: "cover", role: "img", "aria-label": said.coverageText ?? this.words.coverage }),
        ]),
      ]),
      h("div", { class: "remarks" }, [h("div", { role: "status" }, [lines("enough")]), lines("wrong"), lines("sensors")]),
    ]);
  },
};
