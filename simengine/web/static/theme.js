/**
 * Day or night, chosen by a button, else as the device asks.
 *
 * Runs before the page is drawn, so that nothing flashes; therefore it is no module.
 */
(() => {
  "use strict";
  const KEY = "simengine.theme";
  const dark = matchMedia("(prefers-color-scheme: dark)");

  /** @returns {string | null} */
  function chosen() {
    try {
      return localStorage.getItem(KEY);
    } catch {
      return null; // storage is switched off: follow the device
    }
  }

  function show() {
    document.documentElement.dataset.theme = chosen() ?? (dark.matches ? "night" : "day");
  }

  function turn() {
    const now = document.documentElement.dataset.theme === "night" ? "day" : "night";
    try {
      localStorage.setItem(KEY, now);
    } catch {
      document.documentElement.dataset.theme = now;
      return;
    }
    show();
  }

  show();
  dark.addEventListener("change", show);
  document.addEventListener("turn-theme", turn); // from a key
  document.addEventListener("click", (event) => {
    if (event.target instanceof Element && event.target.closest("[data-turn-theme]")) turn();
  });
})();
