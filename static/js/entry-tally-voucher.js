// Vouchers: what the name of a fish rests on. A photograph is made smaller on the device, kept in its database, and
// goes up when the visit is there.

import * as store from "./entry-tally-store.js";
import { newKey } from "./entry-tally-model.js";
import { NearNames, taxaNamed } from "./entry-tally-names.js";
import { ask, choice, el, field, once } from "./entry-tally-parts.js";
import { say } from "./entry-tally-words.js";

const LONGEST_SIDE = 2000;
const QUALITY = 0.85;
const KINDS = [["photograph", say("photograph")], ["preserved", say("preserved fish")]];

/** The picture upright and small, as a JPEG. Drawn anew, it holds nothing the camera wrote beside it. */
async function shrunk(file) {
  const picture = await createImageBitmap(file);
  const part = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height));
  const canvas = el("canvas", { width: Math.max(1, Math.round(picture.width * part)), height: Math.max(1, Math.round(picture.height * part)) });
  const paper = canvas.getContext("2d");
  paper.fillStyle = "white";
  paper.fillRect(0, 0, canvas.width, canvas.height);
  paper.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return new Promise((resolve, reject) => {
    canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error("no picture"))), "image/jpeg", QUALITY);
  });
}

function state(one) {
  if (one.sent) return say("on the server.");
  return one.refused ? say("not taken: {reason}", { reason: one.refused }) : say("kept on this device, goes up after the visit.");
}

/** Addresses of pictures on the screen; given back when it is drawn again. */
const shown = new Set();

function line(hand, one) {
  const name = hand.taxa.get(one.taxon)?.name ?? say("taxon {n}", { n: one.taxon });
  const words = [one.number && say("number {code}", { code: one.number }), KINDS.find(([key]) => key === one.kind)[1], one.remark].filter(Boolean).join(", ");
  let picture = null;
  if (one.photo) {
    const address = URL.createObjectURL(one.photo);
    shown.add(address);
    picture = el("img", { src: address, alt: say("Photograph: {name}", { name }) });
  }
  return el("li", { class: "tally-voucher" }, picture,
    el("p", {}, el("strong", {}, name), `: ${words}. `, el("span", { class: "note-line" }, state(one))),
    one.sent ? null : el("button", { type: "button", class: "second", onclick: async () => {
      if (!await ask(say("Delete the voucher of {name} from the device? It was not sent.", { name }), say("Delete it"))) return;
      await store.dropVoucher(one.key);
      hand.redraw();
    } }, say("Delete")));
}

function form(hand) {
  const given = { taxon: "", number: "", kind: "photograph", remark: "" };
  const near = new NearNames(hand.taxa, (taxon) => {
    const input = document.getElementById("voucher-taxon");
    input.value = given.taxon = hand.taxa.get(taxon).latin;
    input.focus();
  });
  const wrong = el("p", { role: "alert", class: "error-words" });
  const file = el("input", { type: "file", accept: "image/*", capture: "environment", id: "voucher-photo" });
  const made = el("form", { class: "work", novalidate: true },
    el("h2", {}, say("Add a voucher")),
    wrong,
    field(say("Species, as it was called"), "", (text) => {
      given.taxon = text;
      if (text) near.settle(text);
      else near.clear();
    }, { list: "voucher-taxa", id: "voucher-taxon" }),
    near.root,
    el("datalist", { id: "voucher-taxa" }, [...hand.taxa.values()].map((one) => el("option", { value: `${one.name} (${one.latin})` }, one.code))),
    field(say("Number on the label, if it has one"), "", (text) => { given.number = text; }, { maxlength: 60, id: "voucher-number" }),
    choice(say("What is kept"), given.kind, KINDS, (value) => { given.kind = value; }),
    el("div", { class: "field" }, el("label", { for: "voucher-photo" }, say("Photograph, if one is taken")), file),
    field(say("Remark"), "", (text) => { given.remark = text; }, { maxlength: 300, id: "voucher-remark" }),
    el("p", { class: "actions" }, el("button", { type: "submit", id: "voucher-keep" }, say("Keep this voucher"))));
  made.addEventListener("submit", (event) => event.preventDefault());
  // To make a photograph smaller takes a while, and it is tempting to tap again.
  made.addEventListener("submit", once(async () => {
    wrong.textContent = "";
    const named = given.taxon ? taxaNamed(hand.taxa, given.taxon) : [];
    if (named.length !== 1) {
      wrong.textContent = given.taxon ? say("Say below which species is meant.") : say("Say which species it is.");
      return;
    }
    const [taxon] = named;
    let photo = null;
    try {
      if (file.files.length) photo = await shrunk(file.files[0]);
    } catch {
      wrong.textContent = say("This file could not be read as a picture. Take it again, or keep the voucher without it.");
      return;
    }
    try {
      await store.keepVoucher({ ...given, taxon, photo, key: newKey(), visit: hand.doc.key, at: Date.now(), sent: null, refused: null });
    } catch {
      wrong.textContent = say("The device could not keep this; it may be full. Nothing was kept: write it on paper.");
      return;
    }
    hand.redraw();
    if (hand.doc.sent || hand.doc.clash) hand.send();
  }));
  return made;
}

/** The vouchers of a visit as a list, with the form to add one. */
export function voucherScreen(hand) {
  const list = el("div", {}, el("p", {}, say("Reading the vouchers on this device.")));
  store.vouchers(hand.doc.key).then((found) => {
    for (const address of shown) URL.revokeObjectURL(address);
    shown.clear();
    list.replaceChildren(found.length
      ? el("ul", { class: "tally-vouchers" }, found.sort((a, b) => a.at - b.at).map((one) => line(hand, one)))
      : el("p", { class: "empty" }, say("No voucher yet. One is worth keeping where a name is in doubt, or new to the creek.")));
  });
  return el("div", {}, el("h2", {}, say("Vouchers")), list, form(hand));
}

/** How many vouchers of a visit are on this device alone. */
export const unsent = async (key) => (await store.vouchers(key)).filter((one) => !one.sent).length;
