// What a tally is: a visit, its passes, and counts folded from taps. No page and no database in here.

import { say, sayMany } from "./entry-tally-words.js";

export const CONTAINERS = [["main", say("main tub")], ["eel", say("eel live well")], ["other", say("other container")]];
/** What is said of fish that are not in the main tub. */
export const HELD_APART = [["eel", (n) => say("{n} in eel live well", { n })], ["other", (n) => say("{n} in other container", { n })]];
/** Chosen on the screen of the fish: the tub that the taps of each species go to. */
export const APART = "apart";
export const INTO = [...CONTAINERS.slice(0, 1), [APART, say("main tub, eels into the eel live well")], ...CONTAINERS.slice(1)];
export const FATES = ["released", "died", "kept"];
export const WATER = [
  ["water_temp_c", say("Water temperature, °C")],
  ["air_temp_c", say("Air temperature, °C")],
  ["conductivity_us_cm", say("Conductivity, µS/cm")],
  ["dissolved_oxygen_mg_l", say("Dissolved oxygen, mg/L")],
  ["ph", say("pH")],
  ["turbidity_ntu", say("Turbidity, NTU")],
  ["discharge_m3_s", say("Discharge, m³/s")],
];
export const NETS = [["", say("not recorded")], ["both", say("both ends")], ["upstream", say("upstream end only")],
  ["downstream", say("downstream end only")], ["none", say("none")]];

export const BASIS = [["", say("not recorded")], ["ambient", say("at the water’s own temperature")], ["25 C", say("worked out for 25 degrees C")]];
export const BOTTOM = [["", say("not recorded")], ["yes", say("yes")], ["partly", say("partly")], ["no", say("no")]];
export const WAVEFORMS = [["", say("not recorded")], ["DC", say("direct current")], ["pulsed DC", say("pulsed direct current")],
  ["AC", say("alternating current")]];
/** What the unit shows, at the start and at the end of a pass. Nothing is ever proposed for it. */
export const SETTINGS = [
  ["volts", say("Voltage, V, at the start"), say("Voltage, V, at the end")],
  ["pulse_hz", say("Pulse frequency, Hz, at the start"), say("Pulse frequency, Hz, at the end")],
  ["pulse_width_ms", say("Pulse width, ms, at the start"), say("Pulse width, ms, at the end")],
];

export const newPass = () => ({
  closed: false, noFish: false, seconds: 0, since: null, effort: "", weight: "",
  from: "", to: "", started: "", ended: "", gear: {},
});

/** A visit as earlier versions kept it, with what has been added since left empty. */
export function upgraded(doc) {
  return {
    checks: [], checksBy: "", marks: {}, batches: {}, told: { young: false, marks: false }, weights: {}, fates: {}, alike: [],
    ...doc,
    passes: doc.passes.map((pass) => ({ ...newPass(), ...pass })),
  };
}

/** A key that no other device makes. Browsers give whole ones only where the connection is protected. */
export function newKey() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40; // version 4, made by chance (RFC 9562)
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const digits = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return digits.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

/** The day as it is written in a record. Spelled out here: the form of a country differs from one browser to the next. */
export const dayOf = (when = new Date()) =>
  [when.getFullYear(), when.getMonth() + 1, when.getDate()].map((part) => String(part).padStart(2, "0")).join("-");

/** A visit that begins on this device, under a key of its own. */
export function newVisit(station, date, method) {
  return {
    key: newKey(),
    begun: Date.now(),
    station: station.code,
    stream: station.stream,
    date,
    method,
    rows: [...station.expected],
    pass: 1,
    passes: [newPass()],
    texts: { reach_length_m: station.reach ? String(station.reach) : "" },
    widths: [],
    told: { young: false, marks: false },
    weights: {},
    batches: {},
    fates: {},
    marks: {},
    checks: [],
    checksBy: "",
    alike: [],
    ready: false,
    sent: null,
    clash: null,
    refused: null,
  };
}

const NONE = () => ({ count: 0, young: 0, marks: 0, containers: {} });

/** Counts by pass and taxon: a map from "1-17" to fish, young, marks and fish by container. */
export function fold(taps) {
  const counts = new Map();
  for (const tap of taps) {
    const place = `${tap.pass}-${tap.taxon}`;
    if (!counts.has(place)) counts.set(place, NONE());
    const one = counts.get(place);
    one.count += tap.count;
    one.young += tap.young;
    one.marks += tap.marks;
    one.containers[tap.container] = (one.containers[tap.container] ?? 0) + tap.count;
  }
  return counts;
}

export const at = (counts, pass, taxon) => counts.get(`${pass}-${taxon}`) ?? NONE();

/** Fish and taxa of one pass, and how many of the fish are eels. */
export function passTotal(counts, pass, names = new Map()) {
  let fish = 0;
  let taxa = 0;
  let eels = 0;
  for (const [place, one] of counts) {
    const [number, taxon] = place.split("-").map(Number);
    if (number !== pass || one.count < 1) continue;
    fish += one.count;
    taxa += 1;
    if (names.get(taxon)?.eel) eels += one.count;
  }
  return { fish, taxa, eels };
}

/** "12 fish of 3 taxa", with eels told apart where there are any: they are held and counted apart. */
export function totalWords({ fish, taxa, eels }) {
  const words = { fish: sayMany("{n} fish", "{n} fish", fish), taxa: sayMany("{n} taxon", "{n} taxa", taxa) };
  if (!eels) return say("{fish} of {taxa}", words);
  return say("{fish} of {taxa} ({eels}, {others})", {
    ...words,
    eels: sayMany("{n} eel", "{n} eels", eels),
    others: sayMany("{n} other fish", "{n} other fish", fish - eels),
  });
}

/** Why a change to a catch line cannot be, or nothing. */
export function cannot(now, tap) {
  const [count, young, marks] = [now.count + tap.count, now.young + tap.young, now.marks + tap.marks];
  const held = (now.containers[tap.container] ?? 0) + tap.count;
  if (count < 0 || young < 0 || marks < 0) return say("There are not so many to take away.");
  if (held < 0) return say("There are not so many in this container.");
  if (young > count) return say("There cannot be more fish of the year than fish.");
  if (marks > count) return say("There cannot be more fish with anomalies than fish.");
  return "";
}

/** Seconds the timer of a pass has run, up to now where it runs. */
export const ranFor = (pass, now = Date.now()) =>
  Math.round(pass.seconds + (pass.since ? Math.max(0, now - pass.since) / 1000 : 0));

export const clock = (seconds) => `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;

/** Seconds between two readings of the unit's counter; nothing where one is missing or the second is lower. */
export function counted(pass) {
  const [from, to] = [pass.from, pass.to].map((text) => (/^\d{1,9}$/.test(text) ? Number(text) : NaN));
  return to >= from ? String(to - from) : "";
}

/** Current-on time of a pass: what was typed, else the counter's readings, else the timer, else nothing. */
export const effortOf = (pass) => pass.effort || counted(pass) || (ranFor(pass) ? String(ranFor(pass)) : "");

/** The time of day now, where the visit is of today: an older sheet that is typed later has times of its own. */
export function timeNow(doc, now = new Date()) {
  return dayOf(now) === doc.date ? now.toTimeString().slice(0, 5) : "";
}

/** Weight of the batch from the scale: with the container, less the container alone. */
export function net({ gross, tare } = {}) {
  const [heavy, light] = [gross, tare].map((text) => (text ? Number(text) : NaN));
  return heavy >= light ? String(Math.round((heavy - light) * 1000) / 1000) : "";
}

/** Released, died and kept of a line, where they make up its count; nothing where they do not, or are not known. */
export function fateOf(fate, count) {
  const given = FATES.map((name) => fate?.[name] ?? "");
  if (given.every((text) => !text)) return null;
  return given.reduce((sum, text) => sum + Number(text || 0), 0) === count ? given.map((text) => text || "0") : null;
}

export function meanWidth(widths) {
  const read = widths.map(Number).filter((one) => one > 0);
  return read.length ? String(Math.round((read.reduce((a, b) => a + b, 0) / read.length) * 100) / 100) : "";
}

/** Whether a pass was made: one with fish, said to have none, or with an effort. */
export const wasMade = (pass, total) => total.fish > 0 || pass.noFish || Boolean(effortOf(pass)) || Boolean(pass.weight);

/** What the catch did from pass to pass. It is left to the crew leader whether another is made. */
export function depletion(doc, counts, names = new Map()) {
  const said = [];
  for (let number = 2; number <= doc.passes.length; number += 1) {
    const [before, now] = [doc.passes[number - 2], doc.passes[number - 1]];
    const [one, other] = [passTotal(counts, number - 1, names), passTotal(counts, number, names)];
    const [first, second] = [one.fish, other.fish];
    if (!before.closed || !now.closed) break;
    if (second < first) {
      said.push(sayMany("Pass {pass}: {n} fish after {before}; the catch fell.", "Pass {pass}: {n} fish after {before}; the catch fell.",
        second, { pass: number, before: first }));
    } else if (first === 0) said.push(say("Pass {n}: no fish again.", { n: number }));
    else {
      said.push(sayMany("Pass {pass}: {n} fish after {before}; the catch did not fall. Whether another pass is made is the crew leader’s decision.",
        "Pass {pass}: {n} fish after {before}; the catch did not fall. Whether another pass is made is the crew leader’s decision.",
        second, { pass: number, before: first }));
    }
    if (one.eels || other.eels) {
      said.push(say("Without eels: {others} after {others_before}; eels: {eels} after {eels_before}.", {
        others: second - other.eels, others_before: first - one.eels, eels: other.eels, eels_before: one.eels,
      }));
    }
  }
  return said.join(" ");
}

/** A pair of look-alikes that are both tallied and were not looked at again yet. */
export function lookAlikes(doc, counts, taxa) {
  const met = new Set();
  for (const [place, one] of counts) if (one.count > 0) met.add(Number(place.split("-")[1]));
  for (const one of met) {
    for (const other of taxa.get(one)?.alike ?? []) {
      if (one < other && met.has(other) && !doc.alike.includes(`${one}-${other}`)) return [one, other];
    }
  }
  return null;
}
