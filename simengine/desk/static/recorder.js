/**
 * Recording from this device: what a touch or key becomes.
 *
 * Rules of this file:
 * - An entry takes the instant of the touch, not that of its sending.
 * - Edits of one entry that follow each other closely (a stepper) become one entry; they are kept
 *   before anything else is recorded and when the page goes away, so none is lost.
 * - What has not been acknowledged yet already counts on this screen.
 */

/** @typedef {import("./types.js").ConsoleView} ConsoleView */
/** @typedef {import("./types.js").ActionView} ActionView */
/** @typedef {import("./types.js").Figure} Figure */
/** @typedef {import("./outbox.js").Entry} Pending */

import { figureData, merge } from "./figures.js";
import { Outbox, deviceStorage } from "./outbox.js";
import { newId, postEntries } from "./post.js";

const RUN_MS = 700;
const MOST_UNDONE = 50;

/** What no amendment can take back. */
const FIXED = new Set(["pause", "resume", "hold", "release", "state", "closed"]);

export class Recorder {
  /**
   * @param {ConsoleView} view
   * @param {string} address where entries go
   * @param {import("./clock.js").ServerClock} clock
   * @param {() => void} onChange what waits has changed
   * @param {(words: string) => void} onNotice
   */
  constructor(view, address, clock, onChange, onNotice) {
    this.view = view;
    this.clock = clock;
    this.onNotice = onNotice;
    this.onChange = onChange;
    this.sameMoment = false;
    /** @type {{ key: string, timer: number, run: () => void } | null} an edit not kept yet */
    this.edit = null;
    /** @type {Record<string, any>} what the open edit says so far */
    this.edited = {};
    /** @type {Map<string, number>} entries moved here: where to, in the log's time */
    this.moved = new Map();
    /** When the open edit was begun. */
    this.begun = 0;
    /** @type {{ entry: Pending, version: number }[]} durable, but not in the view yet */
    this.taken = [];
    this.storage = deviceStorage();
    this.madeKey = `simengine.made.${view.session}`;
    /** @type {string[]} ids of what Undo takes back, the last at the end */
    this.made = JSON.parse(this.storage?.getItem(this.madeKey) ?? "[]");
    this.outbox = new Outbox(
      view.session,
      this.storage,
      (entries) => postEntries(address, entries),
      onChange,
      (entry, why) => this.refused(entry, why),
      (entry, version) => this.taken.push({ entry, version }),
    );
    addEventListener("pagehide", () => this.finish());
    document.addEventListener("visibilitychange", () => this.finish());
  }

  /** @param {Pending} entry @param {string} why */
  refused(entry, why) {
    this.made = this.made.filter((id) => id !== entry.id);
    this.remember();
    this.onNotice(`Not recorded: ${why}`);
  }

  /** @returns {Pending[]} what the view does not have yet, in order */
  get pending() {
    this.taken = this.taken.filter(({ version }) => version > this.view.version);
    return [...this.taken.map(({ entry }) => entry), ...this.outbox.waiting];
  }

  /** @returns {number} how many entries the server does not have yet */
  get unsent() {
    return this.outbox.waiting.length + (this.edit ? 1 : 0);
  }

  /** @returns {number} the log's time now, ms */
  logNow() {
    return this.clock.now() - this.view.now.opened_at_ms;
  }

  /**
   * The scenario time of an instant of the log.
   *
   * @param {number} log ms
   * @returns {number}
   */
  scenario(log) {
    const { runs, scenario_ms: scenario, log_ms: since } = this.view.now;
    return runs ? scenario + (log - since) : scenario;
  }

  /** @returns {number} scenario time now, ms */
  now() {
    return this.scenario(this.logNow());
  }

  /**
   * Record something that happened at a touch.
   *
   * @param {string} kind
   * @param {Record<string, any>} data
   * @param {number} [stamp] `timeStamp` of the touch or key; now, if left out
   * @returns {Pending}
   */
  record(kind, data, stamp) {
    this.finish();
    const touched =
      stamp === undefined ? this.logNow() : this.clock.at(stamp) - this.view.now.opened_at_ms;
    const same = this.sameMoment ? this.lastAt() : null;
    this.sameMoment = false;
    return this.keep(kind, data, same ?? Math.max(0, Math.round(touched)));
  }

  /**
   * Record something that happened at a given instant of the log; Undo takes it back.
   *
   * @param {string} kind
   * @param {Record<string, any>} data
   * @param {number} at_ms
   * @returns {Pending}
   */
  keep(kind, data, at_ms) {
    const entry = this.send(kind, data, at_ms);
    if (!FIXED.has(kind)) this.made.push(entry.id);
    this.remember();
    return entry;
  }

  /**
   * @param {string} kind
   * @param {Record<string, any>} data
   * @param {number} at_ms
   * @returns {Pending}
   */
  send(kind, data, at_ms) {
    const device_now = this.clock.device();
    const entry = { id: newId(), kind, data, at_ms: Math.round(at_ms), device_now };
    this.outbox.add(entry);
    return entry;
  }

  /** @returns {number | null} when the last entry of a person was, in the log's time */
  lastAt() {
    const id = this.lastId();
    return id === null ? null : this.whenOf(id);
  }

  /**
   * Where in the log's time an entry stands, corrections on their way included.
   *
   * @param {string} id
   * @returns {number | null} ms
   */
  whenOf(id) {
    const moved = this.moved.get(id);
    if (moved !== undefined) return moved;
    const entry = this.view.tape.find((one) => one.id === id);
    const waiting = this.pending.find((one) => one.id === id);
    return entry?.log_ms ?? waiting?.at_ms ?? null;
  }

  /** @returns {string | null} the id of the last entry of a person */
  lastId() {
    const waiting = this.pending.findLast(({ kind }) => kind !== "amend");
    return waiting?.id ?? this.view.last_entry;
  }

  /**
   * Correct an entry. Corrections of one entry in close succession become one.
   *
   * @param {string} id
   * @param {Record<string, any>} fields as in an `amend`
   */
  correct(id, fields) {
    const key = `amend ${id}`;
    const merged = this.edit?.key === key ? merge(this.edited, fields) : fields;
    this.edited = merged;
    this.later(key, () => this.keep("amend", { id, fields: merged }, this.logNow()));
  }

  /**
   * Change a setting. Changes of one setting in close succession become one, with the time of
   * the first touch.
   *
   * @param {string} setting
   * @param {Figure} figure
   * @param {string | null} role
   * @param {number} stamp
   */
  set(setting, figure, role, stamp) {
    const key = `set ${setting}`;
    if (this.edit?.key !== key) this.begun = stamp;
    const first = this.begun;
    const data = { setting, ...figureData(figure), ...(role ? { role } : {}) };
    this.edited = data;
    this.later(key, () => this.record("set", data, first));
  }

  /**
   * @param {string} key
   * @param {() => void} run
   */
  later(key, run) {
    if (this.edit && this.edit.key !== key) this.finish();
    if (this.edit) clearTimeout(this.edit.timer);
    this.edit = { key, run, timer: window.setTimeout(() => this.finish(), RUN_MS) };
    this.onChange();
  }

  /** Forget moves in time that the server has taken or refused. */
  pruneMoves() {
    for (const id of this.moved.keys()) {
      const waits = this.pending.some(({ kind, data }) => kind === "amend" && data.id === id);
      if (!waits && this.edit?.key !== `amend ${id}`) this.moved.delete(id);
    }
  }

  /** Keep the edit that is still open, if there is one. */
  finish() {
    const edit = this.edit;
    if (!edit) return;
    this.edit = null;
    clearTimeout(edit.timer);
    edit.run();
  }

  /** Take back what was recorded or corrected here last, step by step. */
  undo() {
    this.finish();
    const gone = new Set(this.withdrawals());
    for (const { id, removed } of this.view.tape) if (removed) gone.add(id);
    let id = this.made.pop();
    while (id !== undefined && gone.has(id)) id = this.made.pop();
    this.remember();
    if (id === undefined) {
      this.onNotice("There is nothing here to undo.");
      return;
    }
    const words = this.view.tape.find((one) => one.id === id)?.words ?? "the last correction";
    this.send("amend", { id, withdrawn: true }, this.logNow());
    this.onNotice(`Undone: ${words}.`);
  }

  /** Keep on this device what Undo takes back, so that a reload does not lose it. */
  remember() {
    try {
      this.storage?.setItem(this.madeKey, JSON.stringify(this.made.slice(-MOST_UNDONE)));
    } catch {
      // full: Undo still works until the page is closed
    }
  }

  /** @returns {string[]} ids whose removal is on its way */
  withdrawals() {
    return this.pending.filter(({ data }) => data.withdrawn === true).map(({ data }) => data.id);
  }

  /**
   * Since when an action runs, on this screen: the server's word and what waits after it.
   *
   * @param {ActionView} action
   * @returns {{ since: number, id: string } | null}
   */
  running(action) {
    let since =
      action.running_ms === null ? null : { since: action.running_ms, id: action.running_id ?? "" };
    const withdrawn = new Set(this.withdrawals());
    if (since && withdrawn.has(since.id)) since = null;
    for (const { id, kind, data, at_ms } of this.pending) {
      if (kind !== "action" || data.action !== action.name || withdrawn.has(id)) continue;
      if (data.phase === "start") since = { since: this.scenario(at_ms), id };
      if (data.phase === "stop") since = null;
    }
    return since;
  }

  /**
   * Whether something is on, on this screen: the last of its entries that wait decides.
   *
   * @param {boolean} stored as the server says
   * @param {string} on the kind that begins it
   * @param {string} off the kind that ends it
   * @returns {boolean}
   */
  isOn(stored, on, off) {
    const last = this.pending.findLast(({ kind }) => kind === on || kind === off);
    return last ? last.kind === on : stored;
  }

  /** @returns {boolean} */
  get paused() {
    return this.isOn(this.view.now.paused, "pause", "resume");
  }

  /** @returns {boolean} */
  get held() {
    return this.isOn(this.view.now.held, "hold", "release");
  }

  /**
   * What a setting stands at, on this screen.
   *
   * @param {string} name
   * @returns {Figure | null}
   */
  standing(name) {
    const open = this.edit?.key === `set ${name}` ? this.edited : undefined;
    const waiting = this.pending.findLast(
      ({ kind, data }) => kind === "set" && data.setting === name,
    );
    const data = open ?? waiting?.data;
    if (data) return { value: data.value, unit: data.unit ?? null };
    return this.view.settings[name]?.now ?? null;
  }
}
