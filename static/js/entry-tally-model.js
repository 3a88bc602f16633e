// What a tally is: counts folded from taps, and the visit as it is sent. No page and no database in here.

export const CONTAINERS = [["main", "main tub"], ["eel", "eel live well"], ["other", "other container"]];
export const WATER = [
  ["water_temp_c", "Water temperature", "°C"],
  ["conductivity_us_cm", "Conductivity", "µS/cm"],
  ["dissolved_oxygen_mg_l", "Dissolved oxygen", "mg/L"],
  ["ph", "pH", ""],
  ["turbidity_ntu", "Turbidity", "NTU"],
  ["discharge_m3_s", "Discharge", "m³/s"],
];
export const NETS = [["", "not recorded"], ["both", "both ends"], ["upstream", "upstream end only"],
  ["downstream", "downstream end only"], ["none", "none"]];

export const newPass = () => ({ closed: false, noFish: false, seconds: 0, since: null, effort: "", weight: "" });

/** A visit that begins on this device, under a key of its own. */
export function newVisit(station, date, method) {
  return {
    key: crypto.randomUUID(),
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
    fates: {},
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

/** Fish and taxa of one pass. */
export function passTotal(counts, pass) {
  let fish = 0;
  let taxa = 0;
  for (const [place, one] of counts) {
    if (Number(place.split("-")[0]) !== pass || one.count < 1) continue;
    fish += one.count;
    taxa += 1;
  }
  return { fish, taxa };
}

/** Why a change to a catch line cannot be, or nothing. */
export function cannot(now, tap) {
  const [count, young, marks] = [now.count + tap.count, now.young + tap.young, now.marks + tap.marks];
  const held = (now.containers[tap.container] ?? 0) + tap.count;
  if (count < 0 || young < 0 || marks < 0) return "There are not so many to take away.";
  if (held < 0) return "There are not so many in this container.";
  if (young > count) return "There cannot be more fish of the year than fish.";
  if (marks > count) return "There cannot be more fish with anomalies than fish.";
  return "";
}

/** Seconds the timer of a pass has run, up to now where it runs. */
export const ranFor = (pass, now = Date.now()) =>
  Math.round(pass.seconds + (pass.since ? Math.max(0, now - pass.since) / 1000 : 0));

export const clock = (seconds) => `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;

/** Current-on time of a pass: what was typed, else the timer, else nothing. */
export const effortOf = (pass) => pass.effort || (ranFor(pass) ? String(ranFor(pass)) : "");

export function meanWidth(widths) {
  const read = widths.map(Number).filter((one) => one > 0);
  return read.length ? String(Math.round((read.reduce((a, b) => a + b, 0) / read.length) * 100) / 100) : "";
}

/** The pass that was made last: one with fish, said to have none, or with an effort. */
const wasMade = (pass, total) => total.fish > 0 || pass.noFish || Boolean(effortOf(pass)) || Boolean(pass.weight);

/** What the catch did from pass to pass. It is left to the crew leader whether another is made. */
export function depletion(doc, counts) {
  const said = [];
  for (let number = 2; number <= doc.passes.length; number += 1) {
    const [before, now] = [doc.passes[number - 2], doc.passes[number - 1]];
    const [first, second] = [passTotal(counts, number - 1).fish, passTotal(counts, number).fish];
    if (!before.closed || !now.closed) break;
    if (second < first) said.push(`Pass ${number}: ${second} fish after ${first}; the catch fell.`);
    else if (first === 0) said.push(`Pass ${number}: no fish again.`);
    else said.push(`Pass ${number}: ${second} fish after ${first}; the catch did not fall. `
      + "Whether another pass is made is the crew leader’s decision.");
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

/** What the sheet has no cell for goes into its notes, in words. */
function notes(doc, counts, taxa) {
  const lines = doc.texts.notes ? [doc.texts.notes] : [];
  if (doc.widths.filter(Boolean).length) lines.push(`Widths measured (m): ${doc.widths.filter(Boolean).join(", ")}.`);
  const name = (taxon) => taxa.get(taxon)?.name ?? `taxon ${taxon}`;
  for (const [place, one] of counts) {
    const [pass, taxon] = place.split("-").map(Number);
    for (const [container, words] of CONTAINERS.slice(1)) {
      if (one.containers[container]) lines.push(`Pass ${pass}, ${name(taxon)}: ${one.containers[container]} in the ${words}.`);
    }
    const fate = doc.fates[place];
    const said = ["released", "died", "kept"].filter((word) => fate?.[word]).map((word) => `${fate[word]} ${word}`);
    if (said.length) lines.push(`Pass ${pass}, ${name(taxon)}: ${said.join(", ")}.`);
  }
  return lines.join("\n");
}

/** The visit as it is sent. Blank is not recorded; a zero is only sent where it was said. */
export function message(doc, taps, taxa) {
  const counts = fold(taps);
  const texts = { ...doc.texts };
  const width = meanWidth(doc.widths);
  if (width) texts.mean_width_m = width;
  texts.notes = notes(doc, counts, taxa);
  doc.passes.forEach((pass, index) => {
    const number = index + 1;
    const total = passTotal(counts, number);
    if (!wasMade(pass, total)) return;
    if (pass.noFish && !total.fish) texts[`no_fish-${number}`] = "1";
    texts[`effort_s-${number}`] = effortOf(pass);
    texts[`pass_biomass_g-${number}`] = pass.weight;
  });
  for (const [place, one] of counts) {
    if (one.count < 1) continue;
    texts[`count-${place}`] = String(one.count);
    if (one.young || doc.told.young) texts[`young_of_year-${place}`] = String(one.young);
    if (one.marks || doc.told.marks) texts[`anomalies-${place}`] = String(one.marks);
    texts[`biomass_g-${place}`] = doc.weights[place] ?? "";
  }
  return {
    key: doc.key,
    station: doc.station,
    visit_date: doc.date,
    method: doc.method,
    texts: Object.fromEntries(Object.entries(texts).filter(([, text]) => text !== "" && text != null)),
  };
}
