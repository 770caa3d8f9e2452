/**
 * The panel after a touch: what the action just recorded still asks.
 *
 * Rules of this file:
 * - The action is recorded already, with what is running; here it is only made more exact, and
 *   the next touch may come at any time.
 */

/** @typedef {import("./types.js").ActionView} ActionView */
/** @typedef {import("./desk.js").Desk} Desk */

import { button } from "./dock.js";
import { make } from "./dom.js";
import { figureData } from "./figures.js";
import { doseData, doseParts, settingPart, spokenParts } from "./said.js";
import { figureText } from "./times.js";
import { valueAt } from "./words.js";

/**
 * @param {Desk} desk
 * @param {ActionView} action
 * @param {string} id of the entry
 * @param {boolean} [focus]
 */
export function showAsks(desk, action, id, focus = false) {
  const tell = (/** @type {Record<string, any>} */ fields) => desk.recorder.correct(id, fields);
  const parts = [];
  if (action.spoken) parts.push(...toldParts(desk, action.spoken, tell));
  for (const name of action.settings) {
    const setting = desk.view.settings[name];
    if (setting) {
      parts.push(settingPart({ ...setting, usual: [] }, desk.recorder.standing(name), tell));
    }
  }
  if (action.dose) {
    parts.push(...lastDose(desk, action.dose, tell), ...doseParts(action.dose, new Map(), tell, true));
  } else parts.push(make("p", { class: "caution" }, desk.view.banner.caution));
  desk.dock.show(`asks ${id}`, `${action.label}: recorded. Anything to add?`, parts, { focus });
}

/**
 * What was told aloud with the action: bands, what is true now, and figures.
 *
 * @param {Desk} desk
 * @param {import("./types.js").SpokenView} spoken
 * @param {import("./said.js").Tell} tell
 * @returns {HTMLElement[]}
 */
function toldParts(desk, spoken, tell) {
  const { observation, unit, decimals, suggestion, bands } = spoken;
  if (!suggestion.curve || !desk.truth) return spokenParts(spoken, null, tell);
  const near = Number(valueAt(suggestion.curve, desk.recorder.now()).toFixed(decimals));
  const [first, ...others] = spokenParts(spoken, { value: near, unit }, tell);
  const right = button(`Called out ${near}`, () => {
    tell({ spoken: { [observation]: figureData({ value: near, unit }) } });
    desk.notice(`${spoken.label} called out: ${figureText(near, unit)}.`);
  });
  if (bands.length === 0) right.classList.add("main");
  return first ? [first, right, ...others] : [right];
}

/**
 * @param {Desk} desk
 * @param {import("./types.js").DoseView} dose
 * @param {import("./said.js").Tell} tell
 * @returns {HTMLElement[]}
 */
function lastDose(desk, dose, tell) {
  if (dose.last.length === 0) return [];
  const again = button("Same as last time", () => {
    tell({ dose: Object.fromEntries(dose.last.map(doseData)) });
    desk.dock.close();
  });
  return [again];
}
