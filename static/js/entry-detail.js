// The weights and fates of a line and the times and settings of the passes: opened where they are wanted, so that
// the counts stay a plain table. Net weights and the mean of the widths are worked out while one types. The server
// opens the same parts where there are no scripts, and works out the same values when it saves.

import { say } from "./entry-words.js";

const number = (input) => (input?.value.trim() && Number.isFinite(Number(input.value)) ? Number(input.value) : null);
const rounded = (value, digits) => String(Math.round(value * 10 ** digits) / 10 ** digits);

const form = document.querySelector("form.sheet");
const grid = document.querySelector("rill-grid");
const tools = document.querySelector(".grid-tools");

/** Put what follows from other fields where nothing else was typed. */
function follow(target, value, before) {
  if (!target || value === null) return;
  if (target.value.trim() && target.value.trim() !== before) return;
  if (target.value === value) return;
  target.value = value;
  target.dispatchEvent(new Event("input", { bubbles: true }));
}

// --- opening and closing ---

/** The details of a line; made from the blank ones where the page does not hold them yet. */
function detailOf(taxon) {
  const there = document.getElementById(`detail-${taxon}`);
  if (there) return there;
  const line = grid.querySelector(`tr[data-line="${taxon}"]`);
  const made = document.getElementById("blank-detail").content.firstElementChild.cloneNode(true);
  made.id = `detail-${taxon}`;
  made.dataset.detail = taxon;
  made.hidden = true;
  made.querySelector("input[name=detail]").value = taxon;
  for (const one of made.querySelectorAll("[data-name]")) one.textContent = line.querySelector("[data-name]").textContent;
  for (const one of made.querySelectorAll("[name$='-0'], [for$='-0'], [data-net$='-0']")) {
    for (const key of ["name", "id", "for", "data-net"]) {
      if (one.getAttribute(key)?.endsWith("-0")) one.setAttribute(key, one.getAttribute(key).replace(/-0$/, `-${taxon}`));
    }
  }
  line.nextElementSibling.after(made); // below what was remarked on the line
  return made;
}

function show(taxon, open) {
  const detail = detailOf(taxon);
  detail.hidden = !open;
  const button = grid.querySelector(`button[data-open="${taxon}"]`);
  button.setAttribute("aria-expanded", String(open));
  button.setAttribute("aria-controls", detail.id);
  return detail;
}

const lines = () => [...grid.querySelectorAll("tr[data-line]")].map((one) => one.dataset.line);
const isOpen = (taxon) => document.getElementById(`detail-${taxon}`)?.hidden === false;

function showAll(open) {
  for (const taxon of lines()) show(taxon, open);
  tools.querySelector("[data-open=all]").setAttribute("aria-expanded", String(open));
}

function showPasses(open) {
  for (const one of grid.querySelectorAll(".pass-line")) one.hidden = !open;
  tools.querySelector("[data-open=passes]").setAttribute("aria-expanded", String(open));
  if (open) grid.querySelector(".pass-line input").focus();
}

form.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-open]");
  if (!button) return;
  event.preventDefault();
  const [what, open] = [button.dataset.open, button.getAttribute("aria-expanded") !== "true"];
  if (what === "all") showAll(open);
  else if (what === "passes") showPasses(open);
  else if (show(what, open) && open) document.getElementById(`detail-${what}`).querySelector("input:not([type=hidden])").focus();
});

grid.addEventListener("keydown", (event) => {
  const line = event.target.closest("tr[data-line]");
  if (event.key === "+" && line && event.target.matches("input")) {
    event.preventDefault();
    const pass = /-(\d+)-\d+$/.exec(event.target.name)[1];
    show(line.dataset.line, true).querySelector(`[name="gross_g-${pass}-${line.dataset.line}"]`).focus();
  }
  const detail = event.target.closest("tr[data-detail]");
  if (event.key === "Escape" && detail) {
    const taxon = detail.dataset.detail;
    const pass = /-(\d+)-\d+$/.exec(event.target.name)?.[1] ?? 1;
    show(taxon, false);
    grid.querySelector(`[name="count-${pass}-${taxon}"]`).focus();
  }
});

// A line is reached from its cells; one stop more in each would slow the typing of counts.
for (const button of grid.querySelectorAll("button[data-open]")) button.tabIndex = -1;

// A link to a field that is closed opens it first.
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[href^='#']");
  const taxon = /^#(?:gross_g|tare_g|weighed|in_main|in_eel_well|in_other|released|died|kept|estimated|unsure)-\d+-(\d+)$/.exec(link?.hash ?? "")?.[1];
  if (taxon) show(taxon, true);
  const field = link && document.getElementById(link.hash.slice(1));
  if (field?.closest(".pass-line[hidden]")) showPasses(true);
  if (field?.matches("input, select, textarea")) {
    event.preventDefault();
    field.focus();
  }
});

// --- what follows from what is typed ---

function net(place, before) {
  const [gross, tare] = ["gross_g", "tare_g"].map((name) => number(document.getElementById(`${name}-${place}`)));
  const output = form.querySelector(`[data-net="${place}"]`);
  const value = gross === null || tare === null ? null : gross - tare;
  if (output) {
    output.textContent = value === null ? "" : value < 0 ? say("net_below") : say("net", { grams: rounded(value, 6) });
  }
  const text = value === null || value < 0 ? null : rounded(value, 6);
  if (before !== undefined) follow(document.getElementById(`biomass_g-${place}`), text, before);
  return text ?? "";
}

const widths = document.getElementById("widths_m");
const meanWords = form.querySelector("[data-width-mean]");
function mean() {
  const parts = widths.value.split(";").map((one) => one.trim()).filter(Boolean);
  const values = parts.map(Number);
  if (!parts.length || values.some((one) => !Number.isFinite(one) || one < 0)) {
    meanWords.textContent = "";
    return "";
  }
  const text = rounded(values.reduce((sum, one) => sum + one, 0) / values.length, 3);
  meanWords.textContent = say("mean", { n: values.length, mean: text });
  return text;
}

const nets = new Map();
for (const one of form.querySelectorAll("[data-net]")) nets.set(one.dataset.net, net(one.dataset.net));
let widthMean = mean();

form.addEventListener("input", (event) => {
  const place = /^(?:gross_g|tare_g)-(\d+-\d+)$/.exec(event.target.name)?.[1];
  if (place) nets.set(place, net(place, nets.get(place) ?? ""));
  if (event.target === widths) {
    const now = mean();
    follow(document.getElementById("mean_width_m"), now || null, widthMean);
    widthMean = now;
  }
  const carried = form.querySelector("[data-carried]");
  if (carried && event.target.name === "reach_length_m") carried.hidden = Number(event.target.value) !== Number(carried.dataset.carried);
});
