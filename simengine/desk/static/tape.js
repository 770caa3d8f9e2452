/**
 * The record as a tape of time: the last entries at their instants.
 *
 * Rules of this file:
 * - Labels never overlap: a label keeps its row, and is shortened where the next in its row
 *   begins, but never to less than can be read. The newest stays whole.
 * - Entries for which no readable label is left stand in one that counts them and opens them.
 * - An entry can be slid to another instant; the same is done by its buttons and by keys.
 */

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {{ id: string, at: number, words: string, waits: boolean, movable: boolean,
 *   lasting: boolean }} Label */
/** @typedef {{ id: string, left: number, row: number, labels: Label[] }} Crowd several entries in
 *   one label; `id`: its newest entry's */

import { keep, make, part, put, say } from "./dom.js";
import { clockText, unitText } from "./times.js";

const WINDOW_MS = 75_000;
const NOW_PLACE = 0.9;
const TICK_MS = 15_000;
const EDGE_MS = 1_600; // a tick's figures need this much before the right end
const ROWS = 2;
const ROW_PX = 44;
/** A label is so much lower than what can be touched of it, px. */
const PAD_PX = 9;
const FLOOR_PX = 20;
const LONGEST_PX = 210;
const LEAST_PX = 88;
const DRIFT_PX = 100;
const GAP_PX = 4;
const LONG_WORDS = 30;
const TELLING_WORDS = 8;
const SLID_PX = 6;

export class Tape {
  /**
   * @param {HTMLElement} root
   * @param {import("./desk.js").Desk} desk
   * @param {(id: string) => void} onOpen
   * @param {(ids: string[]) => void} onCrowd
   */
  constructor(root, desk, onOpen, onCrowd) {
    this.root = root;
    this.desk = desk;
    this.onOpen = onOpen;
    this.onCrowd = onCrowd;
    this.ticks = make("div");
    this.stems = make("div");
    this.labels = make("div");
    this.crowds = make("div");
    this.line = make("div", { class: "tape-line" });
    this.nowLine = make("div", { class: "tape-now" });
    root.replaceChildren(this.line, this.ticks, this.stems, this.nowLine, this.crowds, this.labels);
    /** @type {Map<string, number>} */
    this.rows = new Map();
    this.rowCount = ROWS;
    /** How wide and high the tape is, px: told when that changes, lest the page be laid out at each
     *  tick. */
    this.width = 0;
    this.height = 0;
    new ResizeObserver(() => this.measure()).observe(root);
    /** @type {Map<string, number>} natural widths by words, px */
    this.widths = new Map();
    /** @type {{ id: string, from: number, px: number } | null} */
    this.slide = null;
  }

  /** @returns {number} px of one ms */
  get scale() {
    return this.width / WINDOW_MS;
  }

  /** @returns {Label[]} by time */
  entries() {
    const { recorder, view } = this.desk;
    const gone = new Set(recorder.withdrawals());
    /** @type {Label[]} */
    const labels = [];
    for (const entry of view.tape) {
      if (entry.removed || gone.has(entry.id)) continue;
      const moved = recorder.moved.get(entry.id);
      labels.push({
        id: entry.id,
        at: moved === undefined ? entry.at_ms : recorder.scenario(moved),
        words: shortWords(entry.words),
        waits: moved !== undefined,
        movable: entry.can_move,
        lasting: entry.phase === "start",
      });
    }
    const stored = new Set(view.tape.map(({ id }) => id));
    for (const { id, kind, data, at_ms } of recorder.pending) {
      if (stored.has(id) || gone.has(id) || kind === "amend") continue;
      const moved = recorder.moved.get(id) ?? at_ms;
      labels.push({
        id,
        at: recorder.scenario(moved),
        words: this.pendingWords(kind, data),
        waits: true,
        movable: true,
        lasting: data.phase === "start",
      });
    }
    return labels.sort((first, other) => first.at - other.at);
  }

  /**
   * @param {string} kind
   * @param {Record<string, any>} data
   * @returns {string}
   */
  pendingWords(kind, data) {
    const { actions, settings } = this.desk.view;
    if (kind === "action") {
      const label = actions[data.action]?.label ?? data.action;
      return data.phase === "stop" ? `${label}: end` : label;
    }
    if (kind === "set") return `${settings[data.setting]?.label ?? data.setting} ${data.value}`;
    return data.text ?? data.name ?? kind;
  }

  measure() {
    this.width = this.root.clientWidth;
    this.height = this.root.clientHeight;
  }

  tick() {
    if (this.width === 0) return;
    this.countRows();
    const now = this.desk.recorder.now();
    const zero = this.desk.view.clock.zero_ms ?? 0;
    const left = now - WINDOW_MS * NOW_PLACE;
    const x = (/** @type {number} */ at) => (at - left) * this.scale;
    this.nowLine.style.left = `${x(now)}px`;
    this.drawTicks(left - zero, zero, x);
    const labels = this.entries().filter(
      ({ at }) => at > left - WINDOW_MS / 2 && at <= now + 5_000,
    );
    this.drawLabels(labels, x);
  }

  /**
   * @param {number} left the clock's time at the left end
   * @param {number} zero
   * @param {(at: number) => number} x
   */
  drawTicks(left, zero, x) {
    const times = [];
    const end = left + WINDOW_MS - EDGE_MS;
    for (let at = Math.ceil(left / TICK_MS) * TICK_MS; at < end; at += TICK_MS) {
      if (at + zero >= 0) times.push(at);
    }
    keep(
      this.ticks,
      times,
      String,
      (at) => make("span", { class: "tape-tick" }, clockText(at)),
      (element, at) => {
        element.style.left = `${x(at + zero)}px`;
      },
    );
  }

  /**
   * @param {Label[]} labels
   * @param {(at: number) => number} x
   */
  drawLabels(labels, x) {
    const { places, crowds } = this.place(labels, x);
    const rowTop = (/** @type {string} */ id) => FLOOR_PX + 2 + (this.rows.get(id) ?? 0) * ROW_PX;
    this.drawCrowds(crowds);
    keep(
      this.stems,
      labels,
      ({ id }) => id,
      () => make("div", { class: "tape-stem" }),
      (stem, { id, at }) => {
        stem.style.left = `${x(at)}px`;
        stem.style.height = `${rowTop(id) - FLOOR_PX + 8}px`;
      },
    );
    keep(
      this.labels,
      labels.filter(({ id }) => places.has(id)),
      ({ id }) => id,
      (label) => this.create(label),
      (element, label) => {
        const chip = element.firstElementChild;
        if (chip instanceof HTMLElement) {
          say(chip, label.words);
          put(
            chip,
            "class",
            `tape-chip${label.lasting ? " running" : ""}${label.waits ? " waiting" : ""}`,
          );
        }
        put(element, "title", label.words);
        element.style.left = `${places.get(label.id)?.left ?? 0}px`;
        element.style.bottom = `${rowTop(label.id)}px`;
        element.style.maxWidth = `${places.get(label.id)?.room ?? LONGEST_PX}px`;
      },
    );
  }

  /** @param {Crowd[]} crowds */
  drawCrowds(crowds) {
    keep(
      this.crowds,
      crowds,
      ({ id }) => id,
      () => {
        const chip = make("span", { class: "tape-chip crowd" });
        const element = make("button", { type: "button", class: "tape-entry" }, chip);
        element.addEventListener("click", () => {
          this.onCrowd((element.dataset.ids ?? "").split(" "));
        });
        return element;
      },
      (element, { labels, left, row }) => {
        const words = labels.map((label) => label.words).join("; ");
        say(part(element, ".tape-chip"), crowdWords(labels.length));
        put(element, "title", words);
        put(element, "aria-label", `${crowdWords(labels.length)}: ${words}`);
        put(element, "data-ids", labels.map(({ id }) => id).join(" "));
        element.style.left = `${left}px`;
        element.style.bottom = `${FLOOR_PX + 2 + row * ROW_PX}px`;
      },
    );
  }

  /**
   * Give each label a place: the newest whole, the older ones before it as there is room. Those
   * that would stand too far before their instant, so as to be read, are counted in a crowd.
   *
   * @param {Label[]} labels by time
   * @param {(at: number) => number} x
   * @returns {{ places: Map<string, { left: number, room: number }>, crowds: Crowd[] }}
   */
  place(labels, x) {
    this.chooseRows(labels, x);
    /** @type {Map<string, { left: number, room: number }>} */
    const places = new Map();
    /** @type {Crowd[]} */
    const crowds = [];
    const right = Array(this.rowCount).fill(this.width);
    /** @type {({ crowd: Crowd | null, one: Label, end: number } | null)[]} what a row's crowd so
     *  far is: a lone entry keeps its words, a second makes it a crowd */
    const tight = Array(this.rowCount).fill(null);
    for (const label of labels.toReversed()) {
      const { id, at, words } = label;
      const row = this.rows.get(id) ?? 0;
      const end = (right[row] ?? 0) - GAP_PX;
      const wanted = Math.min(LONGEST_PX, this.widthOf(words));
      const newest = end > this.width - 2 * GAP_PX;
      const instant = x(at) - 8;
      const left = Math.min(instant, end - (newest ? wanted : Math.min(wanted, LEAST_PX)));
      const free = newest || this.slide?.id === id || instant - left <= DRIFT_PX;
      const before = tight[row];
      if (free || !before) {
        places.set(id, { left, room: Math.min(wanted, end - left) });
        right[row] = left;
        tight[row] = free ? null : { crowd: null, one: label, end };
      } else if (before.crowd) {
        before.crowd.labels.unshift(label);
      } else {
        const start = before.end - this.widthOf(crowdWords(10));
        before.crowd = { id: before.one.id, left: start, row, labels: [label, before.one] };
        crowds.push(before.crowd);
        places.delete(before.one.id);
        right[row] = start;
      }
    }
    return { places, crowds };
  }

  /** One row where a low screen has room for no more: a label is never cut in two. */
  countRows() {
    const room = this.height - FLOOR_PX - 2 + PAD_PX;
    const count = Math.min(ROWS, Math.max(1, Math.floor(room / ROW_PX)));
    if (count !== this.rowCount) this.rows.clear();
    this.rowCount = count;
  }

  /**
   * A row for each new label, for good: a free one, else the one that is free soonest.
   *
   * @param {Label[]} labels by time
   * @param {(at: number) => number} x
   */
  chooseRows(labels, x) {
    const ends = Array(this.rowCount).fill(-Infinity);
    for (const { id, at, words } of labels) {
      const left = x(at) - 8;
      let row = this.rows.get(id);
      if (row === undefined) {
        const free = ends.findIndex((end) => end <= left);
        row = free >= 0 ? free : ends.indexOf(Math.min(...ends));
        this.rows.set(id, row);
      }
      ends[row] = left + Math.min(LONGEST_PX, this.widthOf(words)) + GAP_PX;
    }
  }

  /**
   * @param {string} words
   * @returns {number} px
   */
  widthOf(words) {
    const known = this.widths.get(words);
    if (known !== undefined) return known;
    const chip = make("span", { class: "tape-chip" }, words);
    const probe = make("div", { class: "tape-entry" }, chip);
    this.labels.append(probe);
    const width = Math.ceil(probe.getBoundingClientRect().width) + 1;
    probe.remove();
    this.widths.set(words, width);
    return width;
  }

  /**
   * @param {Label} label
   * @returns {HTMLElement}
   */
  create({ id, movable }) {
    const element = make(
      "button",
      { type: "button", class: "tape-entry" },
      make("span", { class: "tape-chip" }),
    );
    element.addEventListener("click", () => {
      if (!this.slide) this.onOpen(id);
    });
    if (movable) this.letSlide(element, id);
    return element;
  }

  /**
   * @param {HTMLElement} element
   * @param {string} id
   */
  letSlide(element, id) {
    let down = 0;
    let start = 0;
    element.addEventListener("pointerdown", (event) => {
      down = event.clientX;
      start = this.desk.recorder.whenOf(id) ?? 0;
      this.slide = null;
      element.setPointerCapture(event.pointerId);
    });
    element.addEventListener("pointermove", (event) => {
      if (!element.hasPointerCapture(event.pointerId)) return;
      const px = event.clientX - down;
      if (!this.slide && Math.abs(px) < SLID_PX) return;
      this.slide = { id, from: start, px };
      const to = Math.max(0, start + Math.round(px / this.scale / 1000) * 1000);
      this.desk.recorder.moved.set(id, to);
      this.tick();
    });
    const end = () => {
      if (!this.slide) return;
      const to = this.desk.recorder.moved.get(id);
      if (to !== undefined) this.desk.moveTo(id, to);
      setTimeout(() => (this.slide = null)); // after the click that ends the slide
    };
    element.addEventListener("pointerup", end);
    element.addEventListener("pointercancel", end);
  }
}

/**
 * @param {number} count
 * @returns {string}
 */
function crowdWords(count) {
  return `${count} more`;
}

/**
 * Words for a label: long ones without what follows the colon, if what is before it says enough.
 *
 * @param {string} words
 * @returns {string}
 */
function shortWords(words) {
  const cut = words.indexOf(": ");
  return unitText(words.length > LONG_WORDS && cut >= TELLING_WORDS ? words.slice(0, cut) : words);
}
