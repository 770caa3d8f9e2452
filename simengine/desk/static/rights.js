/**
 * What this browser may record, as its page says. The server decides; here it is only not offered.
 */

/**
 * @param {string} kind of entry
 * @returns {boolean}
 */
export function may(kind) {
  const kinds = document.body.dataset.may;
  return kinds === undefined || kinds.split(" ").includes(kind);
}

/**
 * Whether this browser may correct an entry: any for an educator, else its own alone.
 *
 * @param {string} by who recorded it
 * @returns {boolean}
 */
export function mayCorrect(by) {
  return may("closed") || by === document.body.dataset.by;
}

/** Take off the page what records a kind that this browser may not. */
export function hideTheRest() {
  for (const element of document.querySelectorAll("[data-needs]")) {
    element.classList.toggle("not-here", !may(element.getAttribute("data-needs") ?? ""));
  }
}
