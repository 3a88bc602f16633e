// What is typed in a sheet stays in its tab until it is saved: a session that ended, a page left by mistake or a
// browser that closed takes nothing along. Nothing of it leaves the machine; another tab or person does not see it.

import "./entry-forget.js";
import { say } from "./entry-words.js";

const PAUSE_MS = 300;
const NOT_KEPT = new Set(["csrfmiddlewaretoken", "take", "add_taxon"]);
// What a page says of itself, which differs from page to page of one sheet.
const OF_THE_PAGE = new Set(["revision", "base", "passes", "row", "detail", "looked", "sent"]);

function watch(form) {
  const key = `sheet-${form.dataset.keep}`;
  const notice = form.querySelector("[data-kept]");
  const fields = () => [...new FormData(form)].filter(([name]) => !NOT_KEPT.has(name));
  const typed = (all) => JSON.stringify(all.filter(([name, text]) => text && !OF_THE_PAGE.has(name)).sort());
  const atFirst = typed(fields());
  let timer;

  function keep() {
    clearTimeout(timer);
    // What is offered stays until the person has said what is to become of it.
    if (!notice.hidden) return;
    try {
      if (!("typed" in form.dataset) && typed(fields()) === atFirst) sessionStorage.removeItem(key);
      else sessionStorage.setItem(key, JSON.stringify({ at: Date.now(), fields: fields() }));
    } catch {
      // The sheet works without it.
    }
  }

  function read() {
    try {
      return JSON.parse(sessionStorage.getItem(key));
    } catch {
      return null;
    }
  }

  function offer(kept) {
    const time = new Date(kept.at).toLocaleTimeString(document.documentElement.lang, { hour: "numeric", minute: "2-digit" });
    notice.querySelector("[data-kept-words]").textContent = say("kept", { time });
    notice.hidden = false;
    notice.querySelector("[data-forget]").addEventListener("click", () => {
      sessionStorage.removeItem(key);
      notice.hidden = true;
    });
    notice.querySelector("[data-put-back]").addEventListener("click", () => putBack(kept.fields));
  }

  /** The server lays the sheet out anew with all its lines and passes, and stores nothing. */
  function putBack(all) {
    const again = document.createElement("form");
    again.method = "post";
    const token = form.querySelector("[name=csrfmiddlewaretoken]").value;
    for (const [name, text] of [...all, ["csrfmiddlewaretoken", token], ["open", ""]]) {
      const input = document.createElement("textarea"); // an input would lose the line breaks of the notes
      input.name = name;
      input.value = text;
      again.append(input);
    }
    again.hidden = true;
    document.body.append(again);
    again.submit();
  }

  if ("typed" in form.dataset) {
    keep();
  } else {
    const kept = read();
    if (kept && typed(kept.fields) !== atFirst) offer(kept);
    else if (kept) sessionStorage.removeItem(key);
  }
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(keep, PAUSE_MS);
  });
  form.addEventListener("submit", keep);
  addEventListener("pagehide", keep);
}

const sheet = document.querySelector("form.sheet");
if (sheet) watch(sheet);
