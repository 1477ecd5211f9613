// Hands one file to the device's own way of sharing; not there where the browser cannot share files.
const { h } = Vue;
const TYPE = "text/html";

export default {
  props: { href: String, file: String, label: String, failed: String, id: String },
  data() {
    return { possible: false, trouble: "" };
  },
  mounted() {
    // Browsers offer it on pages alone that came over TLS or from this computer, and not every one shares files.
    const probe = new File(["<!doctype html>"], this.file, { type: TYPE });
    this.possible = Boolean(navigator.canShare?.({ files: [probe] }));
  },
  methods: {
    async share() {
      this.trouble = "";
      try {
        const answer = await fetch(this.href, { credentials: "same-origin" });
        if (!answer.ok) throw new Error(`${answer.status}`);
        const file = new File([await answer.blob()], this.file, { type: TYPE });
        await navigator.share({ files: [file], title: this.file });
      } catch (error) {
        // Who closes the list of where to share to has changed their mind.
        if (error.name !== "AbortError") this.trouble = this.failed;
      }
    },
  },
  render() {
    if (!this.possible) return h("span", { id: this.id, hidden: true });
    return h("div", { id: this.id, class: "share" }, [
      h("button", { class: "act", type: "button", onClick: this.share }, this.label),
      h("p", { class: "trouble", role: "alert" }, this.trouble),
    ]);
  },
};
