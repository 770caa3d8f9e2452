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
 * @typedef {{ session: string, closed: string | null, entries: Entry[], items: Item[],
 *   total: string, interval: string, notes: { words: string }[], busy: string[],
 *   confirmed: boolean, zero_ms: number | null, opened_at_ms: number,
 *   settings: Record<string, SettingView>, roles: [string, string][],
 *   ways: [string, string][] }} Review
 */

import { ServerClock } from "./clock.js";
import { byId, keep, make, part, put, say } from "./dom.js";
import { choice } from "./choice.js";
import { asideItems } from "./aside.js";
import { Outbox, deviceStorage } from "./outbox.js";
import { newId, postEntries } from "./post.js";
import { figureData } from "./figures.js";
import { stepper } from "./stepper.js";
import { clockText, unitText } from "./times.js";

const NOTICE_MS = 4_000;

class ReviewPage {
  constructor() {
    const { session, events } = document.body.dataset;
    this.session = session ?? "";
    this.clock = new ServerClock("/time");
    this.clock.keepAsking();
    /** @type {Review | null} */
    this.review = null;
    this.outbox = new Outbox(
      this.session,
      deviceStorage(),
      (entries) => postEntries(events ?? "", entries),
      () => this.waitingChanged(),
      (_entry, why) => this.notice(`Not recorded: ${why}`),
    );
    byId("confirm").addEventListener("click", () => this.record("confirmed", {}));
    byId("add").addEventListener("submit", (event) => {
      event.preventDefault();
      this.add();
    });
    void this.read();
  }

  async read() {
    try {
      const response = await fetch(`/s/${this.session}/review.json`, { cache: "no-store" });
      if (!response.ok) throw new Error(String(response.status));
      this.review = await response.json();
      byId("link").hidden = true;
      this.draw();
    } catch {
      say(byId("link"), "No answer from the server; what stands here may be old.");
      byId("link").hidden = false;
      setTimeout(() => void this.read(), NOTICE_MS);
    }
  }

  waitingChanged() {
    this.drawAside();
    const waits = this.outbox.waiting.length;
    const link = byId("link");
    link.hidden = waits === 0;
    say(link, `${waits} waiting.`);
    if (waits === 0) void this.read().then(() => this.notice("Recorded; the score is told anew."));
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

  add() {
    const value = (/** @type {string} */ id) =>
      /** @type {HTMLInputElement | HTMLSelectElement} */ (byId(id)).value.trim();
    const match = /^(-?)(\d+):([0-5]\d)$/.exec(value("add-time"));
    if (!match || !this.review) return;
    const size = (Number(match[2]) * 60 + Number(match[3])) * 1000;
    const scenario = (this.review.zero_ms ?? 0) + (match[1] === "-" ? -size : size);
    const role = value("add-role");
    const data = {
      action: value("add-action"),
      phase: value("add-phase"),
      ...(role ? { role } : {}),
    };
    this.record("action", data, this.logOf(scenario));
    /** @type {HTMLFormElement} */ (byId("add")).reset();
  }

  /**
   * The log's time of a scenario time: the pauses before it put back.
   *
   * @param {number} scenario ms
   * @returns {number}
   */
  logOf(scenario) {
    const before = this.review?.entries.findLast(({ at_ms: at }) => at <= scenario);
    return scenario + (before ? before.log_ms - before.at_ms : 0);
  }

  draw() {
    const { review } = this;
    if (!review) return;
    const standing = review.closed ? `This session is over: ${review.closed}.` : "Still running.";
    const confirmed = review.confirmed
      ? " Somebody has said that the record is right."
      : " Nobody has said yet that the record is right.";
    say(byId("standing"), standing + confirmed);
    say(byId("total"), [`Score: ${review.total}`, review.interval].filter(Boolean).join(" · "));
    this.drawNotes(review);
    this.drawAside();
    keep(
      byId("entries"),
      review.entries,
      ({ id }) => id,
      () => make("li"),
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
      ...review.busy.map((title) => `${title}: missed, or only not seen?`),
    ];
    byId("notes").hidden = words.length === 0;
    byId("notes-list").replaceChildren(...words.map((one) => make("li", {}, one)));
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

  /**
   * @param {HTMLElement} element
   * @param {Entry} entry
   * @param {Review} review
   */
  drawEntry(element, entry, review) {
    const stamp = JSON.stringify(entry);
    if (element.dataset.drawn === stamp) return;
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
    element.replaceChildren(details);
  }

  /**
   * @param {Entry} entry
   * @param {Review} review
   * @returns {HTMLElement[]}
   */
  controls(entry, review) {
    /** @param {string} words @param {() => void} run */
    const press = (words, run) => {
      const one = make("button", { type: "button" }, words);
      one.addEventListener("click", run);
      return one;
    };
    const parts = [];
    if (entry.can_move && !entry.removed) {
      for (const seconds of [-5, -1, 1, 5]) {
        const words = `${seconds < 0 ? "−" : "+"}${Math.abs(seconds)} s`;
        const to = Math.max(0, entry.log_ms + seconds * 1000);
        parts.push(press(words, () => this.amend(entry.id, { fields: { at_ms: to } })));
      }
    }
    if (entry.action !== null && !entry.removed) {
      const change = (/** @type {Record<string, any>} */ fields) =>
        this.amend(entry.id, { fields });
      parts.push(
        choice("Role", review.roles, entry.role, (role) => change({ role })),
        choice("Way", review.ways, entry.how ?? "done", (how) => change({ how })),
      );
      for (const [name, figure] of entry.settings) {
        const setting = review.settings[name];
        if (!setting) continue;
        parts.push(
          stepper({ ...setting, value: figure }, (next) =>
            change({ settings: { [name]: figureData(next) } }),
          ),
        );
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
