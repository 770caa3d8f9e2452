/**
 * A labelled list to choose one thing from.
 */

import { make, put } from "./dom.js";

let choices = 0;

/**
 * A labelled list to choose from.
 *
 * @param {string} label
 * @param {readonly (readonly string[])[]} options name and label of each
 * @param {string | null} chosen
 * @param {(name: string) => void} onChoose
 * @param {string} [none] what stands there while nothing is chosen
 * @returns {HTMLElement}
 */
export function choice(label, options, chosen, onChoose, none = "nobody named") {
  choices += 1;
  const id = `choice-${choices}`;
  const list = make("select", { id });
  if (!options.some(([name]) => name === chosen)) {
    list.append(make("option", { value: "", disabled: true, selected: true }, none));
  }
  for (const [name, words] of options) {
    const option = make("option", { value: name }, words ?? "");
    put(option, "selected", name === chosen);
    list.append(option);
  }
  list.addEventListener("change", () => onChoose(list.value));
  return make("div", { class: "field small" }, make("label", { for: id }, label), list);
}
