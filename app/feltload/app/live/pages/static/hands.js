// A partner's hands: the help planned as an open frame, the help given as a solid mark. It says when it cannot know.
import { colours, sized } from "/assets/drawing.js";
import { Stream, keepAwake } from "/assets/stream.js";

const { h } = Vue;
const LATE_MS = 400;
const SMALLEST_FULL_N = 60;
const NEAR_N = 8;
const BEEP_MS = 260;

export default {
  props: { words: Object, unit: Object, beside: Object, id: String },
  data() {
    return { headline: "", place: "", doubt: "", planned: null, given: null, helped: false, sound: false, vibration: false };
  },
  mounted() {
    this.hands = null;
    this.full = SMALLEST_FULL_N;
    this.moved = 0;
    this.beeped = 0;
    this.withPlan = false;
    this.awake = keepAwake();
    this.canVibrate = "vibrate" in navigator;
    this.stream = new Stream("/stream", (message) => this.take(message));
    const tick = () => {
      this.frame = requestAnimationFrame(tick);
      this.show();
    };
    tick();
  },
  beforeUnmount() {
    cancelAnimationFrame(this.frame);
    this.stream.close();
    this.audio?.close();
    this.awake();
  },
  methods: {
    take(message) {
      if (message.whole) {
        this.hands = null;
        this.helped = false;
        this.withPlan = message.whole.planned ?? false;
      }
      if (message.said) {
        this.headline = message.said.headline;
        this.place = message.said.arms?.[0]?.place ?? "";
        this.helped = message.said.helped ?? false;
      }
      if (message.now) {
        this.hands = message.now.hands ?? null;
        this.moved = performance.now();
      }
    },
    // What may be shown now: a number that is old, or that nobody can know, is none.
    known() {
      if (!this.helped) return { doubt: this.words.noSet };
      if (!this.stream.live) return { doubt: this.words.lost };
      if (!this.hands) return { doubt: this.words.nothing };
      if (performance.now() - this.moved > LATE_MS) return { doubt: this.words.late };
      return { planned: this.hands.planned, given: this.hands.given, u: this.hands.u, doubt: this.hands.doubt ?? "" };
    },
    show() {
      const now = this.known();
      const none = this.withPlan ? this.words.noPlan : this.words.unplanned;
      this.doubt = now.doubt || (this.helped && this.hands && now.planned == null ? none : "");
      this.planned = now.planned ?? null;
      this.given = now.given ?? null;
      for (const value of [this.planned, this.given]) {
        while (value !== null && Math.abs(value) * 1.15 > this.full) this.full *= 1.5;
      }
      this.draw(now);
      this.tell();
    },
    draw(now) {
      const canvas = this.$refs.canvas;
      if (!canvas) return;
      const { ink, width, height } = sized(canvas);
      const paint = colours(canvas);
      const y = (force) => height / 2 - (force / this.full) * (height / 2 - 24);
      ink.font = "700 18px system-ui, sans-serif";
      ink.fillStyle = paint.quiet;
      ink.fillText(`${this.words.help} ↑`, 10, 22);
      ink.fillText(`${this.words.resist} ↓`, 10, height - 10);
      ink.strokeStyle = paint.quiet;
      ink.lineWidth = 2;
      ink.setLineDash([4, 6]);
      ink.beginPath();
      ink.moveTo(0, y(0));
      ink.lineTo(width, y(0));
      ink.stroke();
      ink.setLineDash([]);
      if (this.given !== null) {
        ink.fillStyle = paint.hand;
        if (now.u) {
          ink.globalAlpha = 0.25;
          ink.fillRect(width * 0.2, y(this.given + now.u), width * 0.6, y(this.given - now.u) - y(this.given + now.u));
          ink.globalAlpha = 1;
        }
        ink.fillRect(width * 0.2, y(this.given) - 11, width * 0.6, 22);
        ink.fillRect(width * 0.46, Math.min(y(0), y(this.given)), width * 0.08, Math.abs(y(0) - y(this.given)));
      }
      if (this.planned !== null) {
        ink.strokeStyle = paint.ink;
        ink.lineWidth = 5;
        ink.strokeRect(width * 0.08, y(this.planned) - 24, width * 0.84, 48);
      }
    },
    tell() {
      const at = performance.now();
      if (this.planned === null || this.given === null || at - this.beeped < BEEP_MS) return;
      const off = this.planned - this.given;
      if (Math.abs(off) < NEAR_N) return;
      this.beeped = at;
      if (this.vibration && this.canVibrate) navigator.vibrate(off > 0 ? 120 : [40, 60, 40]);
      if (this.sound && this.audio) this.beep(off > 0);
    },
    beep(more) {
      const now = this.audio.currentTime;
      const tone = this.audio.createOscillator();
      const gain = this.audio.createGain();
      tone.frequency.setValueAtTime(more ? 440 : 660, now);
      tone.frequency.linearRampToValueAtTime(more ? 660 : 440, now + 0.12);
      gain.gain.setValueAtTime(0.25, now);
      gain.gain.linearRampToValueAtTime(0, now + 0.14);
      tone.connect(gain).connect(this.audio.destination);
      tone.start(now);
      tone.stop(now + 0.15);
    },
    toggleSound() {
      this.sound = !this.sound;
      this.audio ??= new AudioContext();
    },
    format(force) {
      if (force === null) return "–";
      return (force / this.unit.newtons).toFixed(this.unit.decimals).replace("-", "−").replace(/^−(0(\.0+)?)$/, "$1");
    },
  },
  render() {
    const figure = (kind, value) =>
      h("p", { class: ["hand", kind] }, [h("span", this.words[kind]), h("b", this.format(value)), h("span", this.unit.name)]);
    const toggle = (name, on, tap) =>
      h("button", { type: "button", class: "act", "aria-pressed": String(on), onClick: tap }, `${on ? "✓ " : ""}${this.words[name]}`);
    return h("div", { class: "hands", id: this.id }, [
      h("p", { class: "headline", role: "status" }, this.headline),
      h("p", { class: "place" }, this.place),
      h("div", { class: "pair" }, [figure("planned", this.planned), figure("given", this.given)]),
      h("canvas", { ref: "canvas", class: "board", role: "img", "aria-label": this.words.drawing }),
      h("p", { class: "trouble", role: "status" }, this.doubt),
      h("div", { class: "row" }, [
        toggle("sound", this.sound, () => this.toggleSound()),
        "vibrate" in navigator ? toggle("vibration", this.vibration, () => (this.vibration = !this.vibration)) : null,
      ]),
      h("p", { class: "small" }, this.words.how),
    ]);
  },
};
