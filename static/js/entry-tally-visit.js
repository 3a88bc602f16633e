// The screens around the fish: water, widths and nets; finishing; and what became of a visit that was sent.

import { BASIS, BOTTOM, NETS, WATER, effortOf, fold, meanWidth, passTotal, totalWords } from "./entry-tally-model.js";
import { message, oddFates } from "./entry-tally-message.js";
import { unsent, voucherScreen } from "./entry-tally-voucher.js";
import { ask, choice, decimal, el, field, once } from "./entry-tally-parts.js";
import { say, sayMany } from "./entry-tally-words.js";

const WORDS = new Set(["notes", "crew_lead", "identifier", "weather", "meters", "stop_nets", "conductivity_basis", "bottom_visible", "calibrated_on"]);

/** Water readings, reach, widths at transects, nets, remarks. Each is kept when the field is left. */
export function waterScreen(hand) {
  const { doc } = hand;
  const set = (name) => (text) => hand.change((one) => { one.texts[name] = WORDS.has(name) ? text : decimal(text); });
  const text = (name) => doc.texts[name] ?? "";
  const mean = el("p", { role: "status" });
  const widths = el("div", { class: "tally-widths" });
  const showMean = () => { mean.textContent = meanWidth(hand.doc.widths) ? say("Mean width: {width} m.", { width: meanWidth(hand.doc.widths) }) : say("No width yet."); };
  const showWidths = () => {
    widths.replaceChildren(...[...hand.doc.widths, ""].map((text, index) => field(say("Transect {n}, m", { n: index + 1 }), text, async (given) => {
      const last = index >= hand.doc.widths.length;
      await hand.change((one) => {
        one.widths[index] = decimal(given);
        while (one.widths.length && !one.widths.at(-1)) one.widths.pop();
      });
      showMean();
      if (last && given) {
        showWidths();
        document.getElementById(`width-${index + 1}`)?.focus();
      }
    }, { inputmode: "decimal", id: `width-${index}` })));
  };
  showWidths();
  showMean();
  const notes = el("textarea", { id: "notes", rows: 3, maxlength: 1500, value: text("notes") });
  notes.addEventListener("input", () => set("notes")(notes.value));
  return el("div", {},
    el("h2", {}, say("Water")),
    WATER.map(([name, words]) => field(words, text(name), set(name), { inputmode: "decimal", id: name })),
    choice(say("The conductivity is"), text("conductivity_basis"), BASIS, set("conductivity_basis")),
    choice(say("Can the bottom be seen?"), text("bottom_visible"), BOTTOM, set("bottom_visible")),
    field(say("Weather, and rain of the last two days"), text("weather"), set("weather"), { maxlength: 200, id: "weather" }),
    field(say("Serial numbers of the meters"), text("meters"), set("meters"), { maxlength: 200, id: "meters" }),
    field(say("Meters calibrated on"), text("calibrated_on"), set("calibrated_on"), { type: "date", id: "calibrated_on" }),
    el("h2", {}, say("Reach")),
    field(say("Reach length fished, m"), text("reach_length_m"), set("reach_length_m"), { inputmode: "decimal", id: "reach_length_m" }),
    el("p", { class: "note-line" }, say("Filled in is the station’s fixed length. Change it if another was fished.")),
    el("fieldset", { class: "field" }, el("legend", {}, say("Wetted width at the transects")), widths, mean),
    choice(say("Stop nets"), text("stop_nets"), NETS, set("stop_nets")),
    el("h2", {}, say("Crew")),
    field(say("Crew lead, initials are enough"), text("crew_lead"), set("crew_lead"), { maxlength: 100, id: "crew_lead" }),
    field(say("Who named the fish, initials are enough"), text("identifier"), set("identifier"), { maxlength: 100, id: "identifier" }),
    field(say("People on the crew"), text("crew_size"), set("crew_size"), { inputmode: "numeric", id: "crew_size" }),
    el("div", { class: "field" }, el("label", { for: "notes" }, say("Remarks")), notes));
}

/** What is about to be sent, what was refused, and what the server answered. */
export function finishScreen(hand) {
  const { doc } = hand;
  const counts = fold(hand.taps);
  const rows = doc.passes.map((pass, index) => ({ pass, number: index + 1, ...passTotal(counts, index + 1, hand.taxa) }));
  const odd = oddFates(doc, counts, hand.taxa, { say, sayMany });
  const open = rows.filter(({ pass, fish }) => !pass.closed && (fish || effortOf(pass)));
  const blank = rows.find(({ pass, fish }) => !pass.closed && !fish && effortOf(pass));
  return el("div", {},
    el("h2", {}, say("What is written down")),
    el("ul", {}, rows.map(({ pass, number, ...total }) => el("li", {},
      say("Pass {n}: {words}", { n: number, words: [
        total.fish || pass.noFish ? totalWords(total) : say("nothing yet"),
        effortOf(pass) && say("{seconds} s", { seconds: effortOf(pass) }),
        !pass.closed && say("not closed"),
      ].filter(Boolean).join(", ") })))),
    doc.refused && el("div", { class: "error-summary", role: "alert" }, el("h2", {}, say("Not taken yet. Please put right:")),
      el("ul", {}, doc.refused.map((one) => el("li", {}, `${one.place ? `${one.place}: ` : ""}${one.message} ${one.remedy}`)))),
    doc.ready
      ? el("div", {}, el("p", { role: "status" }, say("Ready to be sent. It goes up as soon as there is a signal.")),
        el("p", { class: "actions" },
          el("button", { type: "button", id: "send-now", onclick: () => hand.send() }, say("Try now")),
          el("button", { type: "button", class: "second", onclick: () => hand.change((one) => { one.ready = false; }).then(hand.redraw) }, say("Not yet, I have to change something"))))
      : el("div", {},
        blank ? el("p", { class: "message warning" }, say("Pass {n} has an effort but no catch. Close it and say so if it caught no fish.", { n: blank.number })) : null,
        odd.length ? el("div", { class: "message warning" }, el("p", {}, say("Released, died and kept do not make up the fish tallied. As long as they differ, they go into the remarks:")),
          el("ul", {}, odd.map((words) => el("li", {}, words)))) : null,
        el("p", {}, say("Sent, it becomes a draft at the desk, where it is looked through and handed in for review.")),
        el("p", { class: "actions" }, el("button", { type: "button", id: "send", onclick: once(async () => {
          if (open.length && !await ask(say("Pass {n} is not closed. Send the visit all the same?", { n: open[0].number }), say("Send it"))) return;
          await hand.change((one) => {
            one.ready = true;
            one.refused = null;
            for (const pass of one.passes) {
              if (pass.since) pass.seconds += Math.max(0, (Date.now() - pass.since) / 1000);
              pass.since = null;
            }
          });
          await hand.send();
        }) }, say("Finish and send")))),
    removal(hand, say("Delete this visit from the device"), say("It was not sent. Delete this visit and all its counts from the device for good?")));
}

/** A visit that was taken, or stands beside another version: read only on the device. */
export function sentScreen(hand) {
  const { doc } = hand;
  if (doc.sent) {
    return el("div", {},
      el("p", { class: "message", role: "status" }, say("Sent and stored as a draft. The visit is changed at the desk from now on; vouchers may still be added here.")),
      el("p", { class: "actions" }, el("a", { class: "button", href: doc.sent.address }, say("Open the sheet at the desk"))),
      voucherScreen(hand),
      removal(hand, say("Remove it from this device"), say("It is stored on the server. Remove the copy on this device?")));
  }
  return el("div", {},
    el("p", { class: "message warning", role: "alert" }, say("The server holds this visit with other values. What you sent is kept there beside it; nothing is lost. Somebody decides between the two at the desk.")),
    el("div", { class: "table-frame", role: "region", "aria-label": say("Where the two versions differ"), tabindex: 0 }, el("table", {},
      el("caption", {}, say("Where the two versions differ")),
      el("thead", {}, el("tr", {}, [say("Where"), say("From this device"), say("Stored")].map((words) => el("th", { scope: "col" }, words)))),
      el("tbody", {}, doc.clash.differs.map((one) => el("tr", {}, el("th", { scope: "row" }, one.place), el("td", {}, one.mine || say("empty")), el("td", {}, one.stored || say("empty"))))))),
    el("p", { class: "actions" }, el("a", { class: "button", href: doc.clash.address }, say("Decide at the desk"))),
    voucherScreen(hand),
    removal(hand, say("Remove it from this device"), say("What you sent is kept on the server. Remove the copy on this device?")));
}

function removal(hand, words, question) {
  const copy = new Blob([JSON.stringify(message(hand.doc, hand.taps, hand.taxa), null, 1)], { type: "application/json" });
  return el("p", { class: "actions tally-removal" },
    el("button", { type: "button", class: "second", onclick: () => {
      const link = el("a", { href: URL.createObjectURL(copy), download: `${hand.doc.station}-${hand.doc.date}.json` });
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
    } }, say("Save a copy as a file")),
    el("button", { type: "button", class: "grave", onclick: async () => {
      const waiting = await unsent(hand.doc.key);
      const more = waiting ? ` ${sayMany("{n} voucher was not sent and will be lost.", "{n} vouchers were not sent and will be lost.", waiting)}` : "";
      if (await ask(question + more, words)) await hand.remove();
    } }, words));
}
