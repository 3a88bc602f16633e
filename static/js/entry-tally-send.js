// Sends finished visits when there is a signal. The key was made on this device, so a visit that is sent
// twice, because an answer was lost on the way, is stored once.

import * as store from "./entry-tally-store.js";
import { message } from "./entry-tally-model.js";

const TRY_AGAIN_MS = 60_000;
let sending = null;

/** Send what is ready. Gives words on what hinders it, or nothing. */
export function sendAll(addresses, taxa, changed) {
  sending ??= sendNow(addresses, taxa, changed).finally(() => { sending = null; });
  return sending;
}

async function sendNow(addresses, taxa, changed) {
  const ready = (await store.visits()).filter((one) => one.ready && !one.sent && !one.clash);
  if (!ready.length) return "";
  let token;
  try {
    const answer = await fetch(addresses.sync, { cache: "no-store" });
    const said = await answer.json();
    if (!answer.ok) return said.message;
    ({ token } = said);
  } catch {
    return "No signal. It is sent when there is one.";
  }
  for (const doc of ready) {
    const words = await sendOne(addresses, token, doc, taxa);
    changed(doc.key);
    if (words) return words;
  }
  return "";
}

async function sendOne(addresses, token, doc, taxa) {
  let answer;
  let said;
  try {
    answer = await fetch(addresses.sync, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": token },
      body: JSON.stringify(message(doc, await store.taps(doc.key), taxa)),
    });
    said = await answer.json();
  } catch {
    return "The signal was lost. It is sent again when it is back; nothing is stored twice.";
  }
  if (answer.ok) {
    await store.changeVisit(doc.key, (one) => {
      one.sent = { address: said.address, at: Date.now() };
      one.refused = null;
    });
    return "";
  }
  if (answer.status === 409) {
    await store.changeVisit(doc.key, (one) => { one.clash = said; });
    return "";
  }
  if (answer.status === 422) {
    await store.changeVisit(doc.key, (one) => {
      one.ready = false;
      one.refused = said.remarks;
    });
    return "";
  }
  return said.message ?? "The server could not take it now. It is tried again.";
}

/** Try at once, when the signal is back, when the page is looked at again, and from time to time. */
export function keepSending(attempt) {
  addEventListener("online", attempt);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && attempt());
  setInterval(attempt, TRY_AGAIN_MS);
  attempt();
}
