// Names of taxa on the device: what a name stands for, and which names come near one that is on no list.
// Nothing is chosen here: near names are shown as buttons, and a person says which is meant.

import { el } from "./entry-tally-parts.js";
import { say } from "./entry-tally-words.js";

const MOST_NEAR = 5;
/** Share of groups of three letters two names have in common; the server's list uses the same limit. */
const NEAR = 0.3;

const folded = (text) => text.normalize("NFKC").toLowerCase().trim().replace(/\s+/g, " ");

const namesOf = (one) => [one.name, one.latin, one.code, ...(one.other ?? [])].filter(Boolean);

/** Groups of three letters of each word, with two spaces before it and one after. */
function trigrams(text) {
  const groups = new Set();
  for (const word of folded(text).split(/[^\p{L}\p{N}]+/u)) {
    const padded = `  ${word} `;
    for (let at = 0; word && at + 3 <= padded.length; at += 1) groups.add(padded.slice(at, at + 3));
  }
  return groups;
}

function alike(some, other) {
  let both = 0;
  for (const group of some) if (other.has(group)) both += 1;
  return both / (some.size + other.size - both || 1);
}

/** The taxa a text stands for as it is written, whatever its case: none, one, or several that share the name. */
export function taxaNamed(taxa, text) {
  const wanted = folded(text);
  const found = [...taxa.values()].filter((one) => [...namesOf(one), `${one.name} (${one.latin})`].some((name) => folded(name) === wanted));
  return found.map((one) => one.id);
}

/** Taxa with a name that comes near a text, the nearest first. */
export function near(taxa, text) {
  const wanted = trigrams(text);
  const found = [];
  for (const one of taxa.values()) {
    const best = Math.max(...namesOf(one).map((name) => alike(wanted, trigrams(name))));
    if (best >= NEAR) found.push([best, one]);
  }
  return found.sort(([a, one], [b, other]) => b - a || one.latin.localeCompare(other.latin)).slice(0, MOST_NEAR).map(([, one]) => one);
}

/** A place below a field of names. `settle(text)` gives the one taxon meant, or asks and gives nothing. */
export class NearNames {
  constructor(taxa, chosen) {
    this.taxa = taxa;
    this.chosen = chosen;
    this.words = el("p", { role: "alert", class: "error-words" });
    this.list = el("ul", { class: "near-names" });
    this.root = el("div", {}, this.words, this.list);
  }

  clear() {
    this.words.textContent = "";
    this.list.replaceChildren();
  }

  settle(text) {
    this.clear();
    const named = taxaNamed(this.taxa, text);
    if (named.length === 1) return named[0];
    const offered = named.length ? named.map((id) => this.taxa.get(id)) : near(this.taxa, text);
    if (named.length) this.words.textContent = say("More than one taxon goes by {text}. Which one is meant?", { text });
    else if (offered.length) {
      this.words.textContent = offered.length === 1
        ? say("{text} is not in the list. Did you mean this one?", { text })
        : say("{text} is not in the list. Did you mean one of these?", { text });
    } else this.words.textContent = say("{text} is not in the list, and no name in it comes near.", { text });
    this.list.replaceChildren(...offered.map((one) => el("li", {}, el("button", {
      type: "button", class: "second", onclick: () => { this.clear(); this.chosen(one.id); },
    }, one.name === one.latin ? one.name : `${one.name} (${one.latin})`))));
    return undefined;
  }
}
