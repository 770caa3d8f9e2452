/**
 * The practice check on a phone: how far it is, the way to the next row, and nothing lost when the
 * page is closed half way.
 *
 * Rules of this file:
 * - The page works without it. What is kept, is kept in this browser, until the check is finished.
 */

const form = document.querySelector("#check");
const done = document.querySelector("[data-done]");

if (done instanceof HTMLElement) forget(done.dataset.done ?? "");
if (form instanceof HTMLFormElement) begin(form);

/** @param {HTMLFormElement} list */
function begin(list) {
  const code = list.dataset.code ?? "";
  restore(list, code);
  const next = list.querySelector("[data-next]");
  if (next instanceof HTMLElement) {
    next.hidden = false;
    next.addEventListener("click", () => toNext(list));
  }
  list.addEventListener("input", (event) => {
    const { target } = event;
    if (target instanceof HTMLInputElement && target.type === "radio") chosen(target);
    keep(list, code);
    tell(list);
  });
  tell(list);
}

/** @param {HTMLInputElement} radio */
function chosen(radio) {
  const what = radio.closest(".look")?.querySelector("details");
  if (what) what.open = radio.value === "wrong";
}

/** @param {HTMLFormElement} list */
function tell(list) {
  const rows = [...list.querySelectorAll(".look")];
  const progress = list.querySelector("[data-progress]");
  if (progress) progress.textContent = `${rows.filter(isSeen).length} of ${rows.length} looked at`;
}

/** As the server has it: touched, ticked, read, or told in a few words. @param {Element} row */
function isSeen(row) {
  const typed = row.querySelectorAll("input[name^='read.'], select[name^='read.'], [name^='note.']");
  return (
    row.querySelector("input:checked") !== null ||
    [...typed].some((field) => "value" in field && field.value !== "")
  );
}

/** @param {HTMLFormElement} list */
function toNext(list) {
  const rows = [...list.querySelectorAll(".look")];
  const open = rows.find((row) => !isSeen(row));
  (open ?? list.querySelector("fieldset:last-of-type"))?.scrollIntoView({ block: "start" });
}

/** @param {string} code @returns {string} */
function place(code) {
  return `practice check ${code}`;
}

/** @param {HTMLFormElement} list @param {string} code */
function keep(list, code) {
  const fields = [...new FormData(list)].filter(([name]) => name !== "csrf_token");
  try {
    localStorage.setItem(place(code), JSON.stringify(fields));
  } catch {
    // a browser that keeps nothing still sends all of it
  }
}

/** @param {string} code */
function forget(code) {
  try {
    localStorage.removeItem(place(code));
  } catch {
    // nothing was kept
  }
}

/** @param {HTMLFormElement} list @param {string} code */
function restore(list, code) {
  /** @type {[string, string][]} */
  let fields = [];
  try {
    fields = JSON.parse(localStorage.getItem(place(code)) ?? "[]");
  } catch {
    return;
  }
  for (const [name, value] of fields) {
    for (const field of list.querySelectorAll(`[name="${CSS.escape(name)}"]`)) {
      if (field instanceof HTMLSelectElement) field.value = value;
      else if (field instanceof HTMLInputElement) {
        if (field.type === "radio" || field.type === "checkbox") {
          if (field.value === value) field.checked = true;
        } else field.value = value;
        if (field.type === "radio" && field.checked) chosen(field);
      }
    }
  }
}
