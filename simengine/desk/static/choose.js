/**
 * Choosing a scenario and who is here: only the chosen scenario's fields are shown and sent, and a
 * touch on a person puts them into the next role.
 *
 * Rules of this file:
 * - The fields of codes are what is sent; people and roles are only another way to fill them.
 * - A touch on a role makes it the next; a touch on somebody who has one takes them out of it.
 */

import { make } from "./dom.js";

const form = document.getElementById("choose");
const people = document.getElementById("people");
const note = document.getElementById("people-note");
const part = /** @type {HTMLInputElement | null} */ (document.getElementById("part"));
const WAIT_MS = 250;

/** @type {Map<string, string>} names of those who were offered, by code */
const names = new Map();
/** The role that the next person is put into, where somebody touched it. */
let next = "";

/** @returns {HTMLFieldSetElement | null} the chosen scenario's fields */
function chosen() {
  const box = form?.querySelector(".for-scenario:not([hidden])");
  return box instanceof HTMLFieldSetElement ? box : null;
}

/** @returns {HTMLInputElement[]} the fields of the chosen scenario's roles */
function roles() {
  return [...(chosen()?.querySelectorAll('input[name^="role."]') ?? [])].filter(
    (field) => field instanceof HTMLInputElement,
  );
}

/**
 * @param {HTMLInputElement} role
 * @returns {string[]} the codes in it
 */
function codesIn(role) {
  return role.value
    .split(/[,;]/)
    .map((code) => code.trim())
    .filter(Boolean);
}

/** @returns {HTMLInputElement | undefined} the role that the next person is put into */
function nextRole() {
  const all = roles();
  return all.find((role) => role.name === next) ?? all.find((role) => !role.value.trim()) ?? all.at(-1);
}

function showScenario() {
  const picked = form?.querySelector('input[name="scenario"]:checked');
  const name = picked instanceof HTMLInputElement ? picked.value : "";
  for (const group of form?.querySelectorAll(".for-scenario") ?? []) {
    if (!(group instanceof HTMLFieldSetElement)) continue;
    group.hidden = group.dataset.scenario !== name;
    group.disabled = group.hidden;
  }
  for (const link of form?.querySelectorAll("a[data-team]") ?? []) {
    if (!(link instanceof HTMLAnchorElement)) continue;
    const address = new URL(link.href);
    address.searchParams.set("scenario", name);
    link.href = address.href;
  }
}

/** Draw the roles with who is in them, and mark who is picked. */
function showSeats() {
  const seats = chosen()?.querySelector("[data-seats]");
  const up = nextRole();
  const offered = people?.querySelector("[data-person]") !== null;
  if (seats instanceof HTMLElement) {
    seats.hidden = !offered;
    seats.replaceChildren(
      ...roles().map((role) => {
        const people = codesIn(role).map((code) => names.get(code) || code);
        const seat = make(
          "button",
          { type: "button", "aria-pressed": String(role === up) },
          make("strong", {}, role.dataset.label ?? ""),
          make("span", {}, people.join(", ") || (role === up ? "touch a name" : "nobody yet")),
        );
        seat.addEventListener("click", () => {
          next = role.name;
          showSeats();
        });
        return seat;
      }),
    );
  }
  const picked = new Set(roles().flatMap(codesIn));
  for (const chip of people?.querySelectorAll("[data-person]") ?? []) {
    const is = picked.has(chip.getAttribute("data-person") ?? "");
    chip.setAttribute("aria-pressed", String(is));
  }
}

/** @param {string} code */
function touched(code) {
  const holder = roles().find((role) => codesIn(role).includes(code));
  if (holder) {
    holder.value = codesIn(holder)
      .filter((other) => other !== code)
      .join(", ");
    next = holder.name;
  } else {
    const role = nextRole();
    if (!role) return;
    role.value = [...codesIn(role), code].join(", ");
    next = "";
  }
  showSeats();
}

/** @param {{code: string, name: string, about: string}} person */
function chip(person) {
  const about = [person.name ? person.code : "", person.about].filter(Boolean).join(" · ");
  return make(
    "button",
    { type: "button", "data-person": person.code, "data-name": person.name },
    make("span", {}, person.name || person.code),
    " ",
    make("span", { class: "soft" }, about),
  );
}

function learnNames() {
  for (const button of people?.querySelectorAll("[data-person]") ?? []) {
    const name = button.getAttribute("data-name");
    if (name) names.set(button.getAttribute("data-person") ?? "", name);
  }
}

let asking = 0;

async function look() {
  const unit = form?.querySelector('input[name="unit"]');
  const query = new URLSearchParams({
    unit: unit instanceof HTMLInputElement ? unit.value : "",
    part: part?.value ?? "",
  });
  asking += 1;
  const mine = asking;
  let listed;
  try {
    const answer = await fetch(`/people?${query}`);
    if (!answer.ok) throw new Error(String(answer.status));
    listed = await answer.json();
  } catch {
    if (note) note.textContent = "The list can't be read just now. You can type codes instead.";
    return;
  }
  if (mine !== asking) return;
  people?.replaceChildren(...listed.people.map(chip));
  learnNames();
  if (note) {
    note.textContent = listed.more
      ? "There are more: type a little more of it."
      : listed.people.length === 0 && part?.value
        ? "Nobody found. You can still type a code."
        : "";
  }
  showSeats();
}

/** @type {number | undefined} */
let waiting;

function lookSoon() {
  window.clearTimeout(waiting);
  waiting = window.setTimeout(look, WAIT_MS);
}

people?.addEventListener("click", (event) => {
  const target = event.target instanceof Element ? event.target.closest("[data-person]") : null;
  const code = target?.getAttribute("data-person");
  if (code) touched(code);
});
part?.addEventListener("input", lookSoon);
part?.addEventListener("keydown", (event) => {
  if (event.key === "Enter") event.preventDefault();
});
form?.addEventListener("change", (event) => {
  if (event.target instanceof HTMLInputElement && event.target.name === "unit") lookSoon();
  showScenario();
  showSeats();
});
form?.addEventListener("input", (event) => {
  if (event.target instanceof HTMLInputElement && event.target.name.startsWith("role.")) showSeats();
});

for (const box of form?.querySelectorAll("[data-people]") ?? []) {
  if (box instanceof HTMLElement) box.hidden = false;
}
learnNames();
showScenario();
showSeats();
