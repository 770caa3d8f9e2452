/**
 * The session on one clock, drawn large enough to be read across a room.
 *
 * Rules of this file:
 * - States above, curves under them, what lasted under these; no verdict on anything.
 * - Solid is what the team could read, dashed what it could not know, a ring a single reading.
 * - What stands here is drawn once; the cursor alone moves.
 */

/** @typedef {import("./room_types.js").Content} Content */
/** @typedef {import("./room_types.js").Line} Line */
/** @typedef {import("./room_types.js").Points} Points */

import { clockText } from "./times.js";

const WIDE = 1000;
const LEFT = 168;
const RIGHT = 22;
const STATES = 46;
const CURVE = 168;
const LASTING = 34;
const AXIS = 40;
const GAP = 14;
const MOST_LASTING = 4;
const LETTER = 11.5;
const NAMESPACE = "http://www.w3.org/2000/svg";

/**
 * @param {string} tag
 * @param {Record<string, string | number>} attributes
 * @param {string} [text]
 * @returns {SVGElement}
 */
function draw(tag, attributes, text = "") {
  const element = document.createElementNS(NAMESPACE, tag);
  for (const [name, value] of Object.entries(attributes)) {
    element.setAttribute(name, String(value));
  }
  if (text !== "") element.textContent = text;
  return element;
}

export class Picture {
  /**
   * @param {HTMLElement} host
   * @param {Content} content
   * @param {Points[]} [others] each curve as it would have gone
   */
  constructor(host, content, others = []) {
    this.content = content;
    const lasting = byWords(content.lasting).slice(0, MOST_LASTING);
    const high =
      STATES + content.lines.length * (CURVE + GAP) + GAP + lasting.length * LASTING + AXIS;
    this.svg = draw("svg", { viewBox: `0 0 ${WIDE} ${high}`, role: "img", "aria-label": content.alt });
    this.drawStates(high);
    let top = STATES + GAP;
    content.lines.forEach((line, number) => {
      this.drawLine(line, top, others[number] ?? []);
      top += CURVE + GAP;
    });
    for (const stretches of lasting) {
      this.drawLasting(stretches, top);
      top += LASTING;
    }
    this.drawAxis(top);
    this.cursor = draw("line", { class: "cursor", y1: 0, y2: top });
    this.svg.append(this.cursor);
    this.drawStops(top);
    host.replaceChildren(this.svg);
  }

  /** @param {number} at @returns {number} */
  x(at) {
    const { start_ms: start, end_ms: end } = this.content;
    return LEFT + ((at - start) / Math.max(1, end - start)) * (WIDE - LEFT - RIGHT);
  }

  /** @param {number} at the instant that the cursor stands at */
  show(at) {
    const now = this.content.states.findLastIndex(({ at_ms: begun }) => begun <= at);
    this.svg.querySelectorAll(".stay").forEach((stay, number) => {
      stay.classList.toggle("now", number === now);
    });
    const x = this.x(at).toFixed(1);
    this.cursor.setAttribute("x1", x);
    this.cursor.setAttribute("x2", x);
  }

  /** @param {number} high */
  drawStates(high) {
    this.content.states.forEach(({ at_ms: at, until_ms: until, title, trend }, number) => {
      const [x, wide] = [this.x(at), this.x(until) - this.x(at)];
      const kind = `stay ${trend} ${number % 2 ? "odd" : "even"}`;
      this.svg.append(draw("rect", { class: kind, x, y: 0, width: wide, height: STATES }));
      const letters = Math.floor((wide - 10) / LETTER);
      if (title.length <= letters) {
        this.svg.append(draw("text", { class: "name", x: x + 6, y: 30 }, title));
      }
      if (!number) return;
      const edge = { class: "edge", x1: x, x2: x, y1: STATES, y2: high - AXIS };
      this.svg.append(draw("line", edge));
    });
  }

  /** @param {Line} line @param {number} top @param {Points} other */
  drawLine(line, top, other) {
    const values = [
      ...line.pieces.flatMap(([, points]) => points),
      ...line.readings,
      ...other,
    ].map(([, value]) => value);
    const low = Math.min(...values, ...line.levels) - 4;
    const high = Math.max(...values, ...line.levels) + 4;
    /** @param {number} value */
    const y = (value) => top + CURVE - ((value - low) / (high - low)) * CURVE;
    /** @param {Points} points */
    const path = (points) =>
      points.map(([at, value]) => `${this.x(at).toFixed(1)},${y(value).toFixed(1)}`).join(" ");
    this.svg.append(draw("rect", { class: "panel", x: LEFT, y: top, width: WIDE - LEFT - RIGHT, height: CURVE }));
    this.svg.append(draw("text", { class: "label", x: 0, y: top + 26 }, line.label.split(",")[0] ?? ""));
    this.svg.append(draw("text", { class: "unit", x: 0, y: top + 52 }, line.unit));
    for (const level of line.levels) {
      const place = y(level);
      this.svg.append(draw("line", { class: "level", x1: LEFT, x2: WIDE - RIGHT, y1: place, y2: place }));
      this.svg.append(
        draw("text", { class: "figure", x: LEFT - 8, y: place + 7, "text-anchor": "end" }, String(level)),
      );
    }
    for (const [known, points] of line.pieces) {
      this.svg.append(draw("polyline", { class: known ? "known" : "unknown", points: path(points) }));
    }
    if (other.length) this.svg.append(draw("polyline", { class: "other", points: path(other) }));
    for (const [at, value] of line.readings) {
      this.svg.append(draw("circle", { class: "reading", cx: this.x(at), cy: y(value), r: 7 }));
    }
  }

  /** @param {Content["lasting"]} stretches of one thing @param {number} top */
  drawLasting(stretches, top) {
    for (const { at_ms: at, until_ms: until } of stretches) {
      const [x, wide] = [this.x(at), Math.max(4, this.x(until) - this.x(at))];
      const box = { x, y: top + 4, width: wide, height: LASTING - 8, rx: 5 };
      this.svg.append(draw("rect", { class: "lasting", ...box }));
    }
    const [first] = stretches;
    if (!first) return;
    const x = this.x(first.at_ms) + 8;
    const fits = first.words.length * LETTER < WIDE - RIGHT - x;
    const place = fits ? x : WIDE - RIGHT - 8;
    const anchor = fits ? "start" : "end";
    const at = { class: "what", x: place, y: top + 24, "text-anchor": anchor };
    this.svg.append(draw("text", at, first.words));
  }

  /** @param {number} top */
  drawAxis(top) {
    const { start_ms: start, end_ms: end } = this.content;
    const steps = [30_000, 60_000, 120_000, 300_000, 600_000];
    const step = steps.find((step_ms) => (end - start) / step_ms <= 9) ?? 1_200_000;
    for (let at = Math.ceil(start / step) * step; at <= end; at += step) {
      const x = this.x(at);
      this.svg.append(draw("line", { class: "tick", x1: x, x2: x, y1: top, y2: top + 8 }));
      this.svg.append(draw("text", { class: "figure", x, y: top + 32, "text-anchor": "middle" }, clockText(at)));
    }
  }

  /** @param {number} top */
  drawStops(top) {
    for (const { at_ms: at } of this.content.stops) {
      const x = this.x(at);
      this.svg.append(
        draw("path", { class: "stop", d: `M${x - 9},${top + 14} L${x + 9},${top + 14} L${x},${top} Z` }),
      );
    }
  }
}

/**
 * What lasted, together by what it was, in order of the first time.
 *
 * @param {Content["lasting"]} lasting
 * @returns {Content["lasting"][]}
 */
function byWords(lasting) {
  /** @type {Map<string, Content["lasting"]>} */
  const together = new Map();
  for (const lasted of lasting) together.set(lasted.words, [...(together.get(lasted.words) ?? []), lasted]);
  return [...together.values()];
}
