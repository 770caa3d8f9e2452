/**
 * Signing out has this device forget what it kept, for the next person may be somebody else.
 *
 * Rules of this file:
 * - Entries that have not reached the server are never forgotten without a person's word.
 * - What is kept is removed here, and once more by the browser, which the server asks to
 *   (Clear-Site-Data) where this says so. Without this script nothing is removed.
 */

const UNSENT = ["simengine.outbox.", "simengine.aside."];

/** @returns {number} entries on this device that the server does not have */
function unsent() {
  try {
    return Object.keys(localStorage).filter((key) => UNSENT.some((own) => key.startsWith(own)))
      .length;
  } catch {
    return 0; // storage is switched off: nothing is kept in it
  }
}

function forget() {
  try {
    localStorage.clear();
    sessionStorage.clear();
  } catch {
    // nothing is kept
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || form.getAttribute("action") !== "/sign-out") return;
  const count = unsent();
  const [entries, them] = count === 1 ? ["1 entry", "it"] : [`${count} entries`, "them"];
  if (
    count > 0 &&
    !confirm(
      `${entries} on this device did not reach the server. Signing out here loses ${them} for good. ` +
        `To keep ${them}, cancel, open the session again on this device and wait until all is kept.`,
    )
  ) {
    event.preventDefault();
    return;
  }
  forget();
  const field = document.createElement("input");
  field.type = "hidden";
  field.name = "forget";
  field.value = "yes";
  form.append(field);
});

export {};
