// One line to type, or a choice: label, hint, and what is wrong with it.
const { h } = Vue;
const QUIET_MS = 180;

export default {
  props: { label: String, value: String, hint: String, trouble: String, keyboard: String, choices: Array, id: String },
  emits: ["typed"],
  data() {
    return { now: this.value ?? "", timer: 0 };
  },
  watch: {
    value(given) {
      this.now = given;
    },
  },
  methods: {
    take(text, wait) {
      this.now = text;
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.$emit("typed", text), wait);
    },
  },
  render() {
    const id = `${this.id}-field`;
    const common = {
      id,
      "aria-describedby": `${id}-hint ${id}-trouble`,
      "aria-invalid": this.trouble ? "true" : "false",
    };
    const box = this.choices?.length
      ? h(
          "select",
          { ...common, value: this.now, onChange: (e) => this.take(e.target.value, 0) },
          this.choices.map(([value, label]) => h("option", { value, selected: value === this.now }, label)),
        )
      : h("input", {
          ...common,
          type: "text",
          value: this.now,
          inputmode: this.keyboard,
          autocomplete: "off",
          autocapitalize: "off",
          spellcheck: "false",
          onInput: (e) => this.take(e.target.value, QUIET_MS),
          onChange: (e) => this.take(e.target.value, 0),
        });
    return h("div", { class: "field", id: this.id }, [
      h("label", { for: id }, this.label),
      box,
      h("p", { class: "hint", id: `${id}-hint` }, this.hint ?? ""),
      h("p", { class: "trouble", id: `${id}-trouble`, role: "alert" }, this.trouble ?? ""),
    ]);
  },
};
