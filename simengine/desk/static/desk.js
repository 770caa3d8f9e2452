/**
 * What the facilitator can do, however they ask for it: by touch, key, lane, list or search.
 */

/** @typedef {import("./types.js").ConsoleView} ConsoleView */
/** @typedef {import("./types.js").ActionView} ActionView */

import { showAsks } from "./asks.js";
import { showSetting } from "./setting.js";
import { button } from "./dock.js";
import { make } from "./dom.js";
import { figureData } from "./figures.js";
import { may } from "./rights.js";
import { showFaults } from "./room.js";

export class Desk {
  /**
   * @param {import("./recorder.js").Recorder} recorder
   * @param {import("./dock.js").Dock} dock
   * @param {(words: string) => void} notice
   */
  constructor(recorder, dock, notice) {
    this.recorder = recorder;
    this.dock = dock;
    this.notice = notice;
    dock.onLeave = () => recorder.finish();
    /** Whether what is true of the baby is shown on this screen. */
    this.truth = true;
    /** @type {string | null} the way in which the next action is recorded, if not simply done */
    this.way = null;
  }

  /** @returns {ConsoleView} */
  get view() {
    return this.recorder.view;
  }

  /**
   * Record an action: once, or the start or end of a lasting one; then ask what it asks.
   *
   * @param {string} name
   * @param {string | null} role
   * @param {number} stamp of the touch or key
   * @param {string} [how] the way, if not that of the next touch
   */
  act(name, role, stamp, how) {
    const action = this.view.actions[name];
    if (!action) return;
    const running = action.lasting ? this.recorder.running(action) : null;
    const way = how ?? this.way;
    this.way = null;
    const once = way !== null && !COUNTING.has(way);
    const phase = !action.lasting || once ? "done" : running ? "stop" : "start";
    /** @type {Record<string, any>} */
    const data = { action: name, phase, ...this.roleData(role) };
    if (way) data.how = way;
    /** @type {Record<string, any>} */
    const settings = {};
    for (const setting of phase === "stop" ? [] : action.settings) {
      const figure = this.recorder.standing(setting);
      if (figure) settings[setting] = figureData(figure);
    }
    if (Object.keys(settings).length > 0) data.settings = settings;
    const entry = this.recorder.record("action", data, stamp);
    const asks = action.settings.length > 0 || action.dose !== null || action.spoken !== null;
    if (phase !== "stop" && asks) showAsks(this, action, entry.id);
    else if (this.dock.open.startsWith("asks")) this.dock.close();
  }

  /**
   * @param {string | null} role
   * @returns {Record<string, string>}
   */
  roleData(role) {
    return role !== null && this.view.roles.some(([name]) => name === role) ? { role } : {};
  }

  /**
   * Open the panel of a setting.
   *
   * @param {string} name
   * @param {string | null} role
   * @param {boolean} [focus]
   */
  setting(name, role, focus = false) {
    showSetting(this, name, role, focus);
  }

  /**
   * Do what an open item of the marking guide asks.
   *
   * @param {import("./types.js").Expected} item
   * @param {number} stamp
   */
  answer(item, stamp) {
    if (item.action) this.act(item.action, item.role ?? this.usualRole(item.action), stamp);
    else if (item.setting) this.setting(item.setting, item.role);
    else if (item.fault) this.fault(item.fault, stamp);
  }

  /**
   * The next step of a fault: planted, found, put right; then all of them are listed.
   *
   * @param {string} name
   * @param {number} stamp
   */
  fault(name, stamp) {
    const fault = this.view.faults.find((fault) => fault.name === name);
    if (!fault) return;
    const next = NEXT_OF_FAULT[this.recorder.faultNow(fault)];
    if (!next) showFaults(this);
    else if (next === "planted" && !may("closed")) showFaults(this);
    else this.recorder.record("fault", { fault: name, status: next }, stamp);
  }

  /**
   * The facilitator has told the team what is true of an observation at this moment.
   *
   * @param {string} observation
   * @param {number} stamp
   */
  tell(observation, stamp) {
    if (this.view.closed) return;
    this.recorder.record("reveal", { observation, shown: true, once: true }, stamp);
    const label = this.view.baby.find((line) => line.observation === observation)?.label;
    this.notice(`${label ?? observation}: told to the team.`);
  }

  /**
   * Mark this moment for the debrief; a word may follow.
   *
   * @param {number} stamp
   */
  mark(stamp) {
    const { id } = this.recorder.record("note", { text: MARKED }, stamp);
    const word = make("input", { "aria-label": "A word about it", maxlength: "500" });
    word.addEventListener("change", () => {
      const text = word.value.trim();
      this.recorder.correct(id, { text: text === "" ? MARKED : text });
    });
    this.dock.show(`mark ${id}`, `${MARKED}. A word about it, if you like`, [word]);
  }

  /** The next action is recorded as said and not done; a second touch takes that back. */
  saidOnly() {
    this.way = this.way === null ? "said" : null;
  }

  /** Take back the last thing done on this device, and ask before if it is more than an entry. */
  undo() {
    this.recorder.finish();
    const step = this.recorder.steps.undo.at(-1);
    if (!step) this.notice("There is nothing here to undo.");
    else if (step.way === "never") this.notice(`${step.words}: this can't be taken back.`);
    else if (step.until_ms !== null && this.recorder.logNow() > step.until_ms) {
      this.notice(`${step.words}: more than a minute ago. Go to a state by hand.`);
    } else if (step.asks) this.askToUndo(step);
    else this.takeBack(step);
  }

  /** @param {import("./types.js").StepView} step */
  takeBack(step) {
    this.recorder.takeBack(step);
    this.notice(`Undone: ${step.words}.`);
  }

  /** @param {import("./types.js").StepView} step */
  askToUndo(step) {
    const what =
      step.kind === "event"
        ? "The baby goes back to the state before it, and the clock to where it was."
        : "The baby goes back to the state that was left.";
    this.dock.show(`undo ${step.id}`, `Undo “${step.words}”?`, [
      make("p", {}, what),
      button(
        "Yes, undo it",
        () => {
          this.dock.close();
          this.takeBack(step);
        },
        { class: "main" },
      ),
      button("No, it stands", () => this.dock.close()),
    ]);
  }

  /** Bring back what was taken back last on this device. */
  redo() {
    this.recorder.finish();
    const step = this.recorder.steps.redo.at(-1);
    if (!step) {
      this.notice("There is nothing here to bring back.");
      return;
    }
    this.recorder.bringBack(step);
    this.notice(`Brought back: ${step.words}.`);
  }

  /**
   * The role whose work an action is, if somebody has it.
   *
   * @param {string} action
   * @returns {string | null}
   */
  usualRole(action) {
    return this.view.actions[action]?.role ?? null;
  }

  pause() {
    this.recorder.record(this.recorder.paused ? "resume" : "pause", {});
  }

  hold() {
    this.recorder.record(this.recorder.held ? "release" : "hold", {});
  }

  /**
   * Move the last entry in time.
   *
   * @param {number} by ms
   */
  moveLast(by) {
    this.recorder.finish();
    const id = this.recorder.lastId();
    if (id) this.move(id, by);
    else this.notice("There is no entry to move.");
  }

  /**
   * Move an entry in time.
   *
   * @param {string} id
   * @param {number} by ms
   */
  move(id, by) {
    const at = this.recorder.whenOf(id);
    if (at === null) return;
    this.moveTo(id, Math.max(0, at + by));
    const way = `moved ${by < 0 ? "earlier" : "later"} by ${Math.abs(by) / 1000} s`;
    const words = this.view.tape.find((entry) => entry.id === id)?.words.split(": ")[0];
    this.notice(words ? `${words}: ${way}.` : `${way[0]?.toUpperCase()}${way.slice(1)}.`);
  }

  /**
   * @param {string} id
   * @param {number} to ms of the log's time
   */
  moveTo(id, to) {
    const at_ms = Math.round(Math.min(to, this.recorder.logNow())); // nothing lies in the future
    this.recorder.correct(id, { at_ms });
    this.recorder.moved.set(id, at_ms);
    this.dock.redraw?.();
  }
}

const MARKED = "Marked for the debrief";

/** @type {Record<string, string | undefined>} what a touch on a fault's tile records */
const NEXT_OF_FAULT = { "not planted": "planted", planted: "found", found: "mended" };

/** Ways that count as doing a lasting thing, so that it starts and stops. */
const COUNTING = new Set(["done", "simulated"]);
