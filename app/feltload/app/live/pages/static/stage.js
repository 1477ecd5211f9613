// What is measured at this moment, drawn on the machine: fed by the stream, at most as often as the screen is drawn.
import { Arm, drawCoverage } from "/assets/arm.js";
import { colours, sized } from "/assets/drawing.js";
import { straightGeometry } from "/assets/ribbon.js";
import { Stream, keepAwake } from "/assets/stream.js";

const { h } = Vue;
const NUMBER_MS = 120;

const LONG = 90;

export default {
  props: { words: Object, unit: Object, beside: Object, id: String },
  data() {
    return { said: {}, numbers: [], live: true };
  },
  created() {
    this.arms = [];
    this.canvases = [];
    this.covers = [];
    this.beat = null;
    this.shape = straightGeometry();
    this.dirty = true;
    this.frames = 0;
    this.numbered = 0;
    this.watcher = new ResizeObserver(() => (this.dirty = true));
  },
  mounted() {
    this.awake = keepAwake();
    this.stream = new Stream("/stream", (message) => this.take(message));
    this.scheme = window.matchMedia("(prefers-color-scheme: dark)");
    this.scheme.onchange = () => (this.dirty = true);
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
    this.scheme.onchange = null;
    this.stream.close();
    this.awake();
  },
  methods: {
    take(message) {
      if (message.whole) {
        this.shape = message.whole.geometry?.handle ? message.whole.geometry : straightGeometry();
        this.arms = [];
      }
      if (message.said) this.said = message.said;
      message.passes?.forEach((told, i) => this.arm(i).takePasses(told));
      if (message.now) this.takeNow(message.now);
      this.dirty = true;
    },
    arm(i) {
      return (this.arms[i] ??= new Arm(this.shape));
    },
    takeNow(now) {
      now.arms.forEach((told, i) => this.arm(i).takeNow(told));
      this.beat = now.beat ?? null;
      const at = performance.now();
      if (at - this.numbered > NUMBER_MS) {
        this.numbered = at;
        this.numbers = now.arms.map(({ f }) => [this.format(f, this.unit), this.format(f, this.beside)]);
      }
    },
    format(force, unit) {
      if (force === null || force === undefined) return "–";
      const value = force / unit.newtons;
      return value.toFixed(unit.decimals).replace("-", "−").replace(/^−(0(\.0+)?)$/, "$1");
    },
    draw() {
      this.dirty = false;
      this.frames += 1;
      const common = {
        strongest: Math.max(0, ...this.arms.map((arm) => arm.strongest)),
        furthest: Math.max(0, ...this.arms.map((arm) => arm.furthest)),
        beat: this.beat,
        unit: this.unit,
      };
      this.canvases.forEach((canvas, i) => {
        if (!canvas) return;
        const arm = this.arm(i);
        canvas.dataset.frames = this.frames;
        canvas.dataset.passes = arm.passes.length;
        canvas.dataset.time = arm.now.t ?? "";
        arm.draw(sized(canvas), colours(canvas), common);
      });
      this.covers.forEach((cover, i) => {
        if (cover) drawCoverage(sized(cover), colours(cover), this.said.arms?.[i]?.coverage ?? []);
      });
    },
    // An element that is drawn on: looked after for as long as it is there.
    drawnOn(list, i) {
      return (element) => {
        if (element && element !== list[i]) {
          this.watcher.observe(element);
          this.dirty = true;
        }
        list[i] = element;
      };
    },
    parts(i) {
      const said = this.said.arms?.[i] ?? {};
      const [number, second] = this.live ? (this.numbers[i] ?? ["–", ""]) : ["–", ""];
      return [
        h("div", { class: "figures" }, [
          h("p", { class: "force" }, [h("b", number), h("span", this.unit.name)]),
          h("p", { class: "second" }, second && second !== "–" ? `${second} ${this.beside.name}` : ""),
          h("p", { class: "place" }, said.place ?? ""),
        ]),
        h("canvas", { ref: this.drawnOn(this.canvases, i), class: "board", role: "img", "aria-label": said.alt ?? this.words.board }),
        h("div", { class: "covered", hidden: !said.coverage }, [
          h("p", this.words.coverage),
          h("div", { class: "rows" }, [
            h("span", { class: "small" }, [h("span", this.words.up), h("span", this.words.down)]),
            h("canvas", { ref: this.drawnOn(this.covers, i), role: "img", "aria-label": said.coverageText ?? this.words.coverage }),
          ]),
        ]),
      ];
    },
    both(arms) {
      return h("div", { class: "arms" }, arms.map(({ side }, i) =>
        h("section", { class: "arm", "aria-label": side, key: side }, [h("h2", { class: "side" }, side), ...this.parts(i)]),
      ));
    },
  },
  render() {
    const said = this.said;
    const lines = (key) =>
      h("ul", { class: key }, (said[key] ?? []).map((text) => h("li", text)));
    const asked = this.live ? (said.headline ?? "") : this.words.lost;
    // What takes long to say is set smaller, so that the curve below it stays in view.
    const headline = h("p", { class: asked.length > LONG ? "headline long" : "headline", role: said.stop ? "alert" : "status" }, asked);
    if (said.idle) {
      return h("div", { class: "stage idle", id: this.id }, [headline, h("a", { class: "act main", href: "/" }, this.words.toStart)]);
    }
    const arms = said.arms ?? [];
    return h("div", { class: ["stage", { stopped: said.stop, pair: arms.length > 1 }], id: this.id }, [
      headline,
      ...(arms.length > 1 ? [this.both(arms)] : this.parts(0)),
      h("div", { class: "remarks" }, [h("div", { role: "status" }, [lines("enough")]), lines("wrong"), lines("sensors")]),
    ]);
  },
};
