// The screen while fish are called out: one large button per species, passes, timer, undo.

import { CONTAINERS, at, cannot, clock, depletion, fold, lookAlikes, newPass, passTotal, ranFor } from "./entry-tally-model.js";
import { choice, decimal, el, field, ask, tick } from "./entry-tally-parts.js";

const LONG_PRESS_MS = 550;
const NOTHING = { count: 0, young: 0, marks: 0 };

export class FishScreen {
  /** `hand`: doc, taps, taxa, change(work), tap(tap), untap(). */
  constructor(hand) {
    this.hand = hand;
    this.container = "main";
    this.mode = "";
    this.root = el("div", { class: "tally-fish" });
    this.draw();
    this.clock = setInterval(() => this.showClock(), 1000);
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
    this.alert = el("div", { role: "alert" });
    this.buttons = new Map();
    this.root.replaceChildren(
      el("div", { class: "pass-tabs", role: "group", "aria-label": "Passes" }, doc.passes.map((pass, index) => el("button", {
        type: "button", class: "second", id: `pass-${index + 1}`, "aria-pressed": String(doc.pass === index + 1),
        onclick: () => hand.change((one) => { one.pass = index + 1; }).then(() => this.draw()),
      }, `Pass ${index + 1}${pass.closed ? ", closed" : ""}`))),
      el("div", { class: "tally-bar" }, this.status, !this.pass.closed
        && el("button", { type: "button", class: "second", id: "undo", onclick: () => this.undo() }, "Undo")),
      this.said, this.alert,
      ...(this.pass.closed ? this.closedPass() : this.openPass()),
      this.passFields(),
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
          one.passes.push(newPass());
          one.pass = one.passes.length;
        }).then(() => this.draw()) }, `Begin pass ${doc.pass + 1}`),
        el("button", { type: "button", class: "second", onclick: () => hand.change((one) => {
          one.passes[one.pass - 1].closed = false;
          one.passes[one.pass - 1].noFish = false;
        }).then(() => this.draw()) }, `Open pass ${doc.pass} again`)),
    ];
  }

  summary() {
    const rows = [...this.counts].filter(([place, one]) => place.startsWith(`${this.doc.pass}-`) && one.count);
    if (!rows.length) return el("p", {}, "No fish in this pass.");
    return el("ul", {}, rows.map(([place, one]) => el("li", {}, `${this.hand.taxa.get(Number(place.split("-")[1]))?.name}: ${one.count}`)));
  }

  openPass() {
    const { hand } = this;
    const modes = [["young", "of the year"], ["marks", "with anomalies"]];
    const names = new Map();
    for (const one of hand.taxa.values()) {
      for (const name of [one.name, one.latin, one.code, `${one.name} (${one.latin})`]) if (name) names.set(name.toLowerCase(), one.id);
    }
    const search = field("Another species", "", (text, input) => {
      const taxon = names.get(text.toLowerCase());
      if (taxon === undefined) {
        if (text) this.warn(`${text} is not in the list. Choose from the names offered.`);
        return;
      }
      input.value = "";
      hand.change((one) => { if (!one.rows.includes(taxon)) one.rows.push(taxon); }).then(() => {
        this.draw();
        document.getElementById(`add-${taxon}`)?.focus();
      });
    }, { list: "tally-taxa", id: "tally-search" });
    return [
      el("p", { class: "note-line" }, "A tap is one fish. Switched on here, it is also:"),
      el("div", { class: "tally-modes", role: "group", "aria-label": "Each fish that is tapped is also" }, modes.map(([mode, words]) => el("button", {
        type: "button", class: "second", id: `mode-${mode}`, "aria-pressed": String(this.mode === mode),
        onclick: (event) => {
          this.mode = this.mode === mode ? "" : mode;
          for (const button of event.target.parentElement.children) button.setAttribute("aria-pressed", String(button.id === `mode-${this.mode}`));
        },
      }, words))),
      choice("Into", this.container, CONTAINERS, (value) => { this.container = value; }),
      el("ul", { class: "tally-list" }, this.doc.rows.map((taxon) => this.species(taxon))),
      el("datalist", { id: "tally-taxa" }, [...hand.taxa.values()].map((one) => el("option", { value: `${one.name} (${one.latin})` }, one.code))),
      search,
      el("p", { class: "actions" },
        el("button", { type: "button", id: "close-pass", onclick: () => this.closePass() }, `Close pass ${this.doc.pass}`)),
    ];
  }

  /** One species: a tap adds one fish; a long press, or the button beside it, opens the keypad. */
  species(taxon) {
    const name = this.hand.taxa.get(taxon)?.name ?? `taxon ${taxon}`;
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
      if (!long || event.detail === 0) this.add(taxon, { count: 1, [this.mode || "none"]: 1 });
      long = false;
    });
    this.buttons.set(taxon, { figure, button, name });
    return el("li", {}, button, el("button", {
      type: "button", class: "second tally-more", "aria-label": `${name}: keypad, weight and more`, onclick: () => this.keypad(taxon, name),
    }, "123"));
  }

  async add(taxon, given, container = this.container) {
    const tap = { ...NOTHING, ...given, pass: this.doc.pass, taxon, container, at: Date.now() };
    delete tap.none;
    const why = cannot(at(this.counts, tap.pass, taxon), tap);
    if (why) return this.warn(why);
    try {
      await this.hand.tap(tap);
    } catch {
      return this.warn("The device could not keep this. Nothing was added: write it on paper.");
    }
    if (this.pass.noFish) await this.hand.change((one) => { one.passes[one.pass - 1].noFish = false; });
    this.alert.replaceChildren();
    this.update();
    return true;
  }

  async undo() {
    const last = this.hand.taps.findLast((tap) => tap.pass === this.doc.pass);
    if (!last) return this.warn("There is nothing to undo in this pass.");
    await this.hand.untap(last.id);
    this.update(`Taken back: ${this.hand.taxa.get(last.taxon)?.name}, ${last.count}. `);
  }

  warn(words) {
    this.alert.replaceChildren(el("p", { class: "message error" }, words));
  }

  async closePass() {
    const { doc, hand } = this;
    const { fish } = passTotal(this.counts, doc.pass);
    const none = fish === 0;
    if (none && !await ask(`Nothing is tallied in pass ${doc.pass}. Was it fished, and caught no fish?`, "Yes, no fish")) return;
    await hand.change((one) => {
      const pass = one.passes[one.pass - 1];
      pass.seconds = ranFor(pass);
      pass.since = null;
      pass.noFish = none;
      pass.closed = true;
    });
    this.draw();
    document.getElementById("next-pass")?.focus();
  }

  keypad(taxon, name) {
    const { doc, hand } = this;
    const place = `${doc.pass}-${taxon}`;
    const given = { count: "", young: "", marks: "" };
    const fate = { ...(doc.fates[place] ?? {}) };
    let weight = doc.weights[place] ?? "";
    let container = this.container;
    const keys = { inputmode: "numeric" };
    const word = el("p", { role: "alert", class: "error-words" });
    const close = () => box.close();
    const done = async (sign) => {
      if (Object.values({ ...given, ...fate }).some((text) => text && !/^\d{1,6}$/.test(text))) {
        word.textContent = "Type whole numbers.";
        return;
      }
      const tap = Object.fromEntries(Object.entries(given).map(([key, text]) => [key, sign * Number(text || 0)]));
      const now = at(this.counts, doc.pass, taxon);
      const why = cannot(now, { ...tap, container });
      if (why) { word.textContent = why; return; }
      const said = ["released", "died", "kept"].map((key) => fate[key]).filter(Boolean);
      const sum = said.reduce((a, b) => a + Number(b), 0);
      if (said.length && sum !== now.count + tap.count && !await ask(`Released, died and kept add up to ${sum}, but ${now.count + tap.count} fish are tallied.`, "Keep it so")) return;
      await hand.change((one) => {
        one.weights[place] = decimal(weight);
        one.fates[place] = fate;
      });
      if ((tap.count || tap.young || tap.marks) && !await this.add(taxon, tap, container)) return;
      close();
      this.update();
    };
    const box = el("dialog", { class: "tally-dialog", "aria-label": `${name}, pass ${doc.pass}` },
      el("h2", {}, `${name}, pass ${doc.pass}`),
      word,
      field("Fish", "", (text) => { given.count = text; }, { ...keys, id: "many-count" }),
      field("Of these, of the year", "", (text) => { given.young = text; }, keys),
      field("Of these, with anomalies", "", (text) => { given.marks = text; }, keys),
      choice("Into", container, CONTAINERS, (value) => { container = value; }),
      field("Batch weight of the pass, g", weight, (text) => { weight = text; }, { inputmode: "decimal", id: "many-weight" }),
      el("details", {}, el("summary", {}, "Released, died, kept"),
        ["released", "died", "kept"].map((key) => field(key, fate[key] ?? "", (text) => { fate[key] = text; }, keys))),
      el("p", { class: "actions" },
        el("button", { type: "button", onclick: () => done(1) }, "Add"),
        el("button", { type: "button", class: "second", onclick: () => done(-1) }, "Take away"),
        el("button", { type: "button", class: "second", onclick: close }, "Go back")));
    box.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" || event.target.tagName !== "INPUT") return;
      event.preventDefault();
      event.target.dispatchEvent(new Event("change"));
      done(1);
    });
    box.addEventListener("close", () => { box.remove(); document.getElementById(`add-${taxon}`)?.focus(); });
    document.body.append(box);
    box.showModal();
  }

  passFields() {
    const { doc, hand } = this;
    const set = (name) => (text) => hand.change((one) => { one.passes[one.pass - 1][name] = decimal(text); }).then(() => this.showClock());
    this.timer = el("button", { type: "button", class: "second", id: "timer", onclick: async () => {
      await hand.change((one) => {
        const pass = one.passes[one.pass - 1];
        pass.seconds = ranFor(pass);
        pass.since = pass.since ? null : Date.now();
      });
      this.showClock();
    } });
    return el("section", { class: "tally-pass-fields", "aria-label": `Effort and weight of pass ${doc.pass}` },
      el("p", { class: "actions" }, this.timer),
      el("p", { class: "note-line" }, "The timer stands in for the unit’s own counter. Where the counter is read, type its seconds: they count."),
      field("Current-on time by the counter, s", this.pass.effort, set("effort"), { inputmode: "numeric", id: "pass-effort" }),
      field("Total weight of the pass, g", this.pass.weight, set("weight"), { inputmode: "decimal", id: "pass-weight" }),
      tick("Fish of the year are told apart at this visit", doc.told.young, (on) => hand.change((one) => { one.told.young = on; })),
      tick("All fish are looked at for anomalies", doc.told.marks, (on) => hand.change((one) => { one.told.marks = on; })));
  }

  showClock() {
    this.timer.textContent = `${this.pass.since ? "Stop" : "Start"} the timer, ${clock(ranFor(this.pass))}`;
  }

  /** Figures and words after a change; the buttons stay, and with them the place of the finger. */
  update(before = "") {
    const { doc, counts } = this;
    const { fish, taxa } = passTotal(counts, doc.pass);
    let all = 0;
    for (const one of counts.values()) all += one.count;
    this.status.textContent = `${before}Pass ${doc.pass}: ${fish} fish of ${taxa} ${taxa === 1 ? "taxon" : "taxa"}. All passes: ${all}.`;
    this.said.textContent = depletion(doc, counts);
    this.said.hidden = !this.said.textContent;
    for (const [taxon, { figure, button, name }] of this.buttons) {
      const one = at(counts, doc.pass, taxon);
      const parts = [one.young && `${one.young} of the year`, one.marks && `${one.marks} with anomalies`,
        ...CONTAINERS.slice(1).map(([key, words]) => one.containers[key] && `${one.containers[key]} in ${words}`)].filter(Boolean);
      figure.replaceChildren(el("strong", {}, String(one.count)), parts.length ? el("small", {}, parts.join(", ")) : "");
      button.setAttribute("aria-label", `${name}: ${one.count}${parts.length ? `, ${parts.join(", ")}` : ""}. Add one`);
    }
    this.showClock();
    this.lookAgain();
  }

  lookAgain() {
    const pair = lookAlikes(this.doc, this.counts, this.hand.taxa);
    if (!pair) return;
    const [one, other] = pair.map((taxon) => this.hand.taxa.get(taxon).name);
    this.alert.replaceChildren(el("div", { class: "message warning" },
      el("p", {}, `${one} and ${other} look alike, and both are tallied. Look at them again before they are released.`),
      el("button", { type: "button", class: "second", onclick: async () => {
        await this.hand.change((doc) => { doc.alike.push(pair.join("-")); });
        this.alert.replaceChildren();
        this.lookAgain();
      } }, "Looked at again")));
  }
}

