/**
 * Controls for all that an entry of an action may say: settings, dose, route, the value told.
 *
 * Rules of this file:
 * - What is usual comes first, for one touch; figures to type stand after it.
 * - A dose beyond half or double of what the protocol has by its route is asked about.
 */

/** @typedef {import("./types.js").ActionView} ActionView */
/** @typedef {import("./types.js").DoseView} DoseView */
/** @typedef {import("./types.js").Figure} Figure */
/** @typedef {import("./types.js").SettingView} SettingView */
/** @typedef {{ settings: [string, Figure][], dose: [string, Figure][],
 *   spoken: [string, Figure][] }} Said */
/** @typedef {(fields: Record<string, any>) => void} Tell what it is to say, as in an `amend` */

import { button } from "./dock.js";
import { make, put } from "./dom.js";
import { figureData } from "./figures.js";
import { stepper } from "./stepper.js";
import { figureText } from "./times.js";

/** @type {Said} */
export const NOTHING = { settings: [], dose: [], spoken: [] };

const NO_LIMITS = () => ({});

/**
 * @param {ActionView} act
 * @param {Record<string, SettingView>} settings
 * @param {Said} said what the entry says so far
 * @param {Tell} tell
 * @returns {HTMLElement[]}
 */
export function saidParts(act, settings, said, tell) {
  const parts = [];
  const read = new Map(said.settings);
  for (const name of new Set([...act.settings, ...read.keys()])) {
    const setting = settings[name];
    if (setting) parts.push(settingPart({ ...setting, usual: [] }, read.get(name) ?? null, tell));
  }
  if (act.dose) parts.push(...doseParts(act.dose, new Map(said.dose), tell));
  if (act.spoken) {
    const spoken = new Map(said.spoken).get(act.spoken.observation) ?? null;
    parts.push(...spokenParts(act.spoken, spoken, tell));
  }
  return parts;
}

/**
 * @param {SettingView} setting
 * @param {Figure | null} value
 * @param {Tell} tell
 * @returns {HTMLElement}
 */
export function settingPart(setting, value, tell) {
  return stepper({ ...setting, usual_steps: [], limits: () => setting.limits, value }, (figure) =>
    tell({ settings: { [setting.name]: figureData(figure) } }),
  );
}

/**
 * What was told aloud: bands before figures.
 *
 * @param {import("./types.js").SpokenView} spoken
 * @param {Figure | null} value as told
 * @param {Tell} tell
 * @returns {HTMLElement[]}
 */
export function spokenParts(spoken, value, tell) {
  const { observation, unit, words, bands, decimals } = spoken;
  const label = `${spoken.label}, as called out`;
  const say = (/** @type {Figure} */ figure) =>
    tell({ spoken: { [observation]: figureData(figure) } });
  const parts = [];
  if (bands.length > 0) {
    const typed = { label, units: [], words: bands, step: null, limits: NO_LIMITS };
    parts.push(stepper({ ...typed, value }, ({ value: band }) => say({ value: band, unit })));
  }
  const field = { label: bands.length > 0 ? `${spoken.label}, figure` : label, words, value };
  const units = unit ? [unit] : [];
  parts.push(stepper({ ...field, units, step: 10 ** -decimals, limits: NO_LIMITS }, say));
  return parts;
}

/**
 * A drug: the protocol's doses, its flush and its time for a touch each, then figures to type.
 *
 * @param {DoseView} dose
 * @param {ReadonlyMap<string, Figure>} given
 * @param {Tell} tell
 * @param {boolean} [folded] figures to type come after a touch
 * @returns {HTMLElement[]}
 */
export function doseParts(dose, given, tell, folded = false) {
  let route = String(given.get("route")?.value ?? dose.routes[0]?.[0] ?? "");
  const limits = () => dose.limits[route] ?? {};
  const doses = dose.usual.map(({ words, dose: parts }) => {
    const chip = button(words, () => {
      route = String(parts.find(([name]) => name === "route")?.[1].value ?? route);
      tell({ dose: Object.fromEntries(parts.map(doseData)) });
      pressed(chip);
    });
    return chip;
  });
  /** @type {(name: string, label: string, figures: Figure[]) => HTMLElement[]} */
  const chips = (name, label, figures) =>
    figures.map((figure) => {
      const chip = button(`${label} ${figureText(figure.value, figure.unit)}`, () => {
        tell({ dose: { [name]: figureData(figure) } });
        pressed(chip);
      });
      return chip;
    });
  const flushes = chips("flush", "Flush", dose.flushes);
  const overs = chips("over", "Over", dose.overs);
  /** @type {HTMLElement[]} */
  const parts = [];
  const ampoule = dose.usual[0]?.dose.find(([name]) => name === "strength")?.[1];
  const of = ampoule ? `, of ${figureText(ampoule.value, ampoule.unit)}` : "";
  if (doses.length > 0) parts.push(row(`Dose by the protocol${of}`, doses));
  if (flushes.length > 0) parts.push(row("Flush", flushes));
  if (overs.length > 0) parts.push(row("Given over", overs));
  const typed = make("div", { class: "dock-body", hidden: folded });
  if (folded) {
    const open = button("Another…", () => {
      typed.hidden = false;
      open.hidden = true;
    });
    parts.push(open);
  }
  /** @type {[string, string, string[]][]} */
  const figures = [
    ["volume", "Volume", dose.volume_units],
    ["strength", "Strength", dose.strength_units],
    ["amount", "Or dose", dose.amount_units],
    ["flush", "Flush", dose.flush_units],
    ["over", "Given over", dose.over_units],
  ];
  for (const [name, label, units] of figures) {
    if (units.length === 0) continue;
    const known = name === "volume" || name === "amount" ? limits : NO_LIMITS;
    const field = { label, units, words: [], step: null, limits: known };
    typed.append(
      stepper({ ...field, value: given.get(name) ?? null }, (figure) =>
        tell({ dose: { [name]: figureData(figure) } }),
      ),
    );
  }
  if (dose.routes.length > 0) {
    const names = new Map(dose.routes.map(([name, label]) => [label, name]));
    const now = dose.routes.find(([name]) => name === given.get("route")?.value);
    const value = now ? { value: now[1], unit: null } : null;
    const field = { label: "Route", units: [], words: [...names.keys()], step: null };
    typed.append(
      stepper({ ...field, limits: NO_LIMITS, value }, ({ value: label }) => {
        route = names.get(String(label)) ?? route;
        tell({ dose: { route } });
      }),
    );
  }
  parts.push(typed, make("p", { class: "caution" }, dose.caution));
  return parts;
}

/**
 * A part of a dose as an event carries it: a route is a bare word.
 *
 * @param {[string, Figure]} part
 * @returns {[string, any]}
 */
export function doseData([name, figure]) {
  return [name, name === "route" ? figure.value : figureData(figure)];
}

/**
 * @param {string} label
 * @param {HTMLElement[]} chips
 * @returns {HTMLElement}
 */
function row(label, chips) {
  const words = make("div", { class: "words", role: "group", "aria-label": label }, ...chips);
  return make("div", { class: "stepper" }, make("span", { class: "small" }, label), words);
}

/** @param {HTMLElement} chip that was touched, among those of its row */
function pressed(chip) {
  for (const other of chip.parentElement?.children ?? []) {
    put(other, "aria-pressed", String(other === chip));
  }
}
