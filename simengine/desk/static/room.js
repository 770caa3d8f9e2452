/**
 * Panels about the room: cues and notes, people and roles, faults, a shortened task, the end.
 */

/** @typedef {import("./desk.js").Desk} Desk */

import { choice } from "./choice.js";
import { button } from "./dock.js";
import { make } from "./dom.js";
import { may } from "./rights.js";
import { stepper } from "./stepper.js";
import { spanText } from "./times.js";

/**
 * Prepared cues, and free words: a cue marks what follows, information and notes do not.
 *
 * @param {Desk} desk
 */
export function showCues(desk) {
  const { recorder, view } = desk;
  const cues = view.cues.map(({ text, prompts, given }) =>
    button(given > 0 ? `${text} (${given} times)` : text, (stamp) => {
      const data = { text, planned: true, ...(prompts ? { prompts } : {}) };
      recorder.record("cue", data, stamp);
      desk.notice("Cue recorded.");
      desk.dock.close();
    }),
  );
  const text = make("textarea", { rows: "2", "aria-label": "Words", maxlength: "2000" });
  /** When its first letter was typed: the words are about that moment, not about their end. */
  let begun = /** @type {number | undefined} */ (undefined);
  text.addEventListener("input", ({ timeStamp }) => {
    if (text.value.trim() === "") begun = undefined;
    else begun ??= timeStamp;
  });
  /** @param {string} kind @param {Record<string, any>} [more] */
  const write = (kind, more = {}) => {
    const words = text.value.trim();
    if (words === "") {
      text.focus();
      return;
    }
    recorder.record(kind, { text: words, ...more }, begun);
    desk.notice("Recorded.");
    desk.dock.close();
  };
  const facilitates = may("cue");
  const prepared = make("div", { class: "dock-list" }, make("h3", {}, "Prepared cues"), ...cues);
  desk.dock.show("cues", facilitates ? "Cues and notes" : "Notes", [
    ...(facilitates ? [prepared] : []),
    make("div", { class: "dock-list" }, make("h3", {}, "In your own words"), text),
    ...(facilitates
      ? [
          button("As a cue", () => write("cue", { planned: false })),
          button("As information that the manikin can't show", () => write("information")),
        ]
      : []),
    button("As a note to yourself", () => write("note")),
  ]);
}

/**
 * Who is in the room and in which role; people come, go, swap and double up.
 *
 * @param {Desk} desk
 */
export function showPeople(desk) {
  const { recorder, view } = desk;
  const labels = new Map(view.roles);
  /** @param {string} kind @param {Record<string, any>} data */
  const tell = (kind, data) => {
    recorder.record(kind, data);
    desk.notice("Recorded.");
    desk.dock.close();
  };
  const rows = view.people.map(({ code, roles }) => {
    const held = roles.map((role) => labels.get(role) ?? role).join(", ") || "no role at present";
    const [leaves] = roles;
    return make(
      "div",
      { class: "row", role: "group", "aria-label": code },
      make("span", { class: "held" }, make("strong", {}, code), ` ${held}`),
      choice(
        "Moves to",
        view.roles,
        null,
        (role) => tell("role", { person: code, role, ...(leaves ? { leaves } : {}) }),
        "choose",
      ),
      choice(
        "Also takes",
        view.roles,
        null,
        (role) => tell("role", { person: code, role }),
        "choose",
      ),
      button("Leaves", () => tell("left", { person: code, role: leaves ?? "" }), {
        disabled: leaves === undefined,
      }),
    );
  });
  const code = make("input", { maxlength: "40", autocomplete: "off" });
  let joins = view.roles[0]?.[0] ?? "";
  desk.dock.show("people", "People and roles", [
    make("div", { class: "dock-list people" }, ...rows),
    make("label", { class: "field small" }, "Code of whoever joins", code),
    choice("In the role", view.roles, joins, (role) => (joins = role)),
    button("Joins", () => {
      const person = code.value.trim();
      if (person === "") code.focus();
      else tell("joined", { person, role: joins });
    }),
  ]);
}

/**
 * Show the team an observation by hand, or hide it again.
 *
 * @param {Desk} desk
 */
export function showReveals(desk) {
  const { recorder, view } = desk;
  const rows = view.baby
    .filter(({ known }) => known !== null)
    .map(({ observation, label }) =>
      make(
        "div",
        { class: "row", role: "group", "aria-label": label },
        make("span", {}, label),
        ...[true, false].map((shown) =>
          button(shown ? "Show" : "Hide", (stamp) => {
            recorder.record("reveal", { observation, shown }, stamp);
            desk.notice(`${label}: ${shown ? "shown to" : "hidden from"} the team.`);
            desk.dock.close();
          }),
        ),
      ),
    );
  const none = [make("p", {}, "There is nothing for the team to look for yet.")];
  desk.dock.show("reveals", "Show or hide an observation", rows.length > 0 ? rows : none);
}

/**
 * Faults of the equipment: planted, found, put right.
 *
 * @param {Desk} desk
 */
export function showFaults(desk) {
  const { recorder, view } = desk;
  /** @type {[string, string][]} */
  const steps = [
    ...(may("closed") ? [/** @type {[string, string]} */ (["planted", "Planted"])] : []),
    ["found", "Found"],
    ["mended", "Put right"],
  ];
  const rows = view.faults.map(({ name, shows, plant, status }) =>
    make(
      "div",
      { class: "row", role: "group", "aria-label": shows },
      make("span", {}, `${shows} (${status})${plant ? `. ${plant}` : ""}`),
      ...steps.map(([fault, words]) =>
        button(words, (stamp) => {
          recorder.record("fault", { fault: name, status: fault }, stamp);
          desk.notice("Recorded.");
          desk.dock.close();
        }),
      ),
    ),
  );
  const none = [make("p", {}, "This scenario has no planted faults.")];
  desk.dock.show("faults", "Planted faults", rows.length > 0 ? rows : none);
}

/**
 * Move the scenario on by the realistic length of a task that was shortened.
 *
 * @param {Desk} desk
 */
export function showSkip(desk) {
  let minutes = 2;
  const control = stepper(
    {
      label: "It really takes",
      units: ["min"],
      words: [],
      step: 0.5,
      limits: () => ({ min: [0, 30] }),
      value: { value: minutes, unit: "min" },
    },
    ({ value }) => (minutes = Number(value)),
  );
  desk.dock.show("skip", "Shorten a long task", [
    control,
    button("Move the scenario on", (stamp) => {
      const ms = Math.round(minutes * 60_000);
      desk.recorder.record("skip", { ms }, stamp);
      desk.notice(`Scenario moved on by ${spanText(ms)}.`);
      desk.dock.close();
    }),
  ]);
}

/**
 * Ask once whether the session is to end.
 *
 * @param {Desk} desk
 * @param {(why: string) => void} close
 */
export function showEnd(desk, close) {
  const { view } = desk;
  const cot = view.returns_cot && !view.returned;
  const parts = [];
  if (cot) {
    parts.push(
      make(
        "p",
        { class: "wrong" },
        "Faults were planted, so it ends once the cot is back in service.",
      ),
      make(
        "a",
        { class: "button main", href: `/s/${view.session}/return` },
        "Return the cot to service",
      ),
    );
  } else {
    parts.push(
      button("Yes: it is finished", () => close("finished"), { class: "main" }),
      button("Yes: stopped early", () => close("stopped early")),
    );
  }
  parts.push(button("Carry on", () => desk.dock.close()));
  desk.dock.show("end", "End this session?", parts, { focus: true });
}
