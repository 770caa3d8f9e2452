/**
 * Entries on their way to the server: kept on this device until the server has them for good.
 *
 * Rules of this file:
 * - An entry is stored before it is sent, and forgotten only when it is acknowledged.
 * - What is refused for good is put aside: kept and shown until a person sends it again or lets it
 *   go. So is an entry that the server fails at by itself, again and again: it holds up no other.
 * - Entries go in the order in which they were made, those that wait in one message.
 * - The server takes a repeated id once, so sending again is always harmless.
 * - Where the browser keeps nothing (storage off or full) entries wait in memory, and that is said.
 */

/**
 * @typedef {object} Entry
 * @property {string} id
 * @property {string} kind
 * @property {Record<string, any>} data
 * @property {number} at_ms when it happened, in ms of the session
 * @property {number} device_now the device's clock when it was kept, ms since 1970
 */

/**
 * @typedef {object} Sent what the server said of one message
 * @property {string[]} taken ids that are durable now
 * @property {{ id: string, words: string }[]} refused ids that it will never take, and why
 * @property {number} version of the first view that has them
 * @property {string[]} [failed] ids at each of which by itself the server failed
 */

/**
 * @typedef {object} Aside an entry that was refused for good
 * @property {Entry} entry
 * @property {string} why
 */

const FIRST_WAIT_MS = 400;
const LONGEST_WAIT_MS = 5_000;
const MOST_IN_ONE = 40;
const MOST_FAILURES = 5;

export class Outbox {
  /**
   * @param {string} session
   * @param {Storage | null} storage where entries are kept
   * @param {(entries: Entry[]) => Promise<Sent>} send rejects if the server can't be reached
   * @param {() => void} onChange the list of waiting entries has changed
   * @param {(entry: Entry, why: string) => void} onRefused
   * @param {(entry: Entry, version: number) => void} [onTaken]
   */
  constructor(session, storage, send, onChange, onRefused, onTaken = () => {}) {
    this.prefix = `simengine.outbox.${session}.`;
    this.asidePrefix = `simengine.aside.${session}.`;
    this.storage = storage;
    this.send = send;
    this.onChange = onChange;
    this.onRefused = onRefused;
    this.onTaken = onTaken;
    this.stored = storage !== null;
    /** Why the last message did not arrive; empty: it did. */
    this.trouble = "";
    this.wait = FIRST_WAIT_MS;
    this.timer = 0;
    this.busy = false;
    this.count = 0;
    /** @type {Map<string, Entry>} by storage key, in order */
    this.entries = new Map(this.read(this.prefix));
    /** @type {Map<string, Aside>} by storage key, in order */
    this.putAside = new Map(this.read(this.asidePrefix));
    /** @type {Map<string, number>} how often the server failed at an entry by itself, by id */
    this.failures = new Map();
    addEventListener("online", () => this.go());
    if (this.entries.size > 0) this.go();
  }

  /**
   * @param {string} prefix
   * @returns {[string, any][]} what is stored under it, in order; what can't be read is left out
   */
  read(prefix) {
    /** @type {[string, any][]} */
    const pairs = [];
    for (let index = 0; index < (this.storage?.length ?? 0); index += 1) {
      const key = this.storage?.key(index);
      if (!key?.startsWith(prefix)) continue;
      try {
        pairs.push([key, JSON.parse(this.storage?.getItem(key) ?? "null")]);
      } catch {
        // cut short as it was written: nobody was told that it is kept
      }
    }
    return pairs.sort(([first], [other]) => (first < other ? -1 : 1));
  }

  /** @returns {Entry[]} what waits, oldest first */
  get waiting() {
    return [...this.entries.values()];
  }

  /** @returns {Aside[]} what was refused for good, oldest first */
  get aside() {
    return [...this.putAside.values()];
  }

  /**
   * Have an entry that was put aside forgotten, or sent again.
   *
   * @param {string} id
   * @param {{ again: boolean }} how
   */
  letGo(id, { again }) {
    for (const [key, { entry }] of this.putAside) {
      if (entry.id !== id) continue;
      this.putAside.delete(key);
      this.storage?.removeItem(key);
      if (again) this.add(entry);
    }
    this.onChange();
  }

  /**
   * @param {string} key
   * @param {unknown} value
   */
  store(key, value) {
    try {
      this.storage?.setItem(key, JSON.stringify(value));
    } catch {
      this.stored = false;
    }
  }

  /** @param {Entry} entry */
  add(entry) {
    this.count += 1;
    const order = String(Math.round(entry.device_now)).padStart(15, "0");
    const key = `${this.prefix}${order}.${String(this.count).padStart(6, "0")}.${entry.id}`;
    this.entries.set(key, entry);
    this.store(key, entry);
    this.onChange();
    this.go();
  }

  /** Send now what waits. */
  go() {
    clearTimeout(this.timer);
    void this.round();
  }

  async round() {
    if (this.busy || this.entries.size === 0) return;
    this.busy = true;
    const batch = [...this.entries].slice(0, MOST_IN_ONE);
    try {
      const answer = await this.send(batch.map(([, entry]) => entry));
      this.trouble = answer.failed?.length ? "The server can't take one of the entries." : "";
      this.settle(batch, answer);
    } catch (error) {
      // all stays and is sent again
      const reason = error instanceof Error && error.name === "Error" ? error.message : "";
      this.trouble = reason || "The server can't be reached.";
      this.onChange();
    }
    this.busy = false;
    if (batch.some(([key]) => this.entries.has(key))) {
      this.wait = Math.min(LONGEST_WAIT_MS, this.wait * 2);
    } else {
      this.wait = FIRST_WAIT_MS;
      if (this.entries.size > 0) this.go(); // made while the others were on their way
      return;
    }
    this.timer = window.setTimeout(() => void this.round(), this.wait);
  }

  /**
   * @param {[string, Entry][]} batch
   * @param {Sent} answer
   */
  settle(batch, answer) {
    const taken = new Set(answer.taken);
    const refused = new Map(answer.refused.map(({ id, words }) => [id, words]));
    for (const id of answer.failed ?? []) {
      const failures = (this.failures.get(id) ?? 0) + 1;
      this.failures.set(id, failures);
      if (failures >= MOST_FAILURES) {
        refused.set(id, `The server tried ${failures} times and could not take this entry.`);
      }
    }
    for (const [key, entry] of batch) {
      const why = refused.get(entry.id);
      if (why === undefined && !taken.has(entry.id)) continue;
      if (why !== undefined) {
        const aside = { entry, why };
        const asideKey = key.replace(this.prefix, this.asidePrefix);
        this.putAside.set(asideKey, aside);
        this.store(asideKey, aside);
      }
      this.entries.delete(key);
      this.failures.delete(entry.id);
      this.storage?.removeItem(key);
      if (why === undefined) this.onTaken(entry, answer.version);
      else this.onRefused(entry, why);
    }
    this.onChange();
  }
}

/**
 * The browser's storage, or `null` where it is switched off.
 *
 * @returns {Storage | null}
 */
export function deviceStorage() {
  try {
    const probe = "simengine.probe";
    localStorage.setItem(probe, "");
    localStorage.removeItem(probe);
    return localStorage;
  } catch {
    return null;
  }
}
