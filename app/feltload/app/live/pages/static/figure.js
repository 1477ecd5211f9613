// A figure of a report inside a page: one drawing for a wide screen, one for a phone, and its caption.
const { h } = Vue;

export default {
  props: { wide: String, narrow: String, caption: String, id: String },
  render() {
    const drawn = (name, svg) => h("div", { class: `drawn ${name}`, innerHTML: svg });
    return h("figure", { class: "paper", id: this.id }, [
      drawn("wide", this.wide),
      drawn("narrow", this.narrow),
      h("figcaption", this.caption),
    ]);
  },
};
