/**
 * The top of the console: the clock, the baby as a sentence, what runs out, what comes next.
 */

/** @typedef {import("./types.js").Coming} Coming */

import { button } from "./dock.js";
import { byId, keep, make, part, put, say } from "./dom.js";
import { may } from "./rights.js";
import { plainPart, sentence } from "./sentence.js";
import { capital, clockText, leftText, unitText } from "./times.js";

const SHORT_MS = 5 * 60_000;
const SHORT_TEXT = 70;

export class Head {
  /** @param {import("./desk.js").Desk} desk */
  constructor(desk) {
    this.desk = desk;
    this.clock = byId("clock");
    this.note = byId("clock-note");
    this.sentence = byId("sentence");
    this.supplies = byId("supplies");
    this.next = byId("next");
    this.nextList = byId("next-list");
    /** Which parts of the sentence are shown. */
    this.known = true;
  }

  tick() {
    const now = this.desk.recorder.now();
    this.drawClock(now);
    this.drawBaby(now);
    this.drawSupplies(now);
    this.drawNext(now);
  }

  /** @param {number} now */
  drawClock(now) {
    const { clock } = this.desk.view;
    const zero = clock.zero_ms;
    say(this.clock, zero === null ? clockText(now) : clockText(now - zero));
    const coming = clock.marks.find(({ at_ms: at }) => at > now);
    const parts = [zero === null ? "since the start" : clock.words];
    // one line whatever happens, so that nothing below moves under a finger
    if (this.desk.recorder.paused) parts.push("paused");
    else if (coming) parts.push(`next mark ${coming.words}`);
    say(this.note, parts.join(" · "));
  }

  /** @param {number} now */
  drawBaby(now) {
    const { baby, state_title: title } = this.desk.view;
    const sentences = sentence(baby, this.desk.truth, this.known, now);
    const nothing = plainPart("state", `${title}.`, "true");
    const parts = sentences.length > 0 ? sentences : [nothing];
    keep(
      this.sentence,
      parts,
      ({ key }) => key,
      ({ tells }) => (tells !== null && may("reveal") ? this.teller(tells) : make("span")),
      (element, { text, sort, moving, large }) => {
        say(element, text);
        put(element, "class", `${sort}${moving ? " moving" : ""}${large ? " large" : ""}`);
      },
    );
  }

  /**
   * A part of the sentence that tells the team what it says, at a touch.
   *
   * @param {string} observation
   * @returns {HTMLElement}
   */
  teller(observation) {
    const tell = (/** @type {number} */ stamp) => this.desk.tell(observation, stamp);
    return button("", tell, { title: "Tell the team" });
  }

  /**
   * What runs out, and how long the clock has stood still in all.
   *
   * @param {number} now
   */
  drawSupplies(now) {
    const { paused_ms: paused } = this.desk.view.now;
    const still = byId("paused");
    still.hidden = paused === 0;
    say(still, `Paused for ${clockText(paused)} in all`);
    keep(
      this.supplies,
      this.desk.view.supplies,
      ({ name }) => name,
      () => make("li"),
      (element, supply) => {
        const left = supply.empty_ms === null ? null : supply.empty_ms - now;
        const words =
          left === null
            ? supply.words
            : left <= 0
              ? "empty"
              : runningWords(supply, left, now);
        say(element, `${supply.label}: ${words}`);
        element.classList.toggle("short", left !== null && left < SHORT_MS);
      },
    );
  }

  /** @param {number} now */
  drawNext(now) {
    const { coming, now: when, lost } = this.desk.view;
    const warning = coming.some(
      ({ warns_from_ms: from, due_ms: due }) =>
        from !== null && due !== null && from <= now && !when.held,
    );
    this.next.classList.toggle("warn", warning);
    /** @type {{ key: string, words: string, soon: boolean, only?: string }[]} */
    const lines = coming.map((change) => ({
      key: `rule ${change.index}`,
      words: comingText(change, now, when.held, SHORT_TEXT),
      soon: change.due_ms !== null,
    }));
    const { ending_ms: ending, closed } = this.desk.view;
    if (ending !== null && closed === null) {
      const words = `The session closes in ${leftText(ending - now)}.`;
      lines.push({ key: "ending", words, soon: true });
    }
    const later = lines.filter(({ soon }) => !soon).length;
    if (later > 0 && later < lines.length) {
      // on a phone these stand for the lines that have no time yet
      lines.push({ key: "later", words: `${later} more under “Go to…”.`, soon: false, only: "few" });
    }
    for (const words of lost) {
      lines.push({ key: `lost ${words}`, words, soon: false, only: "always" });
    }
    keep(
      this.nextList,
      lines,
      ({ key }) => key,
      () => make("li"),
      (element, { words, soon, only }) => {
        say(element, words);
        put(element, "class", only ?? (soon ? "soon" : "later"));
      },
    );
    const hold = byId("hold");
    const { held } = this.desk.recorder;
    say(part(hold, "span"), held ? "Release" : "Hold");
    put(hold, "aria-pressed", String(held));
    const event = coming.find(({ on }) => on !== null)?.on ?? null;
    const press = byId("event");
    press.hidden = event === null;
    say(part(press, "span"), capital((event ?? "").replaceAll("_", " ")));
  }
}

/**
 * A transition in words: what it leads to, why, when, and what it waits for.
 *
 * @param {Coming} coming
 * @param {number} now
 * @param {boolean} held
 * @param {number} [room] about how many letters the waits may take; all are told if left out
 * @returns {string}
 */
export function comingText(coming, now, held, room = Infinity) {
  const { due_ms: due, holds_since_ms: since, lasting_ms: lasting } = coming;
  const lead = `${coming.to_title}: ${coming.words}`;
  if (held && due !== null && due <= now) return `${lead} (due, held)`;
  const worse = coming.worsens ? "worse " : "";
  if (due !== null) return `${lead} (${worse}in ${leftText(due - now)}${held ? ", held" : ""})`;
  if (since !== null && lasting > 0) {
    const done = Math.min(lasting, Math.max(0, now - since));
    return `${lead} (${Math.floor(done / 1000)} of ${lasting / 1000} s)`;
  }
  const waits = waitsText(coming, room);
  return waits === "" ? lead : `${lead} (waiting for ${waits})`;
}

/**
 * What a transition still waits for, as many of it as there is room for.
 *
 * @param {Coming} coming
 * @param {number} room
 * @returns {string}
 */
function waitsText({ waits }, room) {
  const open = waits.filter(({ met }) => !met).map(({ text }) => unitText(text));
  const shown = [];
  let length = 0;
  for (const text of open) {
    length += text.length;
    if (length <= room) shown.push(text);
  }
  const rest = open.length - shown.length;
  if (rest === 0) return shown.join("; ");
  return shown.length > 0 ? `${shown.join("; ")}; and ${rest} more` : `${rest} more`;
}

/**
 * What a supply that runs shows on its dial, and for how many minutes it still does.
 *
 * @param {import("./types.js").SupplyView} supply
 * @param {number} left until it is empty, ms
 * @param {number} now
 * @returns {string}
 */
function runningWords({ gauge, reserve, ...supply }, left, now) {
  const contents = supply.contents - supply.rate_per_ms * (now - supply.start_ms);
  const stands =
    gauge === null
      ? ""
      : `${Math.round((Number(gauge.value) * contents) / supply.capacity)} ${gauge.unit}, `;
  const minutes = Math.floor((left * (1 - reserve)) / 60_000);
  const end = reserve > 0 ? `to its ${Math.round(100 * reserve)} % reserve` : "left";
  return `${stands}${minutes} min ${end}`;
}
