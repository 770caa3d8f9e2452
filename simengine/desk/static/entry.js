/**
 * The panel of one entry of the record: earlier or later, who, how, with what, or away with it.
 */

/** @typedef {import("./desk.js").Desk} Desk */

import { choice } from "./choice.js";
import { button } from "./dock.js";
import { make } from "./dom.js";
import { figureData } from "./figures.js";
import { mayCorrect } from "./rights.js";
import { saidParts } from "./said.js";
import { stepper } from "./stepper.js";
import { clockText, logTime, readClock } from "./times.js";

export const WAYS = [
  ["done", "done"],
  ["simulated", "simulated"],
  ["said", "said only"],
  ["ordered", "ordered only"],
  ["attempted", "attempted"],
];

/**
 * @param {Desk} desk
 * @param {string} id
 */
export function showEntry(desk, id) {
  const entry = desk.view.tape.find((each) => each.id === id);
  if (!entry) {
    desk.notice("This entry is still on its way.");
    return;
  }
  const zero = desk.view.clock.zero_ms ?? 0;
  const heading = () => {
    const at = desk.recorder.scenario(desk.recorder.whenOf(id) ?? entry.log_ms);
    return `${entry.words}, at ${clockText(at - zero)}`;
  };
  /** @type {HTMLElement[]} */
  const parts = [];
  const open = mayCorrect(entry.by);
  if (open && entry.can_move) parts.push(timeButtons(desk, id), typedTime(desk, id));
  const tell = (/** @type {Record<string, any>} */ fields) => desk.recorder.correct(id, fields);
  const act = entry.action === null ? undefined : desk.view.actions[entry.action];
  if (open && (act || entry.setting !== null)) {
    parts.push(choice("Role", desk.view.roles, entry.role, (role) => tell({ role })));
  }
  if (open && act) {
    parts.push(choice("Way", WAYS, entry.how ?? "done", (how) => tell({ how })));
    if (entry.phase !== "stop") parts.push(...saidParts(act, desk.view.settings, entry, tell));
  }
  const setting = entry.setting === null ? undefined : desk.view.settings[entry.setting];
  if (open && setting) {
    const value = entry.settings[0]?.[1] ?? null;
    const field = { ...setting, usual_steps: [], limits: () => setting.limits, value };
    parts.push(stepper(field, (figure) => tell(figureData(figure))));
  }
  if (open && entry.can_remove) {
    parts.push(
      button("Remove", () => {
        desk.recorder.finish();
        desk.recorder.keep("amend", { id, withdrawn: true }, desk.recorder.logNow());
        desk.dock.close();
        desk.notice(`Removed: ${entry.words}. Undo brings it back.`);
      }),
    );
  }
  if (parts.length === 0) {
    const why = entry.by_person
      ? "The facilitator can correct this."
      : "The program wrote this; it stays as it is.";
    parts.push(make("p", {}, why));
  }
  desk.dock.show(`entry ${id}`, heading(), parts, {
    redraw: () => (desk.dock.title.textContent = heading()),
  });
}

/**
 * @param {Desk} desk
 * @param {string} id
 * @returns {HTMLElement}
 */
function timeButtons(desk, id) {
  const row = make("div", { class: "row", role: "group", "aria-label": "Time" });
  for (const seconds of [-5, -1, 1, 5]) {
    const words = `${seconds < 0 ? "−" : "+"}${Math.abs(seconds)} s`;
    row.append(button(words, () => desk.move(id, seconds * 1000)));
  }
  return row;
}

/**
 * The time of an entry, typed as the clock shows it.
 *
 * @param {Desk} desk
 * @param {string} id
 * @returns {HTMLElement}
 */
function typedTime(desk, id) {
  const input = make("input", { maxlength: "8", size: "6", autocomplete: "off", placeholder: "1:18" });
  input.addEventListener("change", () => {
    const shown = readClock(input.value);
    if (shown === null) {
      desk.notice("Expected minutes and seconds, such as 1:18.");
      return;
    }
    const own = (desk.view.clock.zero_ms ?? 0) + shown;
    desk.moveTo(id, logTime(desk.view.turns, own).at);
    input.value = "";
  });
  return make("label", { class: "field small" }, "At (minutes:seconds)", input);
}
