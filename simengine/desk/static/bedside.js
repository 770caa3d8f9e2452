/**
 * The bedside display: the clock, and what the team has looked for, as dated sentences.
 */

/** @typedef {import("./types.js").BedsideView} BedsideView */
/** @typedef {import("./types.js").BedsideLine} Line */

import { Awake } from "./awake.js";
import { ServerClock } from "./clock.js";
import { drawCot } from "./cot.js";
import { byId, keep, make, part, put, say } from "./dom.js";
import { Marks } from "./marks.js";
import { Sound } from "./sound.js";
import { Stream } from "./stream.js";
import { clockText } from "./times.js";
import { filled } from "./words.js";

const TICK_MS = 200;

class Bedside {
  constructor() {
    const { view, stream } = document.body.dataset;
    /** @type {BedsideView} */
    this.view = JSON.parse(view ?? "");
    this.clock = new ServerClock("/time");
    this.clock.roughly(this.view.now.opened_at_ms + this.view.now.log_ms);
    this.clock.keepAsking();
    this.sound = new Sound();
    this.marks = new Marks(this.sound);
    this.awake = new Awake();
    this.bindSound();
    this.draw();
    new Stream(
      stream ?? "",
      (next) => this.take(next),
      (up) => (byId("link").hidden = up),
    );
    setInterval(() => this.draw(), TICK_MS);
  }

  /** @param {BedsideView} view */
  take(view) {
    if (view.version < this.view.version) return;
    this.view = view;
    this.draw();
  }

  bindSound() {
    const tones = byId("tones");
    put(tones, "aria-pressed", String(!this.sound.muted));
    tones.addEventListener("click", () => put(tones, "aria-pressed", String(!this.sound.turn())));
  }

  /** @returns {number} scenario time now, ms */
  now() {
    const { opened_at_ms: opened, log_ms: log, scenario_ms: scenario, runs } = this.view.now;
    return runs ? scenario + (this.clock.now() - opened - log) : scenario;
  }

  draw() {
    const { view } = this;
    this.awake.follow(view.started && !view.closed);
    const now = this.now();
    byId("blank").hidden = view.closed !== "safety stop" && view.cot === null;
    drawCot(view.cot);
    const { zero_ms: zero, words } = view.clock;
    say(byId("time"), clockText(zero === null ? 0 : now - zero));
    byId("tones").hidden = view.clock.silent;
    byId("quiet").hidden = view.clock.silent || this.sound.context !== null;
    const mark = this.marks.now(view.clock, now);
    byId("bedside-clock").classList.toggle("marked", mark !== null);
    say(byId("about"), this.about(zero, words, mark?.words ?? null));
    const large = view.lines.filter((line) => line.large).length;
    const rows = view.lines.length + 0.6 * large + (view.equipment.length > 0 ? 1 : 0);
    byId("signs").style.setProperty("--lines", String(Math.max(1, rows)));
    keep(
      byId("signs"),
      view.lines,
      ({ observation }) => observation,
      () => make("li", {}, make("span"), make("span", { class: "how" })),
      (element, line) => drawLine(element, line, now),
    );
    keep(
      byId("equipment"),
      view.equipment,
      (line) => line,
      (line) => make("li", {}, line),
      () => undefined,
    );
  }

  /**
   * @param {number | null} zero
   * @param {string} words
   * @param {string | null} mark
   * @returns {string}
   */
  about(zero, words, mark) {
    const { view } = this;
    if (view.closed) return `${words} · this session is over`;
    if (!view.started) return "not started yet";
    if (view.now.paused) return `${words} · paused`;
    if (zero === null) return "the clock has not started";
    return mark ? `${words} · ${mark}` : words;
  }
}

/**
 * @param {HTMLElement} element
 * @param {Line} line
 * @param {number} now
 */
function drawLine(element, { what, when, taken, large, old }, now) {
  element.classList.toggle("large", large);
  element.classList.toggle("old", old);
  const value = part(element, "span");
  say(value, filled(what, now));
  put(value, "class", taken ? "said" : "not-taken");
  say(part(element, ".how"), when ? filled(when, now) : "");
}

new Bedside();
