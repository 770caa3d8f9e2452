/**
 * What the server refused for good: shown to whoever touched it, until they let it go.
 *
 * Rules of this file:
 * - Each is told with when it was, what it was, and why it was refused: it may have to be recorded
 *   in another way.
 */

/** @typedef {import("./outbox.js").Aside} Aside */
/** @typedef {import("./outbox.js").Outbox} Outbox */

import { make } from "./dom.js";
import { clockText } from "./times.js";

/** @type {Record<string, string>} */
const KINDS = {
  action: "Action",
  amend: "Correction",
  closed: "The end",
  cue: "Cue",
  event: "Event",
  fault: "Fault",
  information: "Information",
  note: "Note",
  set: "Setting",
  state: "State",
};

/** What an entry is about, in the first of these that it has. */
const ABOUT = ["action", "setting", "name", "state", "fault", "observation", "item", "text", "why"];

/**
 * @param {Outbox} outbox
 * @param {(log_ms: number) => number} shown the time on the team's clock of an instant of the log
 * @param {() => void} changed
 * @returns {HTMLElement[]} one for each, the last first
 */
export function asideItems(outbox, shown, changed) {
  return outbox.aside.reverse().map(({ entry, why }) => {
    const button = (/** @type {string} */ words, /** @type {boolean} */ again) => {
      const made = make("button", { type: "button" }, words);
      made.addEventListener("click", () => {
        outbox.letGo(entry.id, { again });
        changed();
      });
      return made;
    };
    const when = make("strong", {}, clockText(shown(entry.at_ms)));
    const words = make("p", {}, when, ` ${entryWords(entry)}. ${why}`);
    return make("div", {}, words, button("Send again", true), button("Discard it", false));
  });
}

/**
 * @param {import("./outbox.js").Entry} entry
 * @returns {string}
 */
function entryWords({ kind, data }) {
  const about = ABOUT.map((key) => data[key]).find((value) => typeof value === "string") ?? "";
  const short = about.length > 80 ? `${about.slice(0, 80)}…` : about;
  return [KINDS[kind] ?? kind, short.replaceAll("_", " ")].filter(Boolean).join(": ");
}
