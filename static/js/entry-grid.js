// Totals while one types, and the keyboard of a sheet: Enter and the arrow keys go up and down a column.
// Everything the page stores goes through its form; this adds nothing that the server does not check.

import { say } from "./entry-words.js";

const COUNT = /^count-(\d+)-(\d+)$/;

/** The number in a count cell: null where it is blank, NaN where it cannot be read. */
function count(input) {
  const text = input.value.trim();
  if (!text) return null;
  return /^\d+$/.test(text) ? Number(text) : NaN;
}

/** Pass by pass, in the words of the server. */
function depletion(totals) {
  const said = [];
  for (const [at, total] of totals.entries()) {
    if (total === null || Number.isNaN(total)) break;
    const number = at + 1;
    const fish = say(total === 1 ? "one_fish" : "several_fish", { n: total });
    const before = at ? totals[at - 1] : null;
    const key = before === null ? "first" : total < before ? "fell" : total === 0 ? "none_again" : "did_not_fall";
    said.push(say(key, { number, fish, before }));
  }
  return said.join(" ") || say("no_pass");
}

class RillGrid extends HTMLElement {
  connectedCallback() {
    this.addEventListener("input", () => this.total());
    this.addEventListener("keydown", (event) => this.move(event));
    this.total();
  }

  total() {
    const passes = new Map();
    for (const row of this.querySelectorAll("tr[data-line]")) {
      const values = [...row.querySelectorAll("input")].filter((one) => COUNT.test(one.name));
      let sum = null;
      for (const input of values) {
        const value = count(input);
        if (value === null) continue;
        const number = Number(COUNT.exec(input.name)[1]);
        sum = (sum ?? 0) + value;
        passes.set(number, (passes.get(number) ?? 0) + value);
      }
      row.querySelector("[data-row-total]").textContent = sum === null ? "" : String(sum || 0);
    }
    const totals = [];
    let all = null;
    for (const cell of this.querySelectorAll("[data-pass-total]")) {
      const number = Number(cell.dataset.passTotal);
      const none = this.querySelector(`input[name="no_fish-${number}"]`).checked;
      const total = passes.get(number) ?? (none ? 0 : null);
      totals.push(total);
      cell.textContent = total === null ? say("not_recorded") : Number.isNaN(total) ? say("unreadable") : String(total);
      if (total !== null) all = (all ?? 0) + total;
    }
    this.querySelector("[data-all-total]").textContent = all === null ? "" : String(all || 0);
    const words = depletion(totals);
    const status = this.querySelector("[data-depletion]");
    if (status.textContent.trim().replace(/\s+/g, " ") !== words) status.textContent = words;
  }

  move(event) {
    const input = event.target;
    if (!(input instanceof HTMLInputElement) || event.altKey || event.ctrlKey || event.metaKey) return;
    const step = { Enter: event.shiftKey ? -1 : 1, ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!step) return;
    event.preventDefault();
    const column = this.column(input);
    const next = column[column.indexOf(input) + step];
    if (!next) return;
    next.focus();
    next.select();
  }

  /** What stands above and below a field: the same figure of every species; below the numbers of fish, their pass. */
  column(input) {
    const key = (one) => one.name.replace(/^(\w+-\d+)-\d+$/, "$1");
    const seen = (one) => one.type !== "hidden" && !one.closest("[hidden]");
    const lines = [...this.querySelectorAll("tbody input")].filter((one) => key(one) === key(input) && seen(one));
    const pass = COUNT.exec(input.name)?.[1] ?? (input.closest("tfoot") && /-(\d+)$/.exec(input.name)?.[1]);
    if (!pass) return lines;
    const counts = [...this.querySelectorAll("tbody input")].filter((one) => COUNT.exec(one.name)?.[1] === pass && seen(one));
    const below = [...this.querySelectorAll("tfoot input")].filter((one) => one.name.endsWith(`-${pass}`) && seen(one));
    return [...counts, ...below];
  }
}

customElements.define("rill-grid", RillGrid);

// Enter in the search for another species adds its row instead of saving the draft.
const add = document.getElementById("add_taxon");
add?.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || !add.value.trim()) return;
  event.preventDefault();
  add.form.querySelector('button[value="add_taxon"]').click();
});
// Where something was refused, the summary is the first thing that is read.
document.querySelector(".error-summary")?.focus();
