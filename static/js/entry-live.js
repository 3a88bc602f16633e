// The checks of saving, run while one types: what they find is shown beside its field. The keyboard stays where
// it is, and nothing is stored. Without a network or scripts the same checks speak when the sheet is saved.

import { say as word } from "./entry-words.js";

const PAUSE_MS = 450;
const AGAIN_MS = 2000;
const form = document.querySelector("form.sheet");
const look = form.querySelector("[data-look]");
const news = form.querySelector("[data-news]");
const signedOut = form.querySelector("[data-signed-out]");
const NOT_CHECKED = new Set(["looked", "remark", "add_taxon", "take"]);

let timer;
let asked;
let known = null;
// What was shown when the page was opened is no news.
const atFirst = [...look.querySelectorAll(".what")].map((one) => one.textContent);

/** The same words again leave the page alone, and so what is read aloud. */
function put(place, html) {
  if (place.dataset.html === html) return;
  place.dataset.html = html;
  place.innerHTML = html; // made and escaped by the server, from the templates of the page itself
}

const around = (input) => input.closest(".small-field, .field, td");

function mark(wrong) {
  for (const input of form.querySelectorAll("[aria-invalid]")) {
    if (wrong.has(input.name)) continue;
    input.removeAttribute("aria-invalid");
    input.removeAttribute("aria-describedby");
    around(input)?.classList.remove("has-errors");
  }
  for (const name of wrong) {
    const input = document.getElementById(name);
    if (!input || input.getAttribute("aria-invalid")) continue;
    input.setAttribute("aria-invalid", "true");
    around(input)?.classList.add("has-errors");
  }
}

function spots(found) {
  for (const place of form.querySelectorAll("[data-spot]")) {
    const html = (found[place.dataset.spot] ?? "").trim();
    place.id ||= `spot-${place.dataset.spot}`;
    put(place, html);
    const line = place.closest("tr.said");
    if (line) line.hidden = !html;
  }
  for (const input of form.querySelectorAll("[aria-invalid]")) {
    const place = input.closest(".field")?.querySelector("[data-spot]")
      ?? form.querySelector(`[data-spot="row-${/-\d+-(\d+)$/.exec(input.name)?.[1]}"]`)
      ?? form.querySelector("[data-spot=passes]");
    if (place) input.setAttribute("aria-describedby", place.id);
  }
}

function say(said) {
  const fresh = said.filter((one) => !(known ?? atFirst).some((old) => one.endsWith(old)));
  const gone = (known ?? atFirst).length && !said.length;
  known = said;
  news.textContent = fresh.length ? word("to_look_at", { words: fresh.join(" ") }) : gone ? word("nothing_odd") : "";
}

async function check(again = false) {
  asked?.abort();
  asked = new AbortController();
  let found;
  try {
    const answer = await fetch(form.dataset.check, { method: "POST", body: new FormData(form), signal: asked.signal });
    // Without a session the server leads to the page for signing in; after another sign-in it refuses the form.
    signedOut.hidden = !(answer.redirected || answer.status === 403);
    if (!answer.ok || answer.redirected) return;
    found = await answer.json();
  } catch (fault) {
    // More was typed, or the line broke: then it is asked once more. Saving checks in any case.
    if (fault.name !== "AbortError" && !again) timer = setTimeout(() => check(true), AGAIN_MS);
    return;
  }
  mark(new Set(found.wrong));
  spots(found.spots);
  const focused = look.contains(document.activeElement) ? document.activeElement.id : "";
  // Answers typed while the server was asked are newer than what it sends back.
  const answers = [...look.querySelectorAll("input[type=text]")].map((one) => [one.id, one.value]);
  put(look, found.look.trim());
  for (const [id, value] of answers) {
    const field = document.getElementById(id);
    if (field) field.value = value;
  }
  if (focused) document.getElementById(focused)?.focus();
  for (const notice of form.querySelectorAll("[data-notice]")) {
    const words = found[notice.dataset.notice];
    if (notice.textContent.trim() !== words) notice.textContent = words;
    notice.hidden = !words;
  }
  say(found.said);
}

function later(event) {
  if (NOT_CHECKED.has(event.target.name) || event.target.name.startsWith("answer-")) return;
  clearTimeout(timer);
  timer = setTimeout(() => check(), PAUSE_MS);
}

form.addEventListener("input", later);
form.addEventListener("change", later);
