/**
 * Gauges and the manometer: a pointer on a scale, in ink, with its figure in words beside it.
 *
 * Rules of this file:
 * - A needle that breaths move is moved by the page, from the figures that the server gave: it is
 *   not asked anew for each breath. The words tell both ends and change with the dials alone.
 * - Who asked their device for less motion sees both ends, and nothing that moves.
 * - How fast a needle rises and falls is a drawing's, no figure of a source.
 */

/** @typedef {import("./rehearsal_types.js").Needle} Needle */

import { make, part, put, say } from "./dom.js";
import { unitText } from "./times.js";

const SVG = "http://www.w3.org/2000/svg";
const SWEEP_DEG = 240;
const TICKS = 8;
const FOLLOWS_MS = 60;

/** @returns {HTMLElement} a gauge with nothing on it yet */
export function gauge() {
  return make("figure", { class: "gauge" }, make("figcaption"));
}

export class Gauges {
  /** @param {() => number} now scenario time, ms */
  constructor(now) {
    this.now = now;
    this.still = matchMedia("(prefers-reduced-motion: reduce)");
    this.still.addEventListener("change", () => this.turn());
    /** @type {Map<HTMLElement, Needle>} */
    this.drawn = new Map();
    this.frame = 0;
  }

  /**
   * @param {HTMLElement} figure
   * @param {string} label
   * @param {Needle} needle
   */
  draw(figure, label, needle) {
    say(part(figure, "figcaption"), `${label}: ${unitText(needle.words)}`);
    let svg = figure.querySelector("svg");
    if (!svg || svg.dataset.scale !== `${needle.least} ${needle.most}`) {
      svg?.remove();
      svg = scaleOf(needle);
      figure.prepend(svg);
    }
    this.drawn.set(figure, needle);
    this.turn();
  }

  /** Turn every pointer to where it is now, and go on while one of them moves. */
  turn() {
    cancelAnimationFrame(this.frame);
    let moves = false;
    for (const [figure, needle] of this.drawn) {
      if (!figure.isConnected) this.drawn.delete(figure);
      else if (figure.checkVisibility()) {
        const still = this.still.matches || needle.swing === null;
        moves ||= !still;
        const svg = /** @type {SVGSVGElement} */ (figure.querySelector("svg"));
        point(svg, ".pointer", needle, still ? needle.figure : swungTo(needle, this.now()));
        point(svg, ".far", needle, still ? (needle.swing?.figure ?? needle.figure) : needle.figure);
        put(lineOf(svg, ".far"), "visibility", still && needle.swing ? "visible" : "hidden");
      }
    }
    if (moves) this.frame = requestAnimationFrame(() => this.turn());
  }
}

/**
 * @param {Needle} needle
 * @param {number} now scenario time, ms
 * @returns {number} where a needle is that follows breaths
 */
function swungTo({ figure, swing }, now) {
  if (!swing) return figure;
  const at = Math.max(0, now - swing.since_ms) % swing.every_ms;
  const reach = swing.figure - figure;
  if (at < swing.held_ms) return figure + reach * (1 - Math.exp(-at / FOLLOWS_MS));
  return figure + reach * Math.exp(-(at - swing.held_ms) / FOLLOWS_MS);
}

/**
 * @param {SVGSVGElement} svg
 * @param {string} selector
 * @param {Needle} needle
 * @param {number} figure
 */
function point(svg, selector, { least, most }, figure) {
  const turned = ((figure - least) / (most - least || 1) - 0.5) * SWEEP_DEG;
  put(lineOf(svg, selector), "transform", `rotate(${turned.toFixed(1)} 70 70)`);
}

/**
 * @param {SVGSVGElement} svg
 * @param {string} selector
 * @returns {Element}
 */
function lineOf(svg, selector) {
  return /** @type {Element} */ (svg.querySelector(selector));
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
    drawn("line", { x1: "70", x2: "70", y1: "78", y2: "27", class: "far" }),
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
