// The side view of a machine that is being described: on its start stop, and through its travel.
import { colours, drawMachine, line, reach, sized, viewOf } from "/assets/drawing.js";

const { h } = Vue;
const SHOWN_RAD = (80 * Math.PI) / 180;

export default {
  props: { geometry: Object, label: String, id: String },
  watch: {
    geometry() {
      this.$nextTick(() => this.draw());
    },
  },
  mounted() {
    this.watcher = new ResizeObserver(() => this.draw());
    this.watcher.observe(this.$refs.canvas);
    this.scheme = matchMedia("(prefers-color-scheme: dark)");
    this.redraw = () => this.draw();
    this.scheme.addEventListener("change", this.redraw);
    this.draw();
  },
  beforeUnmount() {
    this.watcher.disconnect();
    this.scheme.removeEventListener("change", this.redraw);
  },
  methods: {
    draw() {
      const canvas = this.$refs.canvas;
      if (!canvas || !this.geometry) return;
      const { ink, width, height } = sized(canvas);
      const paint = colours(canvas);
      const view = viewOf(reach(this.geometry, SHOWN_RAD), width, height);
      const last = this.geometry.q_rad.length - 1;
      const most = Math.min(SHOWN_RAD, this.geometry.q_rad[last]);
      for (let i = 4; i >= 1; i -= 1) drawMachine(ink, this.geometry, view, (most * i) / 4, paint, { faint: true });
      if (this.geometry.handle) {
        ink.strokeStyle = paint.up;
        ink.lineWidth = 2;
        line(ink, this.geometry.handle.filter((_, i) => this.geometry.q_rad[i] <= most + 1e-9), view);
      }
      drawMachine(ink, this.geometry, view, 0, paint);
    },
  },
  render() {
    const said = this.label ? { role: "img", "aria-label": this.label } : { "aria-hidden": "true" };
    return h("canvas", { ref: "canvas", class: "sketch", id: this.id, ...said });
  },
};
