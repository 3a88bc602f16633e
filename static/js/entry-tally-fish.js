// The screen while fish are called out: one large button per species, passes, timer, undo.

import { APART, HELD_APART, INTO, at, cannot, depletion, fold, lookAlikes, newPass, passTotal, ranFor, timeNow, totalWords } from "./entry-tally-model.js";
import { choice, el, field, ask, once } from "./entry-tally-parts.js";
import { lineDialog, restReleased } from "./entry-tally-line.js";
import { NearNames } from "./entry-tally-names.js";
import { PassFields } from "./entry-tally-pass.js";
import { say, sayMany } from "./entry-tally-words.js";

const LONG_PRESS_MS = 550;
/** The second half of a double tap comes within this time, and about so near. */
const SECOND_TAP_MS = 350;
const SECOND_TAP_PX = 40;
const NOTHING = { count: 0, young: 0, marks: 0 };

export class FishScreen {
  /** `hand`: doc, taps, taxa, change(work), tap(tap), untap(). */
  constructor(hand) {
    this.hand = hand;
    this.root = el("div", { class: "tally-fish" });
    this.uncovered = null;
    this.root.addEventListener("click", (event) => this.meantAbove(event) && event.stopPropagation(), { capture: true });
    this.draw();
    this.clock = setInterval(() => this.showClock(), 1000);
  }

  /** Whether a tap is the second half of one on the keypad, which is gone by then: it would hit the fish that lies below. */
  meantAbove(event) {
    const { at, tapped } = this.uncovered ?? {};
    this.uncovered = null;
    return Boolean(event.detail && tapped?.detail) && event.timeStamp - at < SECOND_TAP_MS
      && Math.hypot(event.clientX - tapped.clientX, event.clientY - tapped.clientY) < SECOND_TAP_PX;
  }

  close() {
    clearInterval(this.clock);
  }

  get doc() { return this.hand.doc; }
  get counts() { return fold(this.hand.taps); }
  get pass() { return this.doc.passes[this.doc.pass - 1]; }

  /** Lay the screen out; the place of the cursor is found again by its id. */
  draw() {
    const focus = document.activeElement?.id;
    const { doc, hand } = this;
    this.status = el("p", { class: "tally-total", role: "status", "aria-live": "polite" });
    this.said = el("p", { class: "depletion", role: "status" });
    this.last = el("p", { class: "tally-last", "aria-hidden": "true" });
    this.alert = el("div", { role: "alert" });
    this.buttons = new Map();
    this.fields = new PassFields(this.hand);
    this.root.replaceChildren(
      el("div", { class: "pass-tabs", role: "group", "aria-label": say("Passes") }, doc.passes.map((pass, index) => el("button", {
        type: "button", class: "second", id: `pass-${index + 1}`, "aria-pressed": String(doc.pass === index + 1),
        onclick: () => hand.change((one) => { one.pass = index + 1; }).then(() => this.draw()),
      }, pass.closed ? say("Pass {n}, closed", { n: index + 1 }) : say("Pass {n}", { n: index + 1 })))),
      el("div", { class: "tally-bar" }, this.status, !this.pass.closed
        && el("button", { type: "button", class: "second", id: "undo", onclick: () => this.undo() }, say("Undo"))),
      this.last, this.said, this.alert,
      ...(this.pass.closed ? this.closedPass() : this.openPass()),
      this.fields.root,
    );
    this.update();
    if (focus) document.getElementById(focus)?.focus();
  }

  closedPass() {
    const { doc, hand } = this;
    const last = doc.pass === doc.passes.length;
    return [
      this.summary(),
      el("p", { class: "actions" },
        last && el("button", { type: "button", id: "next-pass", onclick: () => hand.change((one) => {
          // A second tap on the button finds the pass begun.
          if (!one.passes.at(-1).closed) return;
          one.passes.push({ ...newPass(), started: timeNow(one) });
          one.pass = one.passes.length;
        }).then(() => this.draw()) }, say("Begin pass {n}", { n: doc.pass + 1 })),
        el("button", { type: "button", class: "second", onclick: () => hand.change((one) => {
          Object.assign(one.passes[one.pass - 1], { closed: false, noFish: false, ended: "" });
        }).then(() => this.draw()) }, say("Open pass {n} again", { n: doc.pass }))),
    ];
  }

  summary() {
    const rows = [...this.counts].filter(([place, one]) => place.startsWith(`${this.doc.pass}-`) && one.count);
    if (!rows.length) return el("p", {}, say("No fish in this pass."));
    return el("div", {},
      el("ul", {}, rows.map(([place, one]) => el("li", {}, `${this.hand.taxa.get(Number(place.split("-")[1]))?.name}: ${one.count}`))),
      restReleased(this));
  }

  openPass() {
    const { hand } = this;
    const modes = [["young", say("of the year")], ["marks", say("with anomalies")]];
    const add = (taxon) => hand.change((one) => { if (!one.rows.includes(taxon)) one.rows.push(taxon); }).then(() => {
      this.draw();
      document.getElementById(`add-${taxon}`)?.focus();
    });
    const near = new NearNames(hand.taxa, add);
    const search = field(say("Another species"), "", (text, input) => {
      if (!text) return near.clear();
      const taxon = near.settle(text);
      if (taxon === undefined) return;
      input.value = "";
      add(taxon);
    }, { list: "tally-taxa", id: "tally-search" });
    return [
      el("p", { class: "note-line" }, say("A tap is one fish. Switched on here, it is also:")),
      el("div", { class: "tally-modes", role: "group", "aria-label": say("Each fish that is tapped is also") }, modes.map(([mode, words]) => el("button", {
        type: "button", class: "second", id: `mode-${mode}`, "aria-pressed": String(this.hand.mode === mode),
        onclick: (event) => {
          this.hand.mode = this.hand.mode === mode ? "" : mode;
          for (const button of event.target.parentElement.children) button.setAttribute("aria-pressed", String(button.id === `mode-${this.hand.mode}`));
        },
      }, words))),
      choice(say("Into"), this.hand.container, INTO, (value) => { this.hand.container = value; }),
      el("ul", { class: "tally-list" }, this.doc.rows.map((taxon) => this.species(taxon))),
      el("datalist", { id: "tally-taxa" }, [...hand.taxa.values()].map((one) => el("option", { value: `${one.name} (${one.latin})` }, one.code))),
      search,
      near.root,
      el("p", { class: "actions" },
        el("button", { type: "button", id: "close-pass", onclick: once(() => this.closePass()) }, say("Close pass {n}", { n: this.doc.pass }))),
    ];
  }

  /** One species: a tap adds one fish; a long press, or the button beside it, opens the keypad. */
  species(taxon) {
    const name = this.hand.taxa.get(taxon)?.name ?? say("taxon {n}", { n: taxon });
    const figure = el("span", { class: "figure" });
    const button = el("button", { type: "button", class: "tally-add", id: `add-${taxon}` }, el("span", {}, name), figure);
    let timer = null;
    let long = false;
    const cancel = () => clearTimeout(timer);
    button.addEventListener("pointerdown", () => {
      long = false;
      timer = setTimeout(() => { long = true; this.keypad(taxon, name); }, LONG_PRESS_MS);
    });
    for (const end of ["pointerup", "pointerleave", "pointercancel"]) button.addEventListener(end, cancel);
    button.addEventListener("contextmenu", (event) => event.preventDefault());
    button.addEventListener("click", (event) => {
      if (!long || event.detail === 0) this.add(taxon, { count: 1, [this.hand.mode || "none"]: 1 });
      long = false;
    });
    this.buttons.set(taxon, { figure, button, name });
    return el("li", {}, button, el("button", {
      type: "button", class: "second tally-more", "aria-label": say("{name}: keypad, weight and more", { name }), onclick: () => this.keypad(taxon, name),
    }, "123"));
  }

  /** The container a fish goes to by what is chosen on the screen. */
  tubFor(taxon) {
    if (this.hand.container !== APART) return this.hand.container;
    return this.hand.taxa.get(taxon)?.eel ? "eel" : "main";
  }

  async add(taxon, given, container = this.tubFor(taxon)) {
    const tap = { ...NOTHING, ...given, pass: this.doc.pass, taxon, container, at: Date.now() };
    delete tap.none;
    const why = cannot(at(this.counts, tap.pass, taxon), tap);
    if (why) return this.warn(why);
    try {
      await this.hand.tap(tap);
    } catch {
      return this.warn(say("The device could not keep this. Nothing was added: write it on paper."));
    }
    this.alert.replaceChildren();
    this.update();
    this.readBack(taxon);
    if (this.pass.noFish || (!this.pass.started && timeNow(this.doc))) {
      await this.hand.change((one) => {
        const pass = one.passes[one.pass - 1];
        pass.noFish = false;
        pass.started ||= timeNow(one);
      });
      this.fields.showTimes();
    }
    return true;
  }

  async undo() {
    const last = await this.hand.untap();
    if (!last) return this.warn(say("There is nothing to undo in this pass."));
    const name = this.hand.taxa.get(last.taxon)?.name ?? say("taxon {n}", { n: last.taxon });
    this.update(`${say("Taken back: {name}, {count}.", { name, count: last.count })} `);
    this.readBack(last.taxon, say("Taken back: {name}", { name }));
  }

  /** What is now written down for the species that was called, large enough to be read back from the bank. */
  readBack(taxon, words = this.hand.taxa.get(taxon)?.name ?? "") {
    const { count } = at(this.counts, this.doc.pass, taxon);
    this.last.replaceChildren(el("span", {}, words), el("strong", {}, String(count)));
  }

  warn(words) {
    this.alert.replaceChildren(el("p", { class: "message error" }, words));
  }

  /** The fish are counted in turn, after the last tap is on the disk. */
  async closePass() {
    const { hand } = this;
    const close = (one, noFish) => {
      const pass = one.passes[one.pass - 1];
      Object.assign(pass, { seconds: ranFor(pass), since: null, noFish, closed: true });
      // Two times within one minute would say that the pass took none.
      const now = timeNow(one);
      if (!pass.ended && now > pass.started) pass.ended = now;
    };
    let none = false;
    await hand.change((one) => {
      none = passTotal(this.counts, one.pass).fish === 0;
      if (!none) close(one, false);
    });
    if (none) {
      if (!await ask(say("Nothing is tallied in pass {n}. Was it fished, and caught no fish?", { n: this.doc.pass }), say("Yes, no fish"))) return;
      await hand.change((one) => close(one, true));
    }
    this.draw();
    document.getElementById("next-pass")?.focus();
  }

  keypad(taxon, name) {
    lineDialog(this, taxon, name);
  }

  showClock() {
    this.fields.showClock();
  }

  /** Figures and words after a change; the buttons stay, and with them the place of the finger. */
  update(before = "") {
    const { doc, counts } = this;
    const names = this.hand.taxa;
    const total = passTotal(counts, doc.pass, names);
    const all = doc.passes.map((_, index) => passTotal(counts, index + 1, names));
    const [fish, eels] = [all.reduce((sum, one) => sum + one.fish, 0), all.reduce((sum, one) => sum + one.eels, 0)];
    const said = { n: doc.pass, total: totalWords(total), fish };
    this.status.textContent = before + (eels
      ? say("Pass {n}: {total}. All passes: {fish} ({eels}).", { ...said, eels: sayMany("{n} eel", "{n} eels", eels) })
      : say("Pass {n}: {total}. All passes: {fish}.", said));
    this.said.textContent = depletion(doc, counts, names);
    this.said.hidden = !this.said.textContent;
    for (const [taxon, { figure, button, name }] of this.buttons) {
      const one = at(counts, doc.pass, taxon);
      const parts = [one.young && say("{n} of the year", { n: one.young }), one.marks && say("{n} with anomalies", { n: one.marks }),
        ...HELD_APART.map(([key, words]) => one.containers[key] && words(one.containers[key])),
        doc.marks[`${doc.pass}-${taxon}`]?.estimated && say("estimated"), doc.marks[`${doc.pass}-${taxon}`]?.unsure && say("unsure")].filter(Boolean);
      figure.replaceChildren(el("strong", {}, String(one.count)), parts.length ? el("small", {}, parts.join(", ")) : "");
      button.setAttribute("aria-label", say("{name}: {words}. Add one", { name, words: [one.count, ...parts].join(", ") }));
    }
    this.showClock();
    this.lookAgain();
  }

  lookAgain() {
    const pair = lookAlikes(this.doc, this.counts, this.hand.taxa);
    if (!pair) return;
    const [one, other] = pair.map((taxon) => this.hand.taxa.get(taxon).name);
    this.alert.replaceChildren(el("div", { class: "message warning" },
      el("p", {}, say("{one} and {other} look alike, and both are tallied. Look at them again before they are released.", { one, other })),
      el("button", { type: "button", class: "second", onclick: async () => {
        await this.hand.change((doc) => { doc.alike.push(pair.join("-")); });
        this.alert.replaceChildren();
        this.lookAgain();
      } }, say("Looked at again"))));
  }
}

