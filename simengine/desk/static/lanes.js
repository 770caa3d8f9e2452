/**
 * A lane for each role: who is in it, what they are doing, what they can do.
 *
 * Rules of this file:
 * - What runs stands first, then what is asked for, but nothing changes its place under a finger: lanes are put in
 *   order only when no touch has begun for a while.
 * - What does not fit into a lane is behind "more…", never cut off; so are settings that nobody
 *   has read yet.
 */

/** @typedef {import("./types.js").Lane} Lane */
/** @typedef {import("./types.js").ActionView} ActionView */
/** @typedef {import("./types.js").SettingView} SettingView */
/** @typedef {{ role: string, action: ActionView } | { role: string, setting: SettingView }} Tile */

import { sinceTouch, touchStamp } from "./dock.js";
import { keep, make, part, put, say } from "./dom.js";
import { clockText, figureText, leftText, spanText } from "./times.js";

const STILL_MS = 900;

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
    this.unsorted = false;
    new ResizeObserver(() => this.fit()).observe(root);
  }

  draw() {
    const mayMove = sinceTouch() > STILL_MS;
    this.unsorted = !mayMove;
    keep(
      this.root,
      this.desk.view.lanes,
      laneKey,
      (lane) => this.createLane(lane),
      (element, lane) => this.updateLane(element, lane, mayMove),
    );
    this.fit();
  }

  /** Times that run, and order where it had to wait. */
  tick() {
    if (this.unsorted && sinceTouch() > STILL_MS) {
      this.draw();
      return;
    }
    for (const lane of this.desk.view.lanes) {
      const element = this.laneOf(lane.role);
      if (element) this.tickLane(element, lane);
    }
  }

  /**
   * @param {string} role
   * @returns {HTMLElement | undefined}
   */
  laneOf(role) {
    for (const child of this.root.children) {
      if (child instanceof HTMLElement && child.dataset.keep === laneKey({ role })) return child;
    }
    return undefined;
  }

  /**
   * @param {Lane} lane
   * @returns {HTMLElement}
   */
  createLane(lane) {
    const more = make("button", { type: "button" }, "more…");
    const element = make(
      "section",
      { class: "lane", "aria-label": lane.label },
      make(
        "div",
        { class: "lane-head" },
        make("h2", {}, lane.label),
        make("div", { class: "who" }),
        make("div", { class: "doing" }),
      ),
      make("div", { class: "lane-actions" }),
      make("div", { class: "lane-more" }, more),
    );
    put(more, "aria-label", `${lane.label}: more actions`);
    more.addEventListener("click", () => {
      const now = this.desk.view.lanes.find(({ role }) => role === lane.role);
      if (now) this.onMore(now);
    });
    return element;
  }

  /**
   * @param {HTMLElement} element
   * @param {Lane} lane
   * @param {boolean} mayMove
   */
  updateLane(element, lane, mayMove) {
    const { actions, settings } = this.desk.view;
    /** @type {Tile[]} */
    const tiles = [];
    for (const name of lane.settings) {
      const setting = settings[name];
      if (setting?.now) tiles.push({ role: lane.role, setting });
    }
    lane.actions.forEach((name, place) => {
      const action = actions[name];
      if (!action) return;
      const runs = action.lasting && this.desk.recorder.running(action) !== null;
      if (place < lane.shown || runs) tiles.push({ role: lane.role, action });
    });
    tiles.sort((one, other) => this.rank(one) - this.rank(other));
    const row = part(element, ".lane-actions");
    keep(
      row,
      tiles,
      tileKey,
      (tile) => this.createTile(tile),
      (button, tile) => this.updateTile(button, tile),
      mayMove,
    );
    element.classList.toggle("empty", row.children.length === 0);
    this.tickLane(element, lane);
  }

  /**
   * How near to hand a tile stands: running (a touch stops it), asked for, settings, what has a
   * key, the rest.
   *
   * @param {Tile} tile
   * @returns {number}
   */
  rank(tile) {
    if ("setting" in tile) return 2;
    if (tile.action.lasting && this.desk.recorder.running(tile.action)) return 0;
    if (tile.action.asked) return 1;
    return tile.action.key === null ? 4 : 3;
  }

  /**
   * @param {HTMLElement} element
   * @param {Lane} lane
   */
  tickLane(element, lane) {
    const { recorder, view } = this.desk;
    const now = recorder.now();
    say(part(element, ".who"), lane.people.length > 0 ? lane.people.join(", ") : "nobody yet");
    const running = lane.actions
      .map((name) => view.actions[name])
      .flatMap((action) => {
        const since = action?.lasting ? recorder.running(action) : null;
        return action && since ? [`${action.label} ${clockText(now - since.since)}`] : [];
      });
    const doing = part(element, ".doing");
    const [first = lane.people.length > 0 ? "free" : "", ...others] = running;
    say(doing, others.length > 0 ? `${first}, and ${others.length} more` : first);
    doing.classList.toggle("free", running.length === 0);
    const tiles = part(element, ".lane-actions").children;
    for (const tile of tiles) {
      if (tile instanceof HTMLElement) this.tickTile(tile, now);
    }
  }

  /**
   * @param {Tile} tile
   * @returns {HTMLElement}
   */
  createTile(tile) {
    const button = make(
      "button",
      { type: "button", class: "act" },
      make("span", { class: "act-label" }),
      make("kbd", { hidden: true }),
      make("span", { class: "act-note" }),
      make("span", { class: "bar", hidden: true }, make("i")),
    );
    button.dataset.name = "action" in tile ? tile.action.name : tile.setting.name;
    button.addEventListener("click", (event) => {
      if ("action" in tile) this.desk.act(tile.action.name, tile.role, touchStamp(event));
      else this.desk.setting(tile.setting.name, tile.role);
    });
    return button;
  }

  /**
   * @param {HTMLElement} button
   * @param {Tile} tile
   */
  updateTile(button, tile) {
    if ("setting" in tile) {
      say(part(button, ".act-label"), tile.setting.label);
      put(button, "data-sets", tile.setting.name);
      return;
    }
    const { action } = tile;
    say(part(button, ".act-label"), action.label);
    const key = part(button, "kbd");
    key.hidden = action.key === null;
    say(key, action.key ?? "");
    put(button, "data-acts", action.name);
    button.classList.toggle("asked", action.asked !== null);
    button.classList.toggle("gone", action.away);
    button.classList.toggle("long", action.label.length > (action.key === null ? 30 : 26));
  }

  /**
   * @param {HTMLElement} button
   * @param {number} now scenario time, ms
   */
  tickTile(button, now) {
    const { recorder, view } = this.desk;
    const { sets, acts } = button.dataset;
    const note = part(button, ".act-note");
    const setting = sets ? view.settings[sets] : undefined;
    if (setting) {
      const figure = recorder.standing(setting.name);
      say(note, figure ? figureText(figure.value, figure.unit) : "not read yet");
      const waits = recorder.pending.some(
        ({ kind, data }) => kind === "set" && data.setting === setting.name,
      );
      button.classList.toggle("waiting", waits);
      return;
    }
    const action = acts ? view.actions[acts] : undefined;
    if (!action) return;
    const running = action.lasting ? recorder.running(action) : null;
    button.classList.toggle("running", running !== null);
    if (action.lasting) put(button, "aria-pressed", String(running !== null));
    const waits = recorder.pending.some(
      ({ kind, data }) => kind === "action" && data.action === action.name,
    );
    button.classList.toggle("waiting", waits);
    say(note, this.noteOf(action, running?.since ?? null, now));
    const bar = part(button, ".bar");
    const share = leftShare(action, now);
    bar.hidden = share === null;
    if (share !== null) part(bar, "i").style.width = `${Math.round(share * 100)}%`;
  }

  /**
   * The line under an action's name.
   *
   * @param {ActionView} action
   * @param {number | null} since when a lasting one runs
   * @param {number} now
   * @returns {string}
   */
  noteOf(action, since, now) {
    const zero = this.desk.view.clock.zero_ms ?? 0;
    if (action.away) return "not there";
    if (since !== null) {
      const reads = action.reads_at_ms;
      if (reads !== null && reads > now) return `reads in ${clockText(reads - now)}`;
      return `since ${clockText(since - zero)} · touch to stop`;
    }
    if (action.asked) {
      const { latest_ms: latest, ideal_ms: ideal } = action.asked;
      const until = ideal !== null && ideal > now ? ideal : latest;
      if (until !== null && until > now) return `${leftText(until - now)} left`;
      return "asked for";
    }
    if (action.last_ms !== null) {
      const ago = now - action.last_ms;
      return `${action.times > 1 ? `${action.times} times, last ` : ""}${spanText(ago)} ago`;
    }
    return "";
  }

  /** Hide what would be cut off; it is behind "more…". */
  fit() {
    for (const lane of this.root.children) {
      const row = part(lane, ".lane-actions");
      const tiles = [...row.children].filter((child) => child instanceof HTMLElement);
      for (const tile of tiles) tile.hidden = false;
      const room = row.clientHeight;
      if (room === 0) continue;
      const bottoms = tiles.map((tile) => tile.offsetTop - row.offsetTop + tile.offsetHeight);
      const phone = getComputedStyle(row).overflow === "visible";
      if (phone) continue;
      tiles.forEach((tile, place) => {
        tile.hidden = place > 0 && (bottoms[place] ?? 0) > room + 1;
      });
    }
  }
}

/**
 * @param {{ role: string }} lane
 * @returns {string}
 */
function laneKey({ role }) {
  return `lane ${role}`;
}

/**
 * @param {Tile} tile
 * @returns {string}
 */
function tileKey(tile) {
  return "action" in tile ? `action ${tile.action.name}` : `setting ${tile.setting.name}`;
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
