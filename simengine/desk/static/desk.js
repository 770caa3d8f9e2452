/**
 * What the facilitator can do, however they ask for it: by touch, key, lane, list or search.
 */

/** @typedef {import("./types.js").ConsoleView} ConsoleView */
/** @typedef {import("./types.js").ActionView} ActionView */

import { showAsks } from "./asks.js";
import { showSetting } from "./setting.js";
import { figureData } from "./figures.js";
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
   * @param {string} [how] the way, if not simply done
   */
  act(name, role, stamp, how) {
    const action = this.view.actions[name];
    if (!action) return;
    const running = action.lasting ? this.recorder.running(action) : null;
    const once = how !== undefined && !COUNTING.has(how);
    const phase = !action.lasting || once ? "done" : running ? "stop" : "start";
    /** @type {Record<string, any>} */
    const data = { action: name, phase, ...this.roleData(role) };
    if (how) data.how = how;
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
    else if (item.fault) showFaults(this);
  }

  /**
   * The lane in which an action stands, else its usual role.
   *
   * @param {string} action
   * @returns {string | null}
   */
  usualRole(action) {
    const lane = this.view.lanes.find(({ actions }) => actions.includes(action));
    return lane?.role ?? this.view.actions[action]?.role ?? null;
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
    const words = this.view.tape.find((one) => one.id === id)?.words.split(": ")[0];
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

/** Ways that count as doing a lasting thing, so that it starts and stops. */
const COUNTING = new Set(["done", "simulated"]);
