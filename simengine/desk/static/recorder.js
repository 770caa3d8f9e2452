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
import { capital } from "./times.js";
import { stepsNow } from "./steps.js";

const RUN_MS = 700;

/** What an entry is called, in the first of these that it has. */
const CALLED = ["name", "text", "why", "state", "person"];

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
    this.by = document.body.dataset.by ?? "";
    this.outbox = new Outbox(
      view.session,
      deviceStorage(),
      (entries) => postEntries(address, entries),
      onChange,
      (_entry, why) => this.onNotice(`Not recorded: ${why}`),
      (entry, version) => this.taken.push({ entry, version }),
    );
    addEventListener("pagehide", () => this.finish());
    document.addEventListener("visibilitychange", () => this.finish());
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
   * Record something that happened at a given instant of the log.
   *
   * @param {string} kind
   * @param {Record<string, any>} data
   * @param {number} at_ms
   * @returns {Pending}
   */
  keep(kind, data, at_ms) {
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
    const entry = this.view.tape.find((each) => each.id === id);
    const waiting = this.pending.find((each) => each.id === id);
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

  /** @returns {import("./steps.js").Steps} what this device can take back and bring back */
  get steps() {
    const { steps, undone_within_ms: within } = this.view;
    return stepsNow(steps[this.by], this.pending, within, (entry) => this.wordsOf(entry));
  }

  /**
   * An entry on its way, in words.
   *
   * @param {Pending} entry
   * @returns {string}
   */
  wordsOf({ kind, data }) {
    if (kind === "amend") return "The last correction";
    const known = this.view.actions[data.action] ?? this.view.settings[data.setting];
    const fault = this.view.faults.find(({ name }) => name === data.fault);
    const called = CALLED.map((name) => data[name]).find((value) => typeof value === "string");
    return known?.label ?? fault?.shows ?? capital((called ?? kind).replaceAll("_", " "));
  }

  /** @param {import("./types.js").StepView} step of this device, the last one */
  takeBack({ way, id, again }) {
    if (way === "undo") this.keep("undone", { id }, this.logNow());
    else if (way === "begin again") this.keep(again, {}, this.logNow());
    else this.keep("amend", { id, withdrawn: true }, this.logNow());
  }

  /** @param {import("./types.js").StepView} step that this device took back last */
  bringBack({ way, kind, data, at_ms, taken_by }) {
    if (way === "undo") this.keep(kind, data, kind === "event" ? at_ms : this.logNow());
    else this.keep("amend", { id: taken_by, withdrawn: true }, this.logNow());
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
   * How a fault stands, on this screen.
   *
   * @param {import("./types.js").FaultView} fault
   * @returns {import("./types.js").FaultView["status"]}
   */
  faultNow({ name, status }) {
    const withdrawn = new Set(this.withdrawals());
    const last = this.pending.findLast(
      ({ id, kind, data }) => kind === "fault" && data.fault === name && !withdrawn.has(id),
    );
    if (!last) return status;
    return last.data.status === "mended" ? "put right" : last.data.status;
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
