/**
 * The panel after a touch: what the action just recorded still asks.
 *
 * Rules of this file:
 * - The action is recorded already, with what is running; here it is only made more exact, and
 *   the next touch may come at any time.
 */

/** @typedef {import("./types.js").ActionView} ActionView */
/** @typedef {import("./types.js").DoseView} DoseView */
/** @typedef {import("./types.js").Figure} Figure */
/** @typedef {import("./desk.js").Desk} Desk */

import { button } from "./dock.js";
import { make } from "./dom.js";
import { figureData } from "./figures.js";
import { stepper } from "./stepper.js";
import { figureText } from "./times.js";
import { valueAt } from "./words.js";

/**
 * @param {Desk} desk
 * @param {ActionView} action
 * @param {string} id of the entry
 * @param {boolean} [focus]
 */
export function showAsks(desk, action, id, focus = false) {
  const parts = [
    ...(action.spoken ? spokenParts(desk, action, id) : []),
    ...settingParts(desk, action.settings, id),
    ...(action.dose ? doseParts(desk, action.dose, id) : []),
  ];
  if (!action.dose) parts.push(make("p", { class: "caution" }, desk.view.banner.caution));
  desk.dock.show(`asks ${id}`, `${action.label}: recorded. More exactly?`, parts, { focus });
}

/**
 * Controls for the settings that were read with an action.
 *
 * @param {Desk} desk
 * @param {readonly string[]} names
 * @param {string} id
 * @param {ReadonlyMap<string, Figure>} [read] as recorded; else as they stand
 * @returns {HTMLElement[]}
 */
export function settingParts(desk, names, id, read) {
  const parts = [];
  for (const name of names) {
    const setting = desk.view.settings[name];
    if (!setting) continue;
    const value = read ? (read.get(name) ?? null) : desk.recorder.standing(name);
    const change = (/** @type {Figure} */ figure) =>
      desk.recorder.correct(id, { settings: { [name]: figureData(figure) } });
    parts.push(stepper({ ...setting, value }, change));
  }
  return parts;
}

/**
 * What was told aloud with the action.
 *
 * @param {Desk} desk
 * @param {ActionView} action
 * @param {string} id
 * @returns {HTMLElement[]}
 */
function spokenParts(desk, action, id) {
  const { spoken } = action;
  if (!spoken) return [];
  const { observation, unit, words, decimals, suggestion } = spoken;
  const label = `${spoken.label}, as told`;
  const tell = (/** @type {Figure} */ figure) =>
    desk.recorder.correct(id, { spoken: { [observation]: figureData(figure) } });
  const asked = { label, units: unit ? [unit] : [], words, low: null, high: null };
  const step = 10 ** -decimals;
  if (!suggestion.curve || !desk.truth) return [stepper({ ...asked, step, value: null }, tell)];
  const near = Number(valueAt(suggestion.curve, desk.recorder.now()).toFixed(decimals));
  const control = stepper({ ...asked, step, value: { value: near, unit } }, tell);
  const said = () => {
    tell({ value: near, unit });
    desk.notice(`${spoken.label} told: ${figureText(near, unit)}.`);
  };
  const right = button(`Told ${near}`, said, { class: "main" });
  return [control, right];
}

/**
 * @param {Desk} desk
 * @param {DoseView} dose
 * @param {string} id
 * @returns {HTMLElement[]}
 */
function doseParts(desk, dose, id) {
  const last = new Map(dose.last);
  /** @param {string} name @param {Figure} figure */
  const tell = (name, figure) =>
    desk.recorder.correct(id, { dose: { [name]: figureData(figure) } });
  /** @type {HTMLElement[]} */
  const parts = [];
  /** @type {[string, string, string[]][]} */
  const figures = [
    ["volume", "Volume", dose.volume_units],
    ["strength", "Strength", dose.strength_units],
    ["amount", "Or dose", dose.amount_units],
    ["flush", "Flush", dose.flush_units],
  ];
  for (const [name, label, units] of figures) {
    if (units.length === 0) continue;
    const asked = { label, units, words: [], step: null, low: null, high: null, value: null };
    parts.push(stepper(asked, (figure) => tell(name, figure)));
  }
  if (dose.routes.length > 0) parts.push(routePart(desk, dose, id));
  if (last.size > 0) {
    parts.push(
      button("As the last time", () => {
        for (const [name, figure] of last) {
          if (name === "route") desk.recorder.correct(id, { dose: { route: figure.value } });
          else tell(name, figure);
        }
        desk.dock.close();
      }),
    );
  }
  parts.push(make("p", { class: "caution" }, dose.caution));
  return parts;
}

/**
 * @param {Desk} desk
 * @param {DoseView} dose
 * @param {string} id
 * @returns {HTMLElement}
 */
function routePart(desk, dose, id) {
  const names = new Map(dose.routes.map(([name, label]) => [label, name]));
  const words = [...names.keys()];
  const asked = {
    label: "Route",
    units: [],
    words,
    step: null,
    low: null,
    high: null,
    value: null,
  };
  return stepper(asked, ({ value }) => {
    desk.recorder.correct(id, { dose: { route: names.get(String(value)) } });
  });
}
