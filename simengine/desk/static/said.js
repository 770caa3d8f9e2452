/**
 * Controls for all that an entry of an action may say: settings, dose, route, the value told.
 */

/** @typedef {import("./types.js").ActionView} ActionView */
/** @typedef {import("./types.js").Figure} Figure */
/** @typedef {import("./types.js").SettingView} SettingView */
/** @typedef {{ settings: [string, Figure][], dose: [string, Figure][],
 *   spoken: [string, Figure][] }} Said */

import { make } from "./dom.js";
import { figureData } from "./figures.js";
import { stepper } from "./stepper.js";

/** @type {Said} */
export const NOTHING = { settings: [], dose: [], spoken: [] };

/**
 * @param {ActionView} act
 * @param {Record<string, SettingView>} settings
 * @param {Said} said what the entry says so far
 * @param {(fields: Record<string, any>) => void} tell what it is to say, as in an `amend`
 * @returns {HTMLElement[]}
 */
export function saidParts(act, settings, said, tell) {
  const parts = [];
  const read = new Map(said.settings);
  for (const name of new Set([...act.settings, ...read.keys()])) {
    const setting = settings[name];
    if (!setting) continue;
    const change = (/** @type {Figure} */ figure) =>
      tell({ settings: { [name]: figureData(figure) } });
    parts.push(stepper({ ...setting, value: read.get(name) ?? null }, change));
  }
  if (act.dose) parts.push(...doseParts(act.dose, new Map(said.dose), tell));
  if (act.spoken) {
    const { observation, label, unit, words, decimals } = act.spoken;
    const value = new Map(said.spoken).get(observation) ?? null;
    const asked = { label: `${label}, as told`, units: unit ? [unit] : [], words, value };
    parts.push(
      stepper({ ...asked, step: 10 ** -decimals, low: null, high: null }, (figure) =>
        tell({ spoken: { [observation]: figureData(figure) } }),
      ),
    );
  }
  return parts;
}

/**
 * @param {import("./types.js").DoseView} dose
 * @param {ReadonlyMap<string, Figure>} given
 * @param {(fields: Record<string, any>) => void} tell
 * @returns {HTMLElement[]}
 */
function doseParts(dose, given, tell) {
  /** @type {[string, string, string[]][]} */
  const figures = [
    ["volume", "Volume", dose.volume_units],
    ["strength", "Strength", dose.strength_units],
    ["amount", "Or dose", dose.amount_units],
    ["flush", "Flush", dose.flush_units],
  ];
  const typed = { words: [], step: null, low: null, high: null };
  const parts = figures
    .filter(([, , units]) => units.length > 0)
    .map(([name, label, units]) =>
      stepper({ ...typed, label, units, value: given.get(name) ?? null }, (figure) =>
        tell({ dose: { [name]: figureData(figure) } }),
      ),
    );
  if (dose.routes.length > 0) {
    const names = new Map(dose.routes.map(([name, label]) => [label, name]));
    const now = dose.routes.find(([name]) => name === given.get("route")?.value);
    const value = now ? { value: now[1], unit: null } : null;
    parts.push(
      stepper(
        { ...typed, label: "Route", units: [], words: [...names.keys()], value },
        ({ value: label }) => tell({ dose: { route: names.get(String(label)) } }),
      ),
    );
  }
  parts.push(make("p", { class: "caution" }, dose.caution));
  return parts;
}
