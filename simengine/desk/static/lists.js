/**
 * Panels to find something: all actions of a lane, a search, the states, the whole record, keys.
 */

/** @typedef {import("./desk.js").Desk} Desk */
/** @typedef {import("./types.js").ActionView} ActionView */
/** @typedef {import("./types.js").Lane} Lane */

import { choice } from "./choice.js";
import { button } from "./dock.js";
import { make, put, say } from "./dom.js";
import { WAYS, showEntry } from "./entry.js";
import { comingText } from "./head.js";
import { may } from "./rights.js";
import { clockText, unitText } from "./times.js";

const AWAY = "away";

/**
 * What a lane can do beside its tiles.
 *
 * @param {Desk} desk
 * @param {Lane} lane
 */
export function showLane(desk, lane) {
  const ways = wayChoice();
  const list = make("div", { class: "dock-list" });
  const draw = () => {
    const tiles = lane.tiles.filter(({ kind }) => kind === "action").map(({ name }) => name);
    const names = [...new Set([...lane.more, ...tiles])];
    const actions = names.map((name) => actionButton(desk, name, lane.role, ways.chosen));
    list.replaceChildren(...actions.filter((action) => action !== null));
  };
  draw();
  desk.dock.show(`lane ${lane.role}`, `${lane.label}: all`, [ways.root, list], { redraw: draw });
}

/**
 * Any action or setting by a part of its name.
 *
 * @param {Desk} desk
 */
export function showSearch(desk) {
  const ways = wayChoice();
  const input = make("input", { type: "search", "aria-label": "Find an action or setting" });
  const list = make("div", { class: "dock-list", role: "group", "aria-label": "Found" });
  const draw = () => {
    const wanted = input.value.trim().toLowerCase();
    const has = (/** @type {{ label: string }} */ { label }) =>
      label.toLowerCase().includes(wanted);
    const { settings } = desk.view;
    const matches = [
      ...nearestFirst(desk)
        .filter(has)
        .map(({ name }) => actionButton(desk, name, desk.usualRole(name), ways.chosen)),
      ...Object.values(settings)
        .filter(has)
        .map(({ name }) => settingButton(desk, name, null)),
    ].filter((match) => match !== null);
    list.replaceChildren(...(matches.length > 0 ? matches : [make("p", {}, "Nothing found by that name.")]));
  };
  input.addEventListener("input", draw);
  input.addEventListener("keydown", (event) => {
    const first = list.querySelector("button");
    if (event.key === "Enter" && first) {
      input.blur();
      first.click();
    }
  });
  draw();
  desk.dock.show("search", "Find", [input, ways.root, list], { focus: true });
}

/**
 * All actions, those that this scenario uses before the rest of the vocabulary.
 *
 * @param {Desk} desk
 * @returns {ActionView[]}
 */
function nearestFirst({ view }) {
  const used = new Set(view.lanes.flatMap(({ tiles }) => tiles.map(({ name }) => name)));
  const all = Object.values(view.actions);
  return [
    ...all.filter(({ name }) => used.has(name)),
    ...all.filter(({ name }) => !used.has(name)),
  ];
}

/**
 * How what is touched in a list is to be recorded.
 *
 * @returns {{ root: HTMLElement, chosen: () => string }}
 */
function wayChoice() {
  let way = "done";
  const options = may("unavailable") ? [...WAYS, [AWAY, "kit not there"]] : WAYS;
  const root = choice("A touch records", options, way, (name) => (way = name));
  return { root, chosen: () => way };
}

/**
 * @param {Desk} desk
 * @param {string} name
 * @param {string | null} role
 * @param {() => string} way
 * @returns {HTMLElement | null}
 */
function actionButton(desk, name, role, way) {
  const action = desk.view.actions[name];
  if (!action) return null;
  const control = button(action.label, (stamp) => {
    if (way() === AWAY) desk.recorder.record("unavailable", { action: name }, stamp);
    else desk.act(name, role, stamp, way() === "done" ? undefined : way());
  });
  if (action.lasting) put(control, "aria-pressed", String(desk.recorder.running(action) !== null));
  if (action.key) control.append(make("kbd", {}, action.key));
  return control;
}

/**
 * @param {Desk} desk
 * @param {string} name
 * @param {string | null} role
 * @returns {HTMLElement | null}
 */
function settingButton(desk, name, role) {
  const setting = desk.view.settings[name];
  if (!setting) return null;
  return button(`${setting.label} …`, () => desk.setting(name, role, true));
}

/**
 * Take a transition now, or go to any state.
 *
 * @param {Desk} desk
 */
export function showStates(desk) {
  const go = (/** @type {string} */ state, /** @type {number} */ stamp) => {
    desk.recorder.record("state", { state, cause: "facilitator" }, stamp);
    desk.dock.close();
  };
  const { recorder, view } = desk;
  const coming = view.coming.map((change) =>
    button(comingText(change, recorder.now(), view.now.held), (stamp) => go(change.to, stamp)),
  );
  const states = view.states
    .filter(({ here }) => !here)
    .map(({ name, title, ends }) =>
      button(ends ? `${title} (the end)` : title, (stamp) => go(name, stamp)),
    );
  desk.dock.show("states", `Now: ${view.state_title}`, [
    make("div", { class: "dock-list" }, make("h3", {}, "Take now"), ...coming),
    make("div", { class: "dock-list" }, make("h3", {}, "Or go to any state"), ...states),
  ]);
}

/**
 * The whole record, or some entries of it, last first.
 *
 * @param {Desk} desk
 * @param {ReadonlySet<string>} [only] ids; all, if left out
 */
export function showRecord(desk, only) {
  const list = make("div", { class: "dock-list entries" });
  const draw = () => {
    const zero = desk.view.clock.zero_ms ?? 0;
    const wanted = (/** @type {string} */ id) => only?.has(id) ?? true;
    const entries = desk.view.tape.filter(({ id, removed }) => !removed && wanted(id)).reverse();
    list.replaceChildren(
      ...entries.map((entry) => {
        const row = button("", () => showEntry(desk, entry.id));
        put(row, "data-entry", entry.id);
        const when = clockText(entry.at_ms - zero);
        row.append(make("strong", {}, when), make("span", {}, unitText(entry.words)));
        return row;
      }),
    );
    if (only) return;
    const odd = desk.view.notes.map(({ words }) => make("p", { class: "wrong" }, words));
    list.prepend(...odd);
    const { earlier, session } = desk.view;
    if (earlier > 0) {
      const all = make("a", { href: `/s/${session}/review` }, "the review");
      list.append(make("p", {}, `${earlier} earlier entries are in `, all, "."));
    }
  };
  draw();
  const title = only ? "Entries close together, latest first" : "All entries, latest first";
  desk.dock.show("record", title, [list], { redraw: draw });
}

/**
 * @param {Desk} desk
 * @param {import("./keys.js").Keys} keys
 */
export function showKeys(desk, keys) {
  /** @param {Iterable<import("./keys.js").Binding>} bindings */
  const rows = (bindings) =>
    [...bindings].map(({ shown, words }) =>
      make("li", {}, make("kbd", {}, shown), make("span", {}, words)),
    );
  desk.dock.show("keys", "Keys", [
    make("ul", { class: "keys-list" }, ...rows(keys.own.values()), ...rows(keys.actions.values())),
  ]);
}

/**
 * Several actions at one moment.
 *
 * @param {Desk} desk
 */
export function showCatchUp(desk) {
  let at = Math.round(desk.recorder.logNow());
  /** @type {Set<string>} */
  const chosen = new Set();
  const when = make("strong");
  const record = button("", () => {
    for (const name of chosen) {
      const action = desk.view.actions[name];
      const lasting = action?.lasting && !desk.recorder.running(action);
      const phase = action?.lasting ? (lasting ? "start" : "stop") : "done";
      const role = desk.roleData(desk.usualRole(name));
      desk.recorder.keep("action", { action: name, phase, ...role }, at);
    }
    desk.notice(`${chosen.size} recorded.`);
    desk.dock.close();
  });
  put(record, "class", "main");
  const draw = () => {
    const zero = desk.view.clock.zero_ms ?? 0;
    const time = clockText(desk.recorder.scenario(at) - zero);
    say(when, `At ${time}`);
    say(record, `Record ${chosen.size} at ${time}`);
    put(record, "disabled", chosen.size === 0);
  };
  const steps = [-30, -5, -1, 1, 5].map((seconds) =>
    button(`${seconds < 0 ? "−" : "+"}${Math.abs(seconds)} s`, () => {
      at = Math.max(0, at + seconds * 1000);
      draw();
    }),
  );
  const actions = nearestFirst(desk).map((action) => {
    const control = button(action.label, () => {
      if (!chosen.delete(action.name)) chosen.add(action.name);
      put(control, "aria-pressed", String(chosen.has(action.name)));
      draw();
    });
    put(control, "aria-pressed", "false");
    return control;
  });
  draw();
  desk.dock.show("catch-up", "Several at one moment", [
    make("div", { class: "row" }, when, ...steps, record),
    make("div", { class: "dock-list" }, ...actions),
  ]);
}
