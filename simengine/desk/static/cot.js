/**
 * A training cot that no baby may be brought to: said first and large where the session is over.
 */

/** @typedef {import("./types.js").CotView} CotView */

import { make, put } from "./dom.js";

/**
 * @param {CotView | null} cot
 * @param {string} [address] where it is returned to service; nobody here can, if left out
 */
export function drawCot(cot, address) {
  const drawn = JSON.stringify(cot);
  for (const place of document.querySelectorAll("[data-cot]")) {
    if (!(place instanceof HTMLElement) || place.dataset.cot === drawn) continue;
    put(place, "data-cot", drawn);
    place.hidden = cot === null;
    place.replaceChildren(...(cot === null ? [] : [notice(cot, address)]));
  }
}

/**
 * @param {CotView} cot
 * @param {string | undefined} address
 * @returns {HTMLElement}
 */
function notice({ faults, other }, address) {
  const why =
    faults.length > 0
      ? "Faults were planted in it, and these have not been put right:"
      : "Faults were planted in it. They are recorded as put right, but nobody has checked the cot.";
  const where = other
    ? ["The other cot: ", make("strong", {}, other)]
    : ["Nobody wrote down where the other cot is: ask for one."];
  return make(
    "section",
    { class: "do-not-use" },
    make("h2", {}, "Do not use this cot"),
    make("p", {}, why),
    ...(faults.length > 0 ? [make("ul", {}, ...faults.map((shows) => make("li", {}, shows)))] : []),
    make("p", { class: "other-cot" }, ...where),
    ...(address
      ? [make("a", { class: "button main", href: address }, "Return the cot to service")]
      : []),
  );
}
