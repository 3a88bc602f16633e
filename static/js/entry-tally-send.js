// Sends finished visits when there is a signal. The key was made on this device, so a visit that is sent
// twice, because an answer was lost on the way, is stored once.

import * as store from "./entry-tally-store.js";
import { message } from "./entry-tally-message.js";
import { say } from "./entry-tally-words.js";

// Browsers do not tell of every signal that comes back; with nothing to send no request is made.
const TRY_AGAIN_MS = 15_000;
// A signal that fades leaves a request hanging; all that waits behind it would hang, too. A photograph takes its time.
const ANSWER_MS = 60_000;
const PHOTOGRAPH_MS = 180_000;
const NOTHING = { words: "", signIn: false };
let sending = null;
let again = false;

const hindrance = (words, answer) => ({ words, signIn: answer?.status === 401 });

/** Send what is ready. Gives `words` on what hinders it, empty where nothing does, and whether to `signIn` would help.
 *
 * Asked while it is on its way, it goes round once more: the signal may have come back just after the way
 * out was tried, and what was made ready meanwhile would wait for the next minute. */
export function sendAll(addresses, taxa, changed) {
  again = sending !== null;
  sending ??= rounds(addresses, taxa, changed).finally(() => { sending = null; });
  return sending;
}

async function rounds(addresses, taxa, changed) {
  let hindered;
  do {
    again = false;
    hindered = await sendNow(addresses, taxa, changed);
  } while (again);
  return hindered;
}

/** Vouchers that go up now: their visit is on the server, and they were neither taken nor refused. */
async function waitingVouchers() {
  const there = new Set((await store.visits()).filter((one) => one.sent || one.clash).map((one) => one.key));
  return (await store.vouchers()).filter((one) => there.has(one.visit) && !one.sent && !one.refused);
}

async function sendNow(addresses, taxa, changed) {
  const ready = (await store.visits()).filter((one) => one.ready && !one.sent && !one.clash);
  if (!ready.length && !(await waitingVouchers()).length) return NOTHING;
  let token;
  try {
    const answer = await fetch(addresses.sync, { cache: "no-store", signal: AbortSignal.timeout(ANSWER_MS) });
    const said = await answer.json();
    if (!answer.ok) return hindrance(said.message, answer);
    ({ token } = said);
  } catch {
    return hindrance(say("No signal. It is sent when there is one."));
  }
  for (const doc of ready) {
    const hindered = await sendOne(addresses, token, doc, taxa);
    changed(doc.key);
    if (hindered.words) return hindered;
  }
  let first = NOTHING;
  for (const voucher of await waitingVouchers()) {
    const hindered = await sendVoucher(addresses, token, voucher);
    changed(voucher.visit);
    if (!first.words) first = hindered;
  }
  return first;
}

/** One voucher under its own key: sent again after a lost answer, it is stored once. */
async function sendVoucher(addresses, token, voucher) {
  const form = new FormData();
  const { key, visit, taxon, number, kind, remark } = voucher;
  form.append("voucher", JSON.stringify({ key, visit, taxon, number, kind, remark }));
  if (voucher.photo) form.append("photo", voucher.photo, `${key}.jpg`);
  let answer;
  let said;
  try {
    answer = await fetch(addresses.vouchers, {
      method: "POST",
      headers: { "X-CSRFToken": token },
      body: form,
      signal: AbortSignal.timeout(PHOTOGRAPH_MS),
    });
    said = await answer.json();
  } catch {
    return hindrance(say("The signal was lost. Vouchers that wait are sent again when it is back."));
  }
  if (answer.ok) {
    // What is safe on the server need not fill the device.
    await store.keepVoucher({ ...voucher, photo: null, sent: { at: Date.now() } });
    return NOTHING;
  }
  if ([400, 413, 422].includes(answer.status)) {
    await store.keepVoucher({ ...voucher, refused: said.message ?? say("It was not taken.") });
    return NOTHING;
  }
  return hindrance(said.message ?? say("The server could not take a voucher now. It is tried again."), answer);
}

async function sendOne(addresses, token, doc, taxa) {
  let answer;
  let said;
  try {
    answer = await fetch(addresses.sync, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": token },
      body: JSON.stringify(message(doc, await store.taps(doc.key), taxa)),
      signal: AbortSignal.timeout(ANSWER_MS),
    });
    said = await answer.json();
  } catch {
    return hindrance(say("The signal was lost. It is sent again when it is back; nothing is stored twice."));
  }
  if (answer.ok) {
    await store.changeVisit(doc.key, (one) => {
      one.sent = { address: said.address, at: Date.now() };
      one.refused = null;
    });
    return NOTHING;
  }
  if (answer.status === 409) {
    await store.changeVisit(doc.key, (one) => { one.clash = said; });
    return NOTHING;
  }
  if (answer.status === 422) {
    await store.changeVisit(doc.key, (one) => {
      one.ready = false;
      one.refused = said.remarks;
    });
    return NOTHING;
  }
  return hindrance(said.message ?? say("The server could not take it now. It is tried again."), answer);
}

/** Try at once, when the signal is back, when the page is looked at again, and from time to time. */
export function keepSending(attempt) {
  addEventListener("online", attempt);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && attempt());
  setInterval(attempt, TRY_AGAIN_MS);
  attempt();
}
