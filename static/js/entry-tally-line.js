// One line of the catch: many fish at once, weights, what became of the fish, and doubts about number or name.

import { CONTAINERS, FATES, at, cannot, fateOf, fold, net } from "./entry-tally-model.js";
import { ask, choice, decimal, el, field, once, tick } from "./entry-tally-parts.js";
import { say, sayMany } from "./entry-tally-words.js";

const WHOLE = /^\d{1,6}$/;
const WEIGHT = /^\d{1,8}([.,]\d{1,3})?$/;
const NUMBERS = { inputmode: "numeric" };
const WEIGHTS = { inputmode: "decimal" };
const FATE_WORDS = { released: say("Released"), died: say("Died"), kept: say("Kept") };

/** `screen`: the screen of the fish, which adds the taps and shows what changed. */
export function lineDialog(screen, taxon, name) {
  const { doc, hand } = screen;
  const place = `${doc.pass}-${taxon}`;
  const given = { count: "", young: "", marks: "" };
  const fate = { ...doc.fates[place] };
  const batch = { ...doc.batches[place] };
  const marks = { ...doc.marks[place] };
  let weight = doc.weights[place] ?? "";
  let container = screen.tubFor(taxon);
  const word = el("p", { role: "alert", class: "error-words" });
  const close = () => box.close();
  const now = () => at(screen.counts, doc.pass, taxon);

  const netWords = el("p", { role: "status" });
  const weigh = (part) => (text) => {
    batch[part] = decimal(text);
    netWords.textContent = net(batch) ? say("The fish alone: {weight} g. This is the batch weight.", { weight: net(batch) })
      : batch.gross && batch.tare ? say("With the container it is less than the container alone. Look again.") : "";
  };
  const fates = new Map(FATES.map((key) => [key, field(FATE_WORDS[key], fate[key] ?? "", (text) => { fate[key] = text; }, { ...NUMBERS, id: `fate-${key}` })]));
  const rest = () => {
    fate.released = String(Math.max(0, now().count + Number(given.count || 0) - Number(fate.died || 0) - Number(fate.kept || 0)));
    fates.get("released").querySelector("input").value = fate.released;
  };

  /** Why what is typed cannot be kept; nothing where it can. */
  const wrong = () => {
    if (Object.values({ ...given, ...fate, weighed: batch.weighed }).some((text) => text && !WHOLE.test(text))) return say("Type whole numbers.");
    if ([weight, batch.gross, batch.tare].some((text) => text && !WEIGHT.test(text))) return say("Type weights in grams.");
    if (Boolean(batch.gross) !== Boolean(batch.tare)) return say("Give the weight with the container and the container alone, or neither.");
    if (batch.gross && !net(batch)) return say("With the container it is less than the container alone.");
    return "";
  };

  const done = once(async (sign) => {
    const tap = Object.fromEntries(Object.entries(given).map(([key, text]) => [key, sign * Number(text || 0)]));
    word.textContent = wrong() || cannot(now(), { ...tap, container });
    if (word.textContent) return;
    const count = now().count + tap.count;
    if (batch.weighed && Number(batch.weighed) > count) {
      word.textContent = sayMany("There are {n} fish; not more than these can be weighed.", "There are {n} fish; not more than these can be weighed.", count);
      return;
    }
    const sum = FATES.reduce((all, key) => all + Number(fate[key] || 0), 0);
    if (FATES.some((key) => fate[key]) && !fateOf(fate, count)
      && !await ask(say("Released, died and kept add up to {sum}, but {n} fish are tallied. As long as they differ, they are only kept in the remarks.", { sum, n: count }), say("Keep it so"))) return;
    try {
      await hand.change((one) => {
        one.weights[place] = decimal(weight);
        one.fates[place] = fate;
        one.batches[place] = batch;
        one.marks[place] = marks;
      });
    } catch {
      return; // the page says so; what was typed stays on the screen
    }
    if ((tap.count || tap.young || tap.marks) && !await screen.add(taxon, tap, container)) return;
    close();
    screen.update();
  });

  const box = el("dialog", { class: "tally-dialog", "aria-label": say("{name}, pass {n}", { name, n: doc.pass }) },
    el("h2", {}, say("{name}, pass {n}: {count}", { name, n: doc.pass, count: now().count })),
    word,
    field(say("Fish"), "", (text) => { given.count = text; }, { ...NUMBERS, id: "many-count" }),
    field(say("Of these, of the year"), "", (text) => { given.young = text; }, NUMBERS),
    field(say("Of these, with anomalies"), "", (text) => { given.marks = text; }, NUMBERS),
    choice(say("Into"), container, CONTAINERS, (value) => { container = value; }),
    tick(say("The number is estimated, not counted"), marks.estimated, (on) => { marks.estimated = on; }, "mark-estimated"),
    tick(say("The name is in doubt"), marks.unsure, (on) => { marks.unsure = on; }, "mark-unsure"),
    el("details", { open: Boolean(weight || batch.gross) }, el("summary", {}, say("Batch weight")),
      field(say("Weight of the fish of this line, g"), weight, (text) => { weight = text; }, { ...WEIGHTS, id: "many-weight" }),
      el("p", { class: "note-line" }, say("Or as the scale shows it:")),
      field(say("With the container, g"), batch.gross ?? "", weigh("gross"), { ...WEIGHTS, id: "many-gross" }),
      field(say("The container alone, g"), batch.tare ?? "", weigh("tare"), { ...WEIGHTS, id: "many-tare" }),
      netWords,
      field(say("Fish weighed, where not all of the line"), batch.weighed ?? "", (text) => { batch.weighed = text; }, { ...NUMBERS, id: "many-weighed" })),
    el("details", { open: FATES.some((key) => fate[key]) }, el("summary", {}, say("Released, died, kept")),
      [...fates.values()],
      el("p", { class: "actions" }, el("button", { type: "button", class: "second", id: "rest-released", onclick: rest }, say("All others were released")))),
    el("p", { class: "note-line" }, say("With no fish typed, Add keeps the rest.")),
    el("p", { class: "actions tally-keep" },
      el("button", { type: "button", id: "line-add", onclick: () => done(1) }, say("Add")),
      el("button", { type: "button", class: "second", onclick: () => done(-1) }, say("Take away")),
      el("button", { type: "button", class: "second", onclick: close }, say("Go back"))));
  box.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.target.tagName !== "INPUT" || event.target.type === "checkbox") return;
    event.preventDefault();
    if (event.repeat) return;
    event.target.dispatchEvent(new Event("change"));
    done(1);
  });
  let tapped = null;
  box.addEventListener("click", (event) => { tapped = event; }, { capture: true });
  box.addEventListener("close", () => { box.remove(); screen.uncovered = { at: performance.now(), tapped }; document.getElementById(`add-${taxon}`)?.focus(); });
  document.body.append(box);
  box.showModal();
}

/** For a closed pass: of every line nobody said anything else of, that all of its fish were released alive. */
export function restReleased(screen) {
  const { doc, hand } = screen;
  const open = [...fold(hand.taps)].filter(([place, one]) => place.startsWith(`${doc.pass}-`) && one.count
    && !FATES.some((key) => doc.fates[place]?.[key]));
  if (!open.length) return el("p", {}, say("What became of the fish is written down for every line of this pass."));
  return el("div", {},
    el("p", {}, sayMany(
      "What became of the fish is not written down for {n} line. Open the pass again for those that died or were kept.",
      "What became of the fish is not written down for {n} lines. Open the pass again for those that died or were kept.", open.length)),
    el("p", { class: "actions" }, el("button", { type: "button", class: "second", id: "all-released", onclick: () => hand.change((one) => {
      for (const [place, line] of open) one.fates[place] = { released: String(line.count), died: "0", kept: "0" };
    }).then(() => screen.draw()) }, say("They were all released alive"))));
}
