/**
 * The review: the record corrected entry by entry, and the score that follows.
 *
 * Rules of this file:
 * - Corrections travel like entries of the console: kept on this device until they are durable.
 * - When they are, the whole review is read again, so what stands here is what the server computes.
 */

/** @typedef {import("./types.js").Entry} Entry */
/** @typedef {import("./types.js").SettingView} SettingView */
/**
 * @typedef {{ id: string, title: string, importance: string, verdict: string, sentence: string,
 *   unobserved: boolean, evidence: string[] }} Item
 * @typedef {{ item: string | null, what: "setting" | "dose" | "value said" | "given so",
 *   name: string, entry: string | null, at_ms: number | null, blocks: boolean,
 *   words: string }} Needed
 * @typedef {{ session: string, closed: string | null, entries: Entry[], items: Item[],
 *   needed: Needed[], acts: Record<string, import("./types.js").ActionView>,
 *   total: string, interval: string, notes: { words: string }[], busy: string[],
 *   confirmed: boolean, zero_ms: number | null, turns: [number, number, boolean][],
 *   opened_at_ms: number,
 *   settings: Record<string, SettingView>, roles: [string, string][],
 *   ways: [string, string][] }} Review
 */

import { ServerClock } from "./clock.js";
import { byId, keep, make, part, put, say } from "./dom.js";
import { choice } from "./choice.js";
import { asideItems } from "./aside.js";
import { Outbox, deviceStorage } from "./outbox.js";
import { newId, postEntries } from "./post.js";
import { figureData, merge } from "./figures.js";
import { NOTHING, saidParts } from "./said.js";
import { stepper } from "./stepper.js";
import { clockText, logTime, readClock, unitText } from "./times.js";

const NOTICE_MS = 4_000;

class ReviewPage {
  constructor() {
    const { session, events } = document.body.dataset;
    this.session = session ?? "";
    this.clock = new ServerClock("/time");
    this.clock.keepAsking();
    /** @type {Review | null} */
    this.review = null;
    /** How often the review was asked for: an answer that a later question overtook is let go. */
    this.reads = 0;
    this.outbox = new Outbox(
      this.session,
      deviceStorage(),
      (entries) => postEntries(events ?? "", entries),
      () => this.waitingChanged(),
      (_entry, why) => this.notice(`Not recorded: ${why}`),
    );
    /** @type {Record<string, any>} what the entry to be added says so far */
    this.added = {};
    /** Whether what is needed has been asked for since the page was opened. */
    this.asked = false;
    byId("confirm").addEventListener("click", () => this.confirm());
    byId("add-action").addEventListener("change", () => this.chosen());
    byId("add").addEventListener("submit", (event) => {
      event.preventDefault();
      this.add();
    });
    void this.read();
  }

  async read() {
    this.reads += 1;
    const { reads } = this;
    try {
      const response = await fetch(`/s/${this.session}/review.json`, { cache: "no-store" });
      if (!response.ok) throw new Error(String(response.status));
      const review = await response.json();
      if (reads !== this.reads) return;
      this.review = review;
      byId("link").hidden = true;
      this.draw();
    } catch {
      if (reads !== this.reads) return;
      say(byId("link"), "No answer from the server; what is shown may be out of date.");
      byId("link").hidden = false;
      setTimeout(() => void this.read(), NOTICE_MS);
    }
  }

  waitingChanged() {
    this.drawAside();
    const waits = this.outbox.waiting.length;
    const link = byId("link");
    link.hidden = waits === 0;
    say(link, `${waits} waiting to be sent.`);
    if (waits === 0) void this.read().then(() => this.notice("Recorded. The score has been worked out again."));
  }

  /** What the server refused, until it is let go. */
  drawAside() {
    const { entries = [], zero_ms: zero } = this.review ?? {};
    const shown = (/** @type {number} */ log) => {
      const before = entries.findLast(({ log_ms: at }) => at <= log);
      return log - (before ? before.log_ms - before.at_ms : 0) - (zero ?? 0);
    };
    const items = asideItems(this.outbox, shown, () => this.drawAside());
    byId("aside").hidden = items.length === 0;
    byId("aside-list").replaceChildren(...items);
  }

  /** @param {string} words */
  notice(words) {
    const notice = make("p", { class: "notice" }, words);
    byId("notices").replaceChildren(notice);
    setTimeout(() => notice.remove(), NOTICE_MS);
  }

  /**
   * @param {string} kind
   * @param {Record<string, any>} data
   * @param {number} [at_ms] of the log; now, if left out
   */
  record(kind, data, at_ms) {
    if (document.body.dataset.readOnly !== undefined) {
      this.notice("This record is read-only: it was changed after it was written.");
      return;
    }
    const now = this.clock.now() - (this.review?.opened_at_ms ?? 0);
    const at = Math.max(0, Math.round(at_ms ?? now));
    this.outbox.add({ id: newId(), kind, data, at_ms: at, device_now: this.clock.device() });
  }

  /**
   * @param {string} id
   * @param {Record<string, any>} change `fields` or `withdrawn`
   */
  amend(id, change) {
    const reason = /** @type {HTMLInputElement} */ (byId("reason")).value.trim();
    this.record("amend", { id, ...change, ...(reason ? { reason } : {}) });
  }

  /** The record is right, once what the guide needs and nobody wrote down has been asked for. */
  confirm() {
    const needed = this.review?.needed ?? [];
    if (needed.some(({ blocks }) => blocks) || (needed.length > 0 && !this.asked)) {
      this.asked = true;
      byId("needed").scrollIntoView({ block: "start" });
      byId("needed").focus();
      this.notice("Before you confirm the record: this was not written down.");
      return;
    }
    this.record("confirmed", {});
  }

  /** Ask all that an entry of the chosen action, or the chosen setting, may say. */
  chosen() {
    const { review } = this;
    const name = this.value("add-action");
    this.added = {};
    const tell = (/** @type {Record<string, any>} */ fields) => {
      this.added = merge(this.added, fields);
    };
    const setting = review?.settings[name.replace(/^set:/, "")];
    const act = review?.acts[name];
    let parts = /** @type {HTMLElement[]} */ ([]);
    if (review && act) parts = saidParts(act, review.settings, NOTHING, tell);
    else if (setting && name.startsWith("set:")) {
      const field = { ...setting, limits: () => setting.limits, value: null };
      parts = [stepper(field, (figure) => (this.added = figureData(figure)))];
    }
    byId("add-parts").replaceChildren(...parts);
    byId("add-acts").hidden = name.startsWith("set:");
  }

  /** @param {string} id @returns {string} */
  value(id) {
    return /** @type {HTMLInputElement | HTMLSelectElement} */ (byId(id)).value.trim();
  }

  add() {
    const at = this.clockTime(this.value("add-time"));
    if (at === null) return;
    const role = this.value("add-role");
    const name = this.value("add-action");
    const by = role ? { role } : {};
    if (name.startsWith("set:")) {
      if (this.added.value === undefined) {
        this.notice("Say what it was set to.");
        return;
      }
      this.record("set", { setting: name.slice(4), ...this.added, ...by }, at);
    } else {
      const how = this.value("add-how");
      const act = { action: name, phase: this.value("add-phase"), how };
      this.record("action", { ...act, ...by, ...this.added }, at);
    }
    /** @type {HTMLFormElement} */ (byId("add")).reset();
    this.chosen();
  }

  /**
   * The log's time of a time of the team's clock, such as 1:18; `null` if it is none.
   *
   * @param {string} text
   * @returns {number | null}
   */
  clockTime(text) {
    const shown = readClock(text);
    if (shown === null || !this.review) return null;
    const own = (this.review.zero_ms ?? 0) + shown;
    const { at, skipped } = logTime(this.review.turns, own);
    if (skipped) this.notice(`${text} was skipped over: the entry is put at the skip.`);
    return at;
  }

  draw() {
    const { review } = this;
    if (!review) return;
    const standing = review.closed ? `This session is over: ${review.closed}.` : "Still running.";
    const confirmed = review.confirmed
      ? " The record has been confirmed."
      : " Nobody has confirmed the record yet.";
    say(byId("standing"), standing + confirmed);
    say(byId("total"), [`Score: ${review.total}`, review.interval].filter(Boolean).join(" · "));
    this.drawNotes(review);
    this.drawNeeded(review);
    this.drawAside();
    keep(
      byId("entries"),
      review.entries,
      ({ id }) => id,
      () => this.createEntry(),
      (element, entry) => this.drawEntry(element, entry, review),
    );
    keep(
      byId("items"),
      review.items,
      ({ id }) => id,
      (item) => this.createItem(item),
      drawItem,
    );
  }

  /** @param {Review} review */
  drawNotes(review) {
    const words = [
      ...review.notes.map((note) => note.words),
      ...review.busy.map((title) => `${title}: missed, or just not seen?`),
    ];
    byId("notes").hidden = words.length === 0;
    byId("notes-list").replaceChildren(...words.map((line) => make("li", {}, line)));
  }

  /** @param {Review} review */
  drawNeeded(review) {
    byId("needed").hidden = review.needed.length === 0;
    keep(
      byId("needed-list"),
      review.needed,
      (needed) => [needed.item, needed.what, needed.name, needed.entry, needed.at_ms].join(" "),
      (needed) => this.createNeeded(needed),
      () => undefined,
    );
  }

  /**
   * @param {Needed} needed
   * @returns {HTMLElement}
   */
  createNeeded(needed) {
    /** @param {string} words @param {() => void} run */
    const press = (words, run) => {
      const control = make("button", { type: "button" }, words);
      control.addEventListener("click", run);
      return control;
    };
    const { item, entry, what, blocks, words } = needed;
    const parts = [make("span", { class: "sentence" }, unitText(words))];
    if (blocks) parts.push(make("strong", {}, "Needed before the record can be confirmed."));
    const row = [press("Fill it in", () => this.fillIn(needed))];
    if (what === "given so" && entry !== null) {
      row.push(press("It was given like that", () => this.amend(entry, { fields: { dose: {} } })));
    }
    if (item !== null) {
      row.push(press("Nobody saw", () => this.record("unobserved", { item })));
    }
    return make("li", {}, ...parts, make("span", { class: "row" }, ...row));
  }

  /** @param {Needed} needed */
  fillIn({ entry, name, at_ms: at }) {
    const details = entry && document.querySelector(`#entries [data-entry="${entry}"] details`);
    if (details instanceof HTMLDetailsElement) {
      details.open = true;
      details.scrollIntoView({ block: "center" });
      details.querySelector("summary")?.focus();
      return;
    }
    const time = /** @type {HTMLInputElement} */ (byId("add-time"));
    /** @type {HTMLSelectElement} */ (byId("add-action")).value = `set:${name}`;
    this.chosen();
    if (at !== null) time.value = clockText(at - (this.review?.zero_ms ?? 0)).replace("−", "-");
    byId("add").scrollIntoView({ block: "center" });
    byId("add-time").focus();
  }

  /**
   * @param {Item} item
   * @returns {HTMLElement}
   */
  createItem({ id }) {
    const unseen = make("button", { type: "button" }, "Could not be seen");
    unseen.addEventListener("click", () => this.record("unobserved", { item: id }));
    return make(
      "li",
      {},
      make("strong", { class: "what" }),
      make("span", { class: "sentence" }),
      unseen,
    );
  }

  /** @returns {HTMLElement} an entry that is not drawn anew under a finger or while one types */
  createEntry() {
    const element = make("li");
    const hold = () => (element.dataset.held = "");
    const release = () => {
      delete element.dataset.held;
      if (element.dataset.waits !== undefined) this.draw();
    };
    element.addEventListener("input", hold);
    // what was typed is taken; the next view has it
    element.addEventListener("change", () => delete element.dataset.held);
    element.addEventListener("focusout", release);
    element.addEventListener("pointerdown", hold);
    element.addEventListener("click", release);
    element.addEventListener("pointercancel", release);
    return element;
  }

  /**
   * @param {HTMLElement} element
   * @param {Entry} entry
   * @param {Review} review
   */
  drawEntry(element, entry, review) {
    put(element, "data-entry", entry.id);
    const stamp = JSON.stringify(entry);
    if (element.dataset.drawn === stamp) return;
    if (isInHand(element)) {
      element.dataset.waits = "";
      return;
    }
    delete element.dataset.waits;
    element.dataset.drawn = stamp;
    const open = element.querySelector("details")?.open ?? false;
    const when = clockText(entry.at_ms - (review.zero_ms ?? 0));
    const details = make(
      "details",
      { open, class: `${entry.removed ? "removed" : ""}${entry.corrected ? " corrected" : ""}` },
      make(
        "summary",
        {},
        make("span", { class: "when" }, when),
        make("span", { class: "words" }, unitText(entry.words)),
      ),
      make("div", { class: "controls" }, ...this.controls(entry, review)),
    );
    replaceInside(element, details);
  }

  /**
   * The time of an entry, typed.
   *
   * @param {Entry} entry
   * @param {Review} review
   * @returns {HTMLElement}
   */
  timePart(entry, review) {
    const shown = clockText(entry.at_ms - (review.zero_ms ?? 0)).replace("−", "-");
    const input = make("input", { maxlength: "8", size: "6", autocomplete: "off" });
    input.value = shown;
    input.addEventListener("change", () => {
      const at = this.clockTime(input.value.trim());
      if (at === null) this.notice("Expected minutes and seconds, such as 1:18.");
      else this.amend(entry.id, { fields: { at_ms: Math.max(0, at) } });
    });
    return make("label", { class: "field small" }, "At (minutes:seconds)", input);
  }

  /**
   * @param {Entry} entry
   * @param {Review} review
   * @returns {HTMLElement[]}
   */
  controls(entry, review) {
    /** @param {string} words @param {() => void} run */
    const press = (words, run) => {
      const control = make("button", { type: "button" }, words);
      control.addEventListener("click", run);
      return control;
    };
    const parts = [];
    if (entry.can_move && !entry.removed) {
      for (const seconds of [-5, -1, 1, 5]) {
        const words = `${seconds < 0 ? "−" : "+"}${Math.abs(seconds)} s`;
        const to = Math.max(0, entry.log_ms + seconds * 1000);
        parts.push(press(words, () => this.amend(entry.id, { fields: { at_ms: to } })));
      }
      parts.push(this.timePart(entry, review));
    }
    if (entry.action !== null && !entry.removed) {
      const change = (/** @type {Record<string, any>} */ fields) =>
        this.amend(entry.id, { fields });
      parts.push(
        choice("Role", review.roles, entry.role, (role) => change({ role })),
        choice("Way", review.ways, entry.how ?? "done", (how) => change({ how })),
      );
      const act = review.acts[entry.action];
      if (act) parts.push(...saidParts(act, review.settings, entry, change));
    } else if (entry.kind === "set" && !entry.removed) {
      const change = (/** @type {Record<string, any>} */ fields) =>
        this.amend(entry.id, { fields });
      parts.push(choice("Role", review.roles, entry.role, (role) => change({ role })));
      for (const [name, figure] of entry.settings) {
        const setting = review.settings[name];
        if (!setting) continue;
        const field = { ...setting, usual_steps: [], limits: () => setting.limits, value: figure };
        parts.push(stepper(field, (next) => change(figureData(next))));
      }
    }
    if (entry.can_remove && !entry.removed) {
      parts.push(press("Remove", () => this.amend(entry.id, { withdrawn: true })));
    }
    if (parts.length === 0) {
      const why = entry.removed
        ? "Removed. Add it again below if it did happen."
        : "The program wrote this; it stays as it is.";
      parts.push(make("p", { class: "soft" }, why));
    }
    return parts;
  }
}

/**
 * @param {HTMLElement} element
 * @returns {boolean} whether somebody touches it or types in it, or has not answered what was asked
 */
function isInHand(element) {
  const doubt = element.querySelector(".doubt:not([hidden])");
  return element.dataset.held !== undefined || doubt !== null;
}

/**
 * Draw what is in an element anew: who stands at one of its controls stands there still.
 *
 * @param {HTMLElement} element
 * @param {HTMLElement} inside
 */
function replaceInside(element, inside) {
  const controls = () => [...element.querySelectorAll("summary, button, input, select")];
  const stood = document.activeElement;
  const place = stood ? controls().indexOf(stood) : -1;
  const selected = stood instanceof HTMLInputElement && [stood.selectionStart, stood.selectionEnd];
  element.replaceChildren(inside);
  if (place < 0) return;
  const control = controls()[place] ?? part(element, "summary");
  if (control instanceof HTMLElement) control.focus({ preventScroll: true });
  if (selected && control instanceof HTMLInputElement) control.setSelectionRange(selected[0] ?? null, selected[1] ?? null);
}

/**
 * @param {HTMLElement} element
 * @param {Item} item
 */
function drawItem(element, item) {
  say(part(element, ".what"), `${item.title}: ${item.verdict}`);
  say(part(element, ".sentence"), unitText(item.sentence));
  const unseen = part(element, "button");
  unseen.hidden = item.unobserved;
  put(unseen, "aria-label", `${item.title}: could not be seen`);
}

new ReviewPage();
