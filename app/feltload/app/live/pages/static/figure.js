// A figure of a report inside a page: one drawing for a wide screen, one for a phone, its caption and its numbers.
const { h } = Vue;

export default {
  props: { wide: String, narrow: String, caption: String, numbers: Object, id: String },
  data() {
    return { opened: false };
  },
  methods: {
    table({ label, heads, rows }) {
      const row = (cells) => h("tr", cells.map((text, at) => h(at ? "td" : "th", { scope: at ? null : "row" }, text)));
      return h("div", { class: "scrolled", tabindex: 0, role: "group", "aria-label": label }, [
        h("table", [
          h("thead", h("tr", heads.map((text) => h("th", { scope: "col" }, text)))),
          h("tbody", rows.map(row)),
        ]),
      ]);
    },
  },
  render() {
    const drawn = (name, svg) => h("div", { class: `drawn ${name}`, innerHTML: svg });
    const toggled = (event) => { this.opened = event.target.open; };
    return h("figure", { class: "paper", id: this.id }, [
      drawn("wide", this.wide),
      drawn("narrow", this.narrow),
      h("figcaption", this.caption),
      this.numbers && h("details", { class: "numbers", onToggle: toggled }, [
        h("summary", this.numbers.label),
        this.opened ? this.table(this.numbers) : null,
      ]),
    ]);
  },
};
