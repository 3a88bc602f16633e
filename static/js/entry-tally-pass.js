// What is written down for a whole pass beside its fish: effort, times, weight, and what the unit showed.

import { SETTINGS, WAVEFORMS, clock, counted, ranFor, timeNow } from "./entry-tally-model.js";
import { choice, decimal, el, field, tick } from "./entry-tally-parts.js";
import { say } from "./entry-tally-words.js";

const NUMBERS = { inputmode: "numeric" };
const DECIMALS = { inputmode: "decimal" };

export class PassFields {
  constructor(hand) {
    this.hand = hand;
    const { doc } = hand;
    const { pass } = this;
    this.timer = el("button", { type: "button", class: "second", id: "timer", onclick: () => this.turn() });
    this.readings = el("p", { role: "status" });
    this.root = el("section", { class: "tally-pass-fields", "aria-label": say("Effort, times, weight and gear of pass {n}", { n: doc.pass }) },
      el("p", { class: "actions" }, this.timer),
      el("p", { class: "note-line" }, say("The timer stands in for the unit’s own counter. Where the counter is read, its seconds count.")),
      el("div", { class: "tally-pair" },
        field(say("Counter at the start, s"), pass.from, this.set("from"), { ...NUMBERS, id: "pass-from" }),
        field(say("Counter at the end, s"), pass.to, this.set("to"), { ...NUMBERS, id: "pass-to" })),
      this.readings,
      field(say("Or the current-on time itself, s"), pass.effort, this.set("effort"), { ...NUMBERS, id: "pass-effort" }),
      el("div", { class: "tally-pair" },
        field(say("Pass began at"), pass.started, this.set("started"), { type: "time", id: "pass-started" }),
        field(say("Pass ended at"), pass.ended, this.set("ended"), { type: "time", id: "pass-ended" })),
      field(say("Total weight of the pass, g"), pass.weight, this.set("weight"), { ...DECIMALS, id: "pass-weight" }),
      this.gear(),
      tick(say("Fish of the year are told apart at this visit"), doc.told.young, (on) => hand.change((one) => { one.told.young = on; })),
      tick(say("All fish are looked at for anomalies"), doc.told.marks, (on) => hand.change((one) => { one.told.marks = on; })));
    this.showClock();
  }

  get pass() { return this.hand.doc.passes[this.hand.doc.pass - 1]; }

  set(name) {
    return (text) => this.hand.change((one) => { one.passes[one.pass - 1][name] = decimal(text); }).then(() => this.showClock());
  }

  setGear(name, read = decimal) {
    return (text) => this.hand.change((one) => { one.passes[one.pass - 1].gear[name] = read(text); });
  }

  /** What was set, as the unit showed it. Empty until somebody types: no setting is proposed, not even the last one. */
  gear() {
    const { gear } = this.pass;
    return el("details", { class: "tally-gear", open: Object.values(gear).some(Boolean) }, el("summary", {}, say("Gear of pass {n}", { n: this.hand.doc.pass })),
      el("p", { class: "note-line" }, say("Copy what the unit shows. What may be set is for the permit, local rules and the trained crew leader to say.")),
      field(say("Unit, by its name or number"), gear.gear_unit ?? "", this.setGear("gear_unit", (text) => text), { maxlength: 100, id: "gear_unit" }),
      choice(say("Form of the current"), gear.waveform ?? "", WAVEFORMS, this.setGear("waveform", (text) => text)),
      el("div", { class: "tally-pair" },
        field(say("Anodes"), gear.anodes ?? "", this.setGear("anodes"), { ...NUMBERS, id: "anodes" }),
        field(say("People with a net"), gear.netters ?? "", this.setGear("netters"), { ...NUMBERS, id: "netters" })),
      SETTINGS.map(([name, first, last]) => el("div", { class: "tally-pair" },
        field(first, gear[`${name}_first`] ?? "", this.setGear(`${name}_first`), { ...DECIMALS, id: `${name}_first` }),
        field(last, gear[`${name}_last`] ?? "", this.setGear(`${name}_last`), { ...DECIMALS, id: `${name}_last` }))));
  }

  async turn() {
    await this.hand.change((one) => {
      const pass = one.passes[one.pass - 1];
      pass.seconds = ranFor(pass);
      pass.since = pass.since ? null : Date.now();
      pass.started ||= timeNow(one);
    });
    this.showTimes();
    this.showClock();
  }

  showTimes() {
    for (const name of ["started", "ended"]) this.root.querySelector(`#pass-${name}`).value = this.pass[name];
  }

  showClock() {
    const { pass } = this;
    const time = clock(ranFor(pass));
    this.timer.textContent = pass.since ? say("Stop the timer, {time}", { time }) : say("Start the timer, {time}", { time });
    const words = pass.from && pass.to ? this.counterWords() : "";
    if (this.readings.textContent !== words) this.readings.textContent = words;
  }

  /** What the counter's two readings say, and whether what is typed below them counts instead. */
  counterWords() {
    const { pass } = this;
    const seconds = counted(pass);
    if (!seconds) return say("The second reading is lower than the first, or is no whole number. Was the counter reset? Then type the seconds below.");
    if (!pass.effort || pass.effort === seconds) return say("By the counter: {seconds} s.", { seconds });
    return say("By the counter: {seconds} s. Typed below: {typed} s, which counts.", { seconds, typed: pass.effort });
  }
}
