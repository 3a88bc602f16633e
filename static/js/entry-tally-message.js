// The visit as it is sent: the texts of a sheet. Blank is not recorded; a zero is only sent where it was said.

import { CONTAINERS, FATES, SETTINGS, effortOf, fateOf, fold, meanWidth, net, passTotal, wasMade } from "./entry-tally-model.js";
import { ENGLISH } from "./entry-tally-words.js";

const IN_FIELD = { main: "in_main", eel: "in_eel_well", other: "in_other" };

/** Containers are only on record where anybody minded them: one other than the main tub was used in this visit. */
const containersMinded = (counts) =>
  [...counts.values()].some((one) => CONTAINERS.slice(1).some(([key]) => one.containers[key]));

/** What became of the fish, where it does not make up the count: kept in words, because no cell can hold it. */
export function oddFates(doc, counts, taxa, { say, sayMany } = ENGLISH) {
  const ended = {
    released: (n) => sayMany("{n} released", "{n} released", n),
    died: (n) => sayMany("{n} died", "{n} died", n),
    kept: (n) => sayMany("{n} kept", "{n} kept", n),
  };
  const said = [];
  for (const [place, one] of counts) {
    const fate = doc.fates[place];
    const words = FATES.filter((name) => fate?.[name]).map((name) => ended[name](Number(fate[name])));
    if (!one.count || !words.length || fateOf(fate, one.count)) continue;
    const [pass, taxon] = place.split("-").map(Number);
    const name = taxa.get(taxon)?.name ?? say("taxon {n}", { n: taxon });
    said.push(say("Pass {n}, {name}: {words}, of {count} tallied.", { n: pass, name, words: words.join(", "), count: one.count }));
  }
  return said;
}

function passTexts(texts, pass, number, fish) {
  if (pass.noFish && !fish) texts[`no_fish-${number}`] = "1";
  texts[`effort_s-${number}`] = effortOf(pass);
  texts[`pass_biomass_g-${number}`] = pass.weight;
  texts[`started_at-${number}`] = pass.started;
  texts[`ended_at-${number}`] = pass.ended;
  for (const name of ["gear_unit", "waveform", "anodes", "netters"]) texts[`${name}-${number}`] = pass.gear[name];
  for (const [name] of SETTINGS) {
    for (const end of ["first", "last"]) texts[`${name}_${end}-${number}`] = pass.gear[`${name}_${end}`];
  }
}

function lineTexts(texts, doc, place, one, minded) {
  const batch = doc.batches[place] ?? {};
  texts[`count-${place}`] = String(one.count);
  if (one.young || doc.told.young) texts[`young_of_year-${place}`] = String(one.young);
  if (one.marks || doc.told.marks) texts[`anomalies-${place}`] = String(one.marks);
  texts[`biomass_g-${place}`] = net(batch) || doc.weights[place];
  if (net(batch)) {
    texts[`gross_g-${place}`] = batch.gross;
    texts[`tare_g-${place}`] = batch.tare;
  }
  texts[`weighed-${place}`] = batch.weighed;
  fateOf(doc.fates[place], one.count)?.forEach((text, index) => { texts[`${FATES[index]}-${place}`] = text; });
  if (minded) for (const [key] of CONTAINERS) texts[`${IN_FIELD[key]}-${place}`] = String(one.containers[key] ?? 0);
  for (const mark of ["estimated", "unsure"]) if (doc.marks[place]?.[mark]) texts[`${mark}-${place}`] = "1";
}

export function message(doc, taps, taxa) {
  const counts = fold(taps);
  const minded = containersMinded(counts);
  const texts = { ...doc.texts };
  const width = meanWidth(doc.widths);
  if (width) texts.mean_width_m = width;
  texts.widths_m = doc.widths.filter(Boolean).join("; ");
  texts.checks_made = doc.checks.join("; ");
  texts.checks_by = doc.checksBy;
  texts.notes = [doc.texts.notes, ...oddFates(doc, counts, taxa)].filter(Boolean).join("\n");
  doc.passes.forEach((pass, index) => {
    const total = passTotal(counts, index + 1);
    if (wasMade(pass, total)) passTexts(texts, pass, index + 1, total.fish);
  });
  for (const [place, one] of counts) if (one.count > 0) lineTexts(texts, doc, place, one, minded);
  return {
    key: doc.key,
    station: doc.station,
    visit_date: doc.date,
    method: doc.method,
    texts: Object.fromEntries(Object.entries(texts).filter(([, text]) => text !== "" && text != null)),
  };
}
