/**
 * What is expected now: open items of the marking guide, soonest first.
 *
 * Rules of this file:
 * - An educator who fears being led can switch the list off; it stays off on this device.
 * - Nobody is blamed for what nobody could see: "not seen" takes an item out of the score.
 */

/** @typedef {import("./types.js").Expected} Item */

import { sinceTouch, touchStamp } from "./dock.js";
import { byId, keep, make, part, put, say } from "./dom.js";
import { may } from "./rights.js";
import { clockText, leftText } from "./times.js";

const STILL_MS = 900;
const ROW_PX = 44;

export class ExpectedList {
  /** @param {import("./desk.js").Desk} desk */
  constructor(desk) {
    this.desk = desk;
    this.list = byId("expected-list");
    this.title = byId("expected-title");
    this.fold = byId("expected-fold");
    this.more = byId("expected-more");
    this.settled = false;
    /** How many rows are seen: told when that changes, lest the page be laid out at each tick. */
    this.rows = 1;
    new ResizeObserver(() => this.measure()).observe(this.list);
    this.fold.addEventListener("click", () => {
      this.settled = !this.settled;
      this.tick();
    });
  }

  measure() {
    this.rows = Math.max(1, Math.floor(this.list.clientHeight / ROW_PX));
  }

  tick() {
    const now = this.desk.recorder.now();
    const { expected } = this.desk.view;
    const open = expected.filter(({ standing }) => standing === "open" || standing === "later");
    const settled = expected.filter(({ standing }) => standing !== "open" && standing !== "later");
    say(this.title, this.settled ? "Done or past" : "Expected now");
    say(this.fold, this.settled ? "Expected" : `${settled.length} done or past`);
    const shown = this.settled ? settled : open;
    const more = shown.length - this.rows;
    say(this.more, more > 0 ? `and ${more} more below` : "");
    keep(
      this.list,
      shown,
      ({ item }) => item,
      (item) => this.create(item),
      (element, item) => this.update(element, item, now),
      sinceTouch() > STILL_MS,
    );
  }

  /**
   * @param {Item} item
   * @returns {HTMLElement}
   */
  create({ item }) {
    const answer = make(
      "button",
      { type: "button", class: "answer" },
      make("span", { class: "what" }),
      make("span", { class: "left" }),
    );
    answer.addEventListener("click", (event) => {
      const now = this.desk.view.expected.find((each) => each.item === item);
      if (now && now.done_ms === null) this.desk.answer(now, touchStamp(event));
    });
    const unseen = make("button", { type: "button", class: "not-seen" }, "not seen");
    unseen.addEventListener("click", (event) => {
      this.desk.recorder.record("unobserved", { item }, touchStamp(event));
    });
    if (!may("unobserved")) unseen.classList.add("not-here");
    return make("li", {}, answer, unseen);
  }

  /**
   * @param {HTMLElement} element
   * @param {Item} item
   * @param {number} now
   */
  update(element, item, now) {
    say(part(element, ".what"), item.title);
    say(part(element, ".left"), standingText(item, now, this.desk.view.clock.zero_ms ?? 0));
    const answer = part(element, ".answer");
    put(answer, "title", item.words);
    const thing = item.action ?? item.setting ?? item.fault;
    put(answer, "disabled", item.done_ms !== null || thing === null);
    const unseen = part(element, ".not-seen");
    unseen.hidden = item.standing === "unobserved" || item.standing === "done";
    put(unseen, "aria-label", `${item.title}: could not be seen`);
  }
}

/**
 * @param {Item} item
 * @param {number} now
 * @param {number} zero
 * @returns {string}
 */
function standingText(item, now, zero) {
  if (item.standing === "done") {
    return item.done_ms === null ? "done" : `done ${clockText(item.done_ms - zero)}`;
  }
  if (item.standing !== "open" && item.standing !== "later") return item.standing;
  const { opens_ms: opens, ideal_ms: ideal, latest_ms: latest } = item;
  if (opens !== null && opens > now) return `from ${clockText(opens - zero)}`;
  const until = ideal !== null && ideal > now ? ideal : latest;
  if (until === null) return "open";
  return until > now ? `${leftText(until - now)} left` : "past its time";
}
