/**
 * Sending entries to the server.
 *
 * Rules of this file:
 * - A message that the server calls malformed is taken apart, so that one bad entry never keeps
 *   the good ones waiting; the bad one alone is refused, in words. The same is done where the server
 *   fails: it may have failed at one entry alone.
 */

/** @typedef {import("./outbox.js").Entry} Entry */
/** @typedef {import("./outbox.js").Sent} Sent */

/** Answers that will be the same whenever the same is sent. */
const FOR_GOOD = new Set([400, 413, 415, 422]);
const SERVER_FAILED = 500;
const PATIENCE_MS = 8_000;

/** @returns {string} the page's token against forged requests */
function csrfToken() {
  const meta = document.querySelector('meta[name="csrf"]');
  return meta instanceof HTMLMetaElement ? meta.content : "";
}

/**
 * Post entries; rejects when they should be sent again later.
 *
 * @param {string} address
 * @param {readonly Entry[]} entries
 * @returns {Promise<Sent>}
 */
export async function postEntries(address, entries) {
  const response = await fetch(address, {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-CSRF-Token": csrfToken() },
    body: JSON.stringify({
      events: entries.map(({ id, kind, at_ms, data }) => ({ id, kind, at_ms, data })),
    }),
    signal: AbortSignal.timeout(PATIENCE_MS),
  });
  if (response.ok) return response.json();
  if (response.status === 403) {
    throw new Error("This browser is no longer signed in: open the console's link in it again.");
  }
  if (!FOR_GOOD.has(response.status) && response.status !== SERVER_FAILED) {
    throw new Error(`The server answered with an error (${response.status}).`);
  }
  const [first] = entries;
  if (entries.length === 1 && first && response.status === SERVER_FAILED) {
    return { taken: [], refused: [], failed: [first.id], version: 0 };
  }
  if (entries.length === 1 && first) {
    const words = "The server does not understand this entry.";
    return { taken: [], refused: [{ id: first.id, words }], version: 0 };
  }
  const all = {
    taken: /** @type {string[]} */ ([]),
    refused: /** @type {Sent["refused"]} */ ([]),
    failed: /** @type {string[]} */ ([]),
    version: 0,
  };
  for (const entry of entries) {
    const answer = await postEntries(address, [entry]);
    all.taken.push(...answer.taken);
    all.refused.push(...answer.refused);
    all.failed.push(...(answer.failed ?? []));
    all.version = Math.max(all.version, answer.version);
  }
  return all;
}

/**
 * A new random id (UUID version 4), also where the page has no secure context.
 *
 * @returns {string}
 */
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x40;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [0, 8, 12, 16, 20]
    .map((from, place) => hex.slice(from, [8, 12, 16, 20, 32][place]))
    .join("-");
}
