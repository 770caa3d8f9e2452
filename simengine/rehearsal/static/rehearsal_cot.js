/**
 * The cot, place by place: a touch looks at a part, and what can be done to it stands below.
 *
 * Rules of this file:
 * - A part shows nothing before it was looked at, not even what can be done to it; then what it
 *   shows now.
 * - A manometer or a gauge is a pointer on a scale, in ink; its figure stands in words beside it.
 * - A number is turned by steps or typed; what a hand keeps closed stays so until it is touched again.
 */

/** @typedef {import("./rehearsal_types.js").CotPart} CotPart */
/** @typedef {import("./rehearsal_types.js").CotHandle} CotHandle */
/** @typedef {import("./rehearsal_types.js").CotPlace} CotPlace */
/** @typedef {import("./rehearsal_types.js").CotShown} CotShown */
/** @typedef {import("./rehearsal_types.js").Needle} Needle */
/** @typedef {(part: string, control: string, value: unknown) => Promise<void>} Work */
/** @typedef {(key: string, places?: Record<string, string>) => string} Word */

import { keep, make, part as within, put, say } from "./dom.js";
import { showTyped, turnedParts } from "./rehearsal_dial.js";
import { figureText, unitText } from "./times.js";

const SVG = "http://www.w3.org/2000/svg";
const SWEEP_DEG = 240;
const TICKS = 8;
const TURNS = [-5, -1, 1, 5];

export class CotPanel {
  /**
   * @param {readonly CotPlace[]} places
   * @param {Work} work
   * @param {Word} word
   */
  constructor(places, work, word) {
    this.work = work;
    this.word = word;
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

  /**
   * @param {CotPart} part
   * @param {CotHandle} handle
   * @returns {HTMLElement}
   */
  handleOf(part, handle) {
    const work = (/** @type {unknown} */ value) => void this.work(part.name, handle.name, value);
    if (handle.kind === "press") {
      const button = make("button", { type: "button" }, handle.label);
      button.addEventListener("click", () => work(null));
      return button;
    }
    const box = make("fieldset", { class: "dial", "data-handle": handle.name });
    if (handle.kind === "hold") {
      const button = make("button", { type: "button", "aria-pressed": "false" }, handle.label);
      button.dataset.handle = handle.name;
      button.addEventListener("click", () =>
        work(button.getAttribute("aria-pressed") !== "true"),
      );
      return button;
    }
    const row = make("div", { class: "row" });
    box.append(make("legend", {}, handle.label), make("span", { class: "stands" }), row);
    if (handle.kind === "switch") {
      for (const name of handle.words) {
        const button = make("button", { type: "button", "data-value": name }, name);
        put(button, "aria-label", `${handle.label}: ${name}`);
        button.addEventListener("click", () => work(name));
        row.append(button);
      }
    } else if (handle.kind === "turn") {
      for (const by of TURNS) {
        const turned = by * handle.step;
        const size = figureText(Math.abs(turned), "");
        const much = figureText(Math.abs(turned), handle.unit);
        const key = by < 0 ? "turn_down" : "turn_up";
        const button = make("button", { type: "button" }, `${by < 0 ? "−" : "+"}${size}`);
        put(button, "aria-label", this.word(key, { label: handle.label, much }));
        button.addEventListener("click", () => work(turned));
        row.append(button);
      }
      within(box, ".stands").textContent = this.word("turned_by", { unit: unitText(handle.unit) });
    } else {
      row.append(...turnedParts(handle, this.word, work, true).parts);
    }
    return box;
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
      () => make("figure", { class: "gauge" }, make("figcaption")),
      (figure, needle) => {
        const label = needle.label || this.word("manometer");
        say(within(figure, "figcaption"), `${label}: ${unitText(needle.words)}`);
        drawGauge(figure, needle);
      },
    );
    const part = this.parts.get(this.open);
    if (!part) return;
    keep(
      within(box, ".handles"),
      shown.handles,
      ({ name }) => name,
      (handle) => this.handleOf(part, handle),
      () => undefined,
    );
    for (const handle of shown.handles) {
      const stands = shown.stands[handle.name];
      const at = box.querySelector(`[data-handle="${handle.name}"]`);
      if (!at || stands === undefined) continue;
      if (handle.kind === "hold") put(at, "aria-pressed", String(stands === true));
      for (const button of at.querySelectorAll("[data-value]")) {
        put(button, "aria-pressed", String(button.getAttribute("data-value") === stands));
      }
      const typed = at.querySelector("input");
      if (typed && typeof stands === "number") {
        say(within(at, ".stands"), this.word("now", { value: figureText(stands, handle.unit) }));
        showTyped(typed, stands);
      }
    }
  }
}

/**
 * @param {HTMLElement} figure
 * @param {Needle} needle
 */
function drawGauge(figure, needle) {
  let svg = figure.querySelector("svg");
  if (!svg || svg.dataset.scale !== `${needle.least} ${needle.most}`) {
    svg?.remove();
    svg = scaleOf(needle);
    figure.prepend(svg);
  }
  const share = (needle.figure - needle.least) / (needle.most - needle.least || 1);
  const turned = (share - 0.5) * SWEEP_DEG;
  put(/** @type {Element} */ (svg.querySelector(".pointer")), "transform", `rotate(${turned.toFixed(1)} 70 70)`);
}

/**
 * @param {Needle} needle
 * @returns {SVGSVGElement}
 */
function scaleOf(needle) {
  const svg = drawn("svg", { viewBox: "0 0 140 112", "aria-hidden": "true", width: "175", height: "140" });
  svg.dataset.scale = `${needle.least} ${needle.most}`;
  for (let tick = 0; tick <= TICKS; tick += 1) {
    const turned = (tick / TICKS - 0.5) * SWEEP_DEG;
    const long = tick % 2 === 0;
    svg.append(
      drawn("line", {
        x1: "70", x2: "70", y1: "24", y2: long ? "34" : "29",
        class: "tick", transform: `rotate(${turned} 70 70)`,
      }),
    );
    if (!long) continue;
    const angle = ((turned - 90) * Math.PI) / 180;
    const value = needle.least + ((needle.most - needle.least) * tick) / TICKS;
    const text = drawn("text", {
      x: (70 + 57 * Math.cos(angle)).toFixed(1),
      y: (74 + 57 * Math.sin(angle)).toFixed(1),
    });
    text.textContent = String(Number(value.toFixed(0)));
    svg.append(text);
  }
  svg.append(
    drawn("line", { x1: "70", x2: "70", y1: "78", y2: "27", class: "pointer" }),
    drawn("circle", { cx: "70", cy: "70", r: "4", class: "hub" }),
  );
  return /** @type {SVGSVGElement} */ (svg);
}

/**
 * @param {string} tag
 * @param {Record<string, string>} attributes
 * @returns {SVGElement}
 */
function drawn(tag, attributes) {
  const element = /** @type {SVGElement} */ (document.createElementNS(SVG, tag));
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  return element;
}
