/**
 * What is chosen with something that is done: a dose and its way in, or a value that is told.
 *
 * Rules of this file:
 * - No figure is offered: whoever plays has to know it. The caution stands beside the figures.
 */

/** @typedef {import("./rehearsal_types.js").Act} Act */

import { byId, make } from "./dom.js";

/**
 * @param {Act} act
 * @param {(key: string) => string} word
 * @param {(chosen: Record<string, any>) => void} done
 */
export function askFor(act, word, done) {
  const dialog = /** @type {HTMLDialogElement} */ (byId("ask"));
  /** @type {[string, HTMLInputElement][]} */
  const figures = [];
  const parts = [];
  for (const [name, label, unit] of act.dose?.figures ?? []) {
    const input = make("input", { type: "number", step: "any", min: "0", inputmode: "decimal" });
    figures.push([name, input]);
    parts.push(make("label", { class: "field" }, `${label}, ${unit}`, input));
  }
  if (act.dose && act.dose.routes.length > 0) {
    parts.push(choices("route", word("route"), act.dose.routes));
  }
  if (act.choices.length > 0) {
    parts.push(choices("told", act.asks, act.choices.map((choice) => [choice, choice])));
  }
  const form = make(
    "form",
    { method: "dialog" },
    make("h2", { id: "ask-title" }, act.do),
    ...parts,
    ...(act.dose ? [make("p", { class: "caution" }, act.dose.caution)] : []),
    make(
      "div",
      { class: "row" },
      make("button", { class: "main", value: "yes" }, word(act.dose ? "give" : "say")),
      make("button", { value: "no", formnovalidate: true }, word("cancel")),
    ),
  );
  dialog.replaceChildren(form);
  dialog.onclose = () => {
    if (dialog.returnValue !== "yes") return;
    /** @type {Record<string, any>} */
    const chosen = {};
    for (const [name, input] of figures) {
      if (input.value !== "") chosen[name] = Number(input.value);
    }
    for (const [name, value] of new FormData(form)) chosen[name] = value;
    done(chosen);
  };
  dialog.returnValue = "";
  dialog.showModal();
}

/**
 * @param {string} name
 * @param {string} label
 * @param {readonly (readonly [string, string])[]} options
 * @returns {HTMLElement}
 */
function choices(name, label, options) {
  return make(
    "fieldset",
    { class: "field" },
    make("legend", {}, label),
    make(
      "div",
      { class: "row" },
      ...options.map(([value, words]) =>
        make("label", { class: "choice" }, make("input", { type: "radio", name, value }), words),
      ),
    ),
  );
}
