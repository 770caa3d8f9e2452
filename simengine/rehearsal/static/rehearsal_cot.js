/**
 * The cot, place by place: a touch looks at a part, and what can be done to it stands below.
 *
 * Rules of this file:
 * - A part shows nothing before it was looked at, not even what can be done to it; then what it
 *   shows now.
 */

/** @typedef {import("./rehearsal_types.js").CotPart} CotPart */
/** @typedef {import("./rehearsal_types.js").CotPlace} CotPlace */
/** @typedef {import("./rehearsal_types.js").CotShown} CotShown */
/** @typedef {import("./rehearsal_gauge.js").Gauges} Gauges */
/** @typedef {(part: string, control: string, value: unknown) => Promise<void>} Work */
/** @typedef {(key: string, places?: Record<string, string>) => string} Word */

import { keep, make, part as within, put, say } from "./dom.js";
import { gauge } from "./rehearsal_gauge.js";
import { drawHandle, handleOf } from "./rehearsal_handle.js";
import { unitText } from "./times.js";

export class CotPanel {
  /**
   * @param {readonly CotPlace[]} places
   * @param {Work} work
   * @param {Word} word
   * @param {Gauges} gauges
   */
  constructor(places, work, word, gauges) {
    this.work = work;
    this.word = word;
    this.gauges = gauges;
    this.open = "";
    /** @type {Map<string, CotPart>} */
    this.parts = new Map();
    this.panel = make("div", { class: "cot" });
    for (const place of places) {
      const list = make("div", { class: "parts" });
      for (const shown of place.parts) {
        this.parts.set(shown.name, shown);
        list.append(this.partOf(shown));
      }
      this.panel.append(make("h3", {}, place.label), list);
    }
  }

  /**
   * @param {CotPart} part
   * @returns {HTMLElement}
   */
  partOf(part) {
    const button = make(
      "button",
      { type: "button", class: "look", "aria-expanded": "false" },
      part.label,
    );
    button.addEventListener("click", () => {
      if (this.open === part.name) this.show("");
      else {
        this.show(part.name);
        void this.work(part.name, "look", null);
      }
    });
    const body = make(
      "div",
      { class: "part-body", role: "region", "aria-label": part.label, hidden: true },
      make("p", { class: "shows" }),
      make("div", { class: "needles" }),
      make("div", { class: "handles" }),
    );
    return make("div", { class: "part", "data-part": part.name }, button, body);
  }

  /** @param {string} name the part that is looked at; empty for none */
  show(name) {
    this.open = name;
    for (const box of this.panel.querySelectorAll("[data-part]")) {
      const here = box.getAttribute("data-part") === name;
      put(within(box, ".look"), "aria-expanded", String(here));
      within(box, ".part-body").hidden = !here;
    }
  }

  /** @param {CotShown | null} shown */
  draw(shown) {
    const box = this.panel.querySelector(`[data-part="${this.open}"]`);
    if (!box || !shown || shown.part !== this.open) return;
    say(within(box, ".shows"), unitText(shown.words));
    keep(
      within(box, ".needles"),
      shown.needles,
      ({ label, unit }) => `${label} ${unit}`,
      gauge,
      (figure, needle) => this.gauges.draw(figure, needle.label || this.word("manometer"), needle),
      false, // so that it is on the page when its pointer is drawn
    );
    const part = this.parts.get(this.open);
    if (!part) return;
    keep(
      within(box, ".handles"),
      shown.handles,
      ({ name }) => name,
      (handle) =>
        handleOf(handle, this.word, (value) => void this.work(part.name, handle.name, value)),
      () => undefined,
    );
    for (const handle of shown.handles) {
      const stands = shown.stands[handle.name];
      const at = box.querySelector(`[data-handle="${handle.name}"]`);
      if (at && stands !== undefined) drawHandle(at, handle, stands, this.word);
    }
  }
}
