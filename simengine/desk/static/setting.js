/**
 * The panel of one setting of the equipment.
 */

import { make } from "./dom.js";
import { stepper } from "./stepper.js";

/**
 * @param {import("./desk.js").Desk} desk
 * @param {string} name
 * @param {string | null} role
 * @param {boolean} focus
 */
export function showSetting(desk, name, role, focus) {
  const setting = desk.view.settings[name];
  if (!setting) return;
  const field = { ...setting, limits: () => setting.limits, value: desk.recorder.standing(name) };
  const control = stepper(field, (figure) => {
    desk.recorder.set(name, figure, role, performance.now());
  });
  const caution = make("p", { class: "caution" }, desk.view.banner.caution);
  desk.dock.show(`setting ${name}`, setting.label, [control, caution], { focus });
}
