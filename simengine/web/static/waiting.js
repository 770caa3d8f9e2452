/**
 * A page that waits for something to be made looks again until it is there.
 *
 * Only then is the page loaded anew, so that nobody loses their place meanwhile.
 */

const AGAIN_MS = 2000;

async function look() {
  try {
    const response = await fetch(location.href, { cache: "no-store" });
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    if (response.ok && page.querySelector("[data-waiting]") === null) {
      location.reload();
      return;
    }
  } catch {
    // the server is away: look again later
  }
  setTimeout(look, AGAIN_MS);
}

if (document.querySelector("[data-waiting]") !== null) setTimeout(look, AGAIN_MS);

export {};
