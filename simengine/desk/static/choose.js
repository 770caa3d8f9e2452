/**
 * Choosing a scenario: only the chosen one's fields are shown and sent.
 */

const form = document.getElementById("choose");

function show() {
  const chosen = form?.querySelector('input[name="scenario"]:checked');
  const name = chosen instanceof HTMLInputElement ? chosen.value : "";
  for (const group of form?.querySelectorAll(".for-scenario") ?? []) {
    if (!(group instanceof HTMLFieldSetElement)) continue;
    group.hidden = group.dataset.scenario !== name;
    group.disabled = group.hidden;
  }
}

form?.addEventListener("change", show);
show();

export {};
