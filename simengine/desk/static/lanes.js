/**
 * A lane for each role: who is in it, what they are doing, what is asked of them, what they can do.
 *
 * Rules of this file:
 * - The tiles of a lane stand still. What is waited for or asked now stands in the lane's strip, a
 *   row of places of which there are as many through the whole session.
 * - In the strip a tile keeps its place as long as it stands there; another one takes a place only
 *   when that has been empty, and the screen untouched, for a while, and can be touched a second
 *   after: so nothing ever changes under a finger.
 * - A lane is as high as it needs; where the screen has no room its tiles scroll.
 * - Lanes stand in two columns where there is room for two, and stay in theirs.
 */

/** @typedef {import("./types.js").Lane} Lane */
/** @typedef {import("./types.js").ActionView} ActionView */
/** @typedef {import("./types.js").Tile} Tile */
/** @typedef {{ tile: Tile | null, since: number }} Place what stands in it, since when */

import { sinceTouch, touchStamp } from "./dock.js";
import { make, part, put, say } from "./dom.js";
import { clockText, figureText, leftText, spanText } from "./times.js";

const STILL_MS = 1_000;
const TWO_COLUMNS_FROM = 700;
/** How wide a tile of the strip is at least, px. */
const TILE_PX = 112;
const MOST_IN_A_ROW = 5;
/** How high these are at least: a lane's head with its tiles, a row of its strip, a slim lane. */
const LEAST_PX = 70;
const STRIP_ROW_PX = 60;
const SLIM_PX = 50;
/** A row of tiles with the gap below it, as the style has it, px; and where there is little room. */
const ROW_PX = 65;
const LOW_ROW_PX = 48;

export class Lanes {
  /**
   * @param {HTMLElement} root
   * @param {import("./desk.js").Desk} desk
   * @param {(lane: Lane) => void} onMore
   */
  constructor(root, desk, onMore) {
    this.root = root;
    this.desk = desk;
    this.onMore = onMore;
    /** @type {Map<string, Place[]>} the places of each lane's strip */
    this.places = new Map();
    /** @type {Map<string, HTMLElement>} */
    this.elements = new Map();
    this.columns = 0;
    this.size = "";
    new ResizeObserver(() => this.arrange()).observe(root);
  }

  draw() {
    for (const lane of this.desk.view.lanes) {
      let element = this.elements.get(lane.role);
      if (!element) {
        element = this.createLane(lane);
        this.elements.set(lane.role, element);
      }
      this.updateLane(element, lane);
    }
    if (this.columns === 0) this.arrange();
  }

  /** Times that run, and places of the strips that had to wait. */
  tick() {
    for (const lane of this.desk.view.lanes) {
      const element = this.elements.get(lane.role);
      if (!element) continue;
      this.placeStrip(element, lane);
      this.tickLane(element, lane);
    }
  }

  /** Put the lanes into as many columns as there is room for. */
  arrange() {
    const { clientWidth: width } = this.root;
    const columns = width >= TWO_COLUMNS_FROM ? 2 : 1;
    // on a phone the page scrolls, and is as high as its lanes
    const size = columns === 1 ? String(width) : `${width} ${this.root.clientHeight}`;
    if (size === this.size || this.elements.size === 0) return;
    this.size = size;
    this.columns = columns;
    const { lanes } = this.desk.view;
    const most = Math.min(
      MOST_IN_A_ROW,
      Math.max(1, Math.floor(this.root.clientWidth / columns / TILE_PX)),
    );
    for (const { role, places } of lanes) {
      const rows = Math.ceil(places / most);
      const style = this.elements.get(role)?.style;
      style?.setProperty("--rows", String(rows));
      style?.setProperty("--in-a-row", String(Math.ceil(places / Math.max(1, rows))));
    }
    const heights = lanes.map((lane) =>
      isSlim(lane) ? SLIM_PX : LEAST_PX + Math.ceil(lane.places / most) * STRIP_ROW_PX,
    );
    const halves = columns === 1 ? [lanes] : halved(lanes, heights);
    for (const { style } of this.elements.values()) style.removeProperty("height");
    this.root.replaceChildren(
      ...halves.map((half) =>
        make(
          "div",
          { class: "column" },
          ...half.flatMap(({ role }) => this.elements.get(role) ?? []),
        ),
      ),
    );
    // and so each stays, whatever is added to it: its tiles scroll
    const tall = [...this.elements.values()].map((element) => element.offsetHeight);
    [...this.elements.values()].forEach((element, place) => {
      element.style.height = `${tall[place]}px`;
    });
    if (columns > 1) for (const column of this.root.children) showWholeRows(column);
  }

  /**
   * @param {Lane} lane
   * @returns {HTMLElement}
   */
  createLane(lane) {
    const more = make("button", { type: "button", class: "more" }, "more…");
    put(more, "aria-label", `${lane.label}: more actions`);
    more.addEventListener("click", () => {
      const now = this.desk.view.lanes.find(({ role }) => role === lane.role);
      if (now) this.onMore(now);
    });
    const places = Array.from({ length: lane.places }, () => make("div", { class: "place" }));
    const strip = make(
      "div",
      { class: "strip", role: "group", "aria-label": `${lane.label}: now` },
      ...places,
    );
    strip.hidden = lane.places === 0;
    const element = make(
      "section",
      { class: isSlim(lane) ? "lane slim" : "lane", "aria-label": lane.label },
      make(
        "div",
        { class: "lane-head" },
        make("h2", {}, lane.label),
        make("span", { class: "who" }),
        make("span", { class: "doing" }),
      ),
      strip,
      make("div", { class: "tiles" }, more),
    );
    this.places.set(
      lane.role,
      places.map(() => ({ tile: null, since: -STILL_MS })),
    );
    return element;
  }

  /**
   * @param {HTMLElement} element
   * @param {Lane} lane
   */
  updateLane(element, lane) {
    const tiles = part(element, ".tiles");
    const more = part(tiles, ".more");
    const first = tiles.childElementCount === 1;
    for (const tile of lane.tiles) {
      if (tiles.querySelector(`[data-tile="${tileKey(tile)}"]`)) continue;
      const added = this.createTile(tile, lane.role);
      // what is added later stands after all that is there, which so stays in its place
      if (first) more.before(added);
      else tiles.append(added);
    }
    this.placeStrip(element, lane);
    this.tickLane(element, lane);
  }

  /**
   * Bring what is waited for or asked into the places of a strip.
   *
   * @param {HTMLElement} element
   * @param {Lane} lane
   */
  placeStrip(element, lane) {
    const places = this.places.get(lane.role) ?? [];
    const now = performance.now();
    const drawn = this.columns > 0;
    if (drawn && sinceTouch() < STILL_MS) return;
    const wanted = new Map(lane.strip.map((tile) => [tileKey(tile), tile]));
    const boxes = part(element, ".strip").children;
    places.forEach((place, index) => {
      if (place.tile && !wanted.delete(tileKey(place.tile))) {
        places[index] = { tile: null, since: now };
        boxes[index]?.replaceChildren();
      }
    });
    for (const tile of wanted.values()) {
      const index = places.findIndex(
        ({ tile: other, since }) => other === null && (!drawn || now - since >= STILL_MS),
      );
      if (index < 0) continue;
      places[index] = { tile, since: drawn ? now : now - STILL_MS };
      boxes[index]?.replaceChildren(this.createTile(tile, lane.role, places, index));
    }
  }

  /**
   * @param {HTMLElement} element
   * @param {Lane} lane
   */
  tickLane(element, lane) {
    const { recorder, view } = this.desk;
    const now = recorder.now();
    const nobody = lane.role === "" ? "" : "nobody yet";
    say(part(element, ".who"), lane.people.length > 0 ? lane.people.join(", ") : nobody);
    const running = lane.tiles.flatMap(({ kind, name }) => {
      const action = kind === "action" ? view.actions[name] : undefined;
      const since = action?.lasting ? recorder.running(action) : null;
      return action && since ? [`${action.label} ${clockText(now - since.since)}`] : [];
    });
    const [first = "", ...others] = running;
    say(part(element, ".doing"), others.length > 0 ? `${first}, and ${others.length} more` : first);
    for (const tile of element.querySelectorAll(".act")) {
      if (tile instanceof HTMLElement) this.tickTile(tile, now);
    }
  }

  /**
   * @param {Tile} tile
   * @param {string} role
   * @param {Place[]} [places] of the strip in which it stands
   * @param {number} [index] its place
   * @returns {HTMLElement}
   */
  createTile(tile, role, places, index = 0) {
    const { kind, name } = tile;
    const element = make(
      "button",
      { type: "button", class: "act", "data-tile": tileKey(tile) },
      make("span", { class: "act-note" }),
      make("span", { class: "act-label" }, this.labelOf(tile)),
      make("span", { class: "bar", hidden: true }, make("i")),
    );
    element.dataset[{ action: "acts", setting: "sets", fault: "fault" }[kind]] = name;
    const key = kind === "action" ? this.desk.view.actions[name]?.key : null;
    if (key) part(element, ".act-label").prepend(make("kbd", {}, key));
    element.addEventListener("click", (event) => {
      const stamp = touchStamp(event);
      if (places && stamp - (places[index]?.since ?? 0) < STILL_MS) {
        this.desk.notice("That button had only just appeared. Touch it again.");
      } else if (kind === "action") this.desk.act(name, role, stamp);
      else if (kind === "setting") this.desk.setting(name, role);
      else this.desk.fault(name, stamp);
    });
    return element;
  }

  /**
   * @param {Tile} tile
   * @returns {string}
   */
  labelOf({ kind, name }) {
    const { actions, settings, faults } = this.desk.view;
    if (kind === "fault") return faults.find((fault) => fault.name === name)?.shows ?? name;
    return (kind === "action" ? actions[name] : settings[name])?.label ?? name;
  }

  /**
   * @param {HTMLElement} element
   * @param {number} now scenario time, ms
   */
  tickTile(element, now) {
    const { sets, acts, fault } = element.dataset;
    if (sets) this.tickSetting(element, sets);
    else if (fault) this.tickFault(element, fault);
    else if (acts) this.tickAction(element, acts, now);
  }

  /** @param {HTMLElement} element @param {string} name */
  tickSetting(element, name) {
    const { recorder } = this.desk;
    const figure = recorder.standing(name);
    say(part(element, ".act-note"), figure ? figureText(figure.value, figure.unit) : "not noted yet");
    this.markWaiting(element, ({ kind, data }) => kind === "set" && data.setting === name);
  }

  /** @param {HTMLElement} element @param {string} name */
  tickFault(element, name) {
    const fault = this.desk.view.faults.find((each) => each.name === name);
    if (!fault) return;
    const status = this.desk.recorder.faultNow(fault);
    say(part(element, ".act-note"), status);
    element.classList.toggle("running", status === "found");
    element.classList.toggle("gone", status === "put right" || status === "not planted");
    this.markWaiting(element, ({ kind, data }) => kind === "fault" && data.fault === name);
  }

  /** @param {HTMLElement} element @param {string} name @param {number} now */
  tickAction(element, name, now) {
    const { recorder, view } = this.desk;
    const action = view.actions[name];
    if (!action) return;
    const running = action.lasting ? recorder.running(action) : null;
    element.classList.toggle("running", running !== null);
    element.classList.toggle("asked", action.asked !== null);
    element.classList.toggle("gone", action.away);
    if (action.lasting) put(element, "aria-pressed", String(running !== null));
    this.markWaiting(element, ({ kind, data }) => kind === "action" && data.action === name);
    const room = roomOf(element);
    say(part(element, ".act-note"), this.noteOf(action, running?.since ?? null, now, room));
    const bar = part(element, ".bar");
    const share = leftShare(action, now);
    put(bar, "hidden", share === null);
    if (share !== null) part(bar, "i").style.width = `${Math.round(share * 100)}%`;
  }

  /**
   * @param {HTMLElement} element
   * @param {(entry: import("./outbox.js").Entry) => boolean} isIts
   */
  markWaiting(element, isIts) {
    element.classList.toggle("waiting", this.desk.recorder.pending.some(isIts));
  }

  /**
   * The line under an action's name.
   *
   * @param {ActionView} action
   * @param {number | null} since when a lasting one runs
   * @param {number} now
   * @param {"place" | "low" | "tile"} room in the strip and in low tiles there is little
   * @returns {string}
   */
  noteOf(action, since, now, room) {
    const zero = this.desk.view.clock.zero_ms ?? 0;
    if (action.away) return "not there";
    if (since !== null) {
      const reads = action.reads_at_ms;
      if (reads !== null && reads > now) return `reads in ${clockText(reads - now)}`;
      if (room === "place") return "stop";
      const from = `since ${clockText(since - zero)}`;
      return room === "low" ? from : `${from}: stop`;
    }
    if (action.asked) {
      const { latest_ms: latest, ideal_ms: ideal } = action.asked;
      const until = ideal !== null && ideal > now ? ideal : latest;
      const left = until !== null && until > now ? leftText(until - now) : null;
      if (left !== null) return room === "tile" ? `${left} left` : left.replace(" min", "");
      return room === "tile" ? "due now" : "now";
    }
    if (action.last_ms !== null) {
      if (room === "place") return "";
      const ago = `${spanText(now - action.last_ms)} ago`;
      return action.times > 1 && room === "tile" ? `${action.times} times, last ${ago}` : ago;
    }
    return "";
  }
}

/**
 * @param {Tile} tile
 * @returns {string}
 */
function tileKey({ kind, name }) {
  return `${kind} ${name}`;
}

/**
 * @param {HTMLElement} tile
 * @returns {"place" | "low" | "tile"} how much room it has for a note
 */
function roomOf(tile) {
  if (tile.parentElement?.className === "place") return "place";
  return tile.closest(".low") ? "low" : "tile";
}

/**
 * Whether a lane has nothing of its own here.
 *
 * @param {Lane} lane
 * @returns {boolean}
 */
function isSlim({ places, tiles }) {
  return places === 0 && tiles.length === 0;
}

/**
 * The lanes in two columns, each in order, so that the higher one is as low as can be.
 *
 * @param {readonly Lane[]} lanes
 * @param {readonly number[]} heights of the lanes
 * @returns {Lane[][]}
 */
function halved(lanes, heights) {
  const all = heights.reduce((sum, other) => sum + other, 0);
  let best = 1;
  let least = Infinity;
  // each choice as the bits of a number; the first lane stays in the first column
  for (let choice = 1; choice < 2 ** lanes.length; choice += 2) {
    const first = heights.reduce((sum, height, place) => sum + (choice >> place) % 2 * height, 0);
    const higher = Math.max(first, all - first);
    if (higher < least) [best, least] = [choice, higher];
  }
  const isFirst = (/** @type {number} */ place) => (best >> place) % 2 === 1;
  const halves = [lanes.filter((_, place) => isFirst(place))];
  return [...halves, lanes.filter((_, place) => !isFirst(place))];
}

/**
 * How much of an asked-for action's time is left, 0 to 1; `null` where none runs.
 *
 * @param {ActionView} action
 * @param {number} now
 * @returns {number | null}
 */
function leftShare({ asked }, now) {
  if (!asked || asked.opens_ms === null) return null;
  const { ideal_ms: ideal, latest_ms: latest, opens_ms: opens } = asked;
  const until = ideal !== null && ideal > now ? ideal : latest;
  if (until === null || until <= opens) return null;
  return Math.min(1, Math.max(0, (until - now) / (until - opens)));
}

/**
 * Have the lanes of a column show whole rows of tiles: none is cut in two where a lane scrolls. Rows
 * that there is room for go to the lane that hides most. Where there is not even a row for each the
 * tiles are lower, and if that does not do, the lanes scroll.
 *
 * @param {Element} column
 * @param {number} [row] how high a row is, px
 */
function showWholeRows(column, row = ROW_PX) {
  const lanes = [...column.querySelectorAll(".lane:not(.slim)")].flatMap((element) => {
    const tiles = element.querySelector(".tiles");
    if (!(element instanceof HTMLElement) || !(tiles instanceof HTMLElement)) return [];
    const all = Math.max(1, Math.round(tiles.scrollHeight / row));
    const seen = Math.max(1, Math.floor((tiles.clientHeight + 2) / row));
    const rest = element.offsetHeight - tiles.clientHeight;
    return [{ element, rest, all, rows: Math.min(all, seen) }];
  });
  const taken = lanes.reduce((sum, lane) => sum + lane.rest + lane.rows * row, 0);
  const before = lanes.reduce((sum, lane) => sum + lane.element.offsetHeight, 0);
  let free = before - taken + spare(column);
  if (free < 0 && row === ROW_PX) {
    column.classList.add("low");
    for (const { element } of lanes) element.style.removeProperty("height");
    showWholeRows(column, LOW_ROW_PX);
    return;
  }
  while (free >= row) {
    const [most] = lanes.filter(({ all, rows }) => rows < all).sort(byHidden);
    if (!most) break;
    most.rows += 1;
    free -= row;
  }
  for (const { element, rest, all, rows } of lanes) {
    element.style.height = `${rest + rows * row}px`;
    put(element, "data-scrolls", rows < all);
  }
}

/**
 * @param {{ all: number, rows: number }} lane
 * @param {{ all: number, rows: number }} other
 * @returns {number} which of them hides more
 */
function byHidden(lane, other) {
  return other.all - other.rows - (lane.all - lane.rows);
}

/**
 * @param {Element} column
 * @returns {number} the room below its last lane, px
 */
function spare(column) {
  const last = column.lastElementChild?.getBoundingClientRect().bottom ?? 0;
  return column.getBoundingClientRect().bottom - last;
}
