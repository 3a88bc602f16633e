// The tally: visits on this device, and for each its fish, its water, and its way to the server.
// Everything is kept by entry-tally-store.js before it is shown.

import * as store from "./entry-tally-store.js";
import { dayOf, newVisit } from "./entry-tally-model.js";
import { keepSending, sendAll } from "./entry-tally-send.js";
import { choice, el, field, pressedOnce, tellTyped } from "./entry-tally-parts.js";
import { FishScreen } from "./entry-tally-fish.js";
import { Hand } from "./entry-tally-hand.js";
import { beforeScreen } from "./entry-tally-before.js";
import { finishScreen, sentScreen, waterScreen } from "./entry-tally-visit.js";
import { voucherScreen } from "./entry-tally-voucher.js";
import { say, sayMany } from "./entry-tally-words.js";

const STEPS = [["before", say("Before")], ["fish", say("Fish")], ["water", say("Water and reach")], ["vouchers", say("Vouchers")], ["finish", say("Finish")]];

class RillTally extends HTMLElement {
  async connectedCallback() {
    this.addresses = { ...this.dataset };
    this.words = el("p", { class: "tally-words", role: "status" });
    // What stays true until the page is left; what sending says comes and goes.
    this.notice = el("p", { class: "tally-words", role: "alert" });
    this.body = el("div", {});
    this.replaceChildren(this.notice, this.words, this.body);
    addEventListener("hashchange", () => this.show());
    this.languages = [...document.querySelectorAll("a[hreflang]")];
    for (const link of this.languages) link.addEventListener("click", (event) => this.inLanguage(event, link));
    document.addEventListener("click", (event) => tellTyped(event.target), { capture: true });
    pressedOnce(document);
    // Another open page of this device may have added fish meanwhile.
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.fish && this.show());
    for (const name of ["online", "offline"]) addEventListener(name, () => this.showNetwork());
    this.showNetwork();
    addEventListener("tally-blocked", () => { this.words.textContent = say("Another page of the tally is open on this device in an earlier version. Close it; this one then goes on by itself."); });
    try {
      this.lists = await store.lists();
      this.words.textContent = "";
      await this.show();
    } catch {
      this.words.textContent = say("This browser does not let pages keep anything on the device (a private window?). The tally cannot be used in it.");
      return;
    }
    this.keepPages().catch(() => undefined);
    await this.fetchLists();
    keepSending(() => this.send());
  }

  /** This page is kept on the device, and then the page in the other languages, to change over without a signal. */
  async keepPages() {
    const workers = navigator.serviceWorker;
    if (!workers) {
      this.notice.textContent = say("This page opens only with a signal here: the connection is not protected (https), or the window is private. What is tallied is kept on the device all the same.");
      return;
    }
    await workers.register(this.addresses.worker, { scope: this.addresses.desk });
    await workers.ready;
    this.dataset.offlineReady = "yes";
    for (const { dataset } of this.languages) await workers.register(dataset.worker, { scope: dataset.desk });
  }

  /** The same visit and screen in another language, once everything typed here is on the disk. */
  async inLanguage(event, link) {
    event.preventDefault();
    await this.hand?.settled();
    location.assign(new URL(location.hash, link.href));
  }

  showNetwork() {
    document.getElementById("network").textContent = navigator.onLine ? "" : say("No signal: kept on this device");
  }

  async fetchLists() {
    try {
      const answer = await fetch(this.addresses.lists, { cache: "no-store" });
      if (!answer.ok) return;
      const had = Boolean(this.lists);
      this.lists = await answer.json();
      await store.keepLists(this.lists);
      if (!had || !this.hand) await this.show();
    } catch {
      if (!this.lists) this.words.textContent = say("The lists of stations and species have to be fetched once with a signal.");
    }
  }

  get taxa() {
    return new Map((this.lists?.taxa ?? []).map((one) => [one.id, one]));
  }

  async send() {
    let news = false;
    const { words, signIn } = await sendAll(this.addresses, this.taxa, (key) => {
      news = true;
      if (this.hand?.doc.key === key) this.reload();
    });
    this.words.replaceChildren(words);
    if (signIn) this.words.append(" ", el("a", { href: this.addresses.signIn }, say("Sign in")));
    // Without news the list stays as it is: to draw it anew would close what somebody is choosing from.
    if (news && !this.hand) await this.show();
  }

  /** Show what became of a visit. Something typed meanwhile is kept first, and a voucher that is begun is left alone. */
  async reload() {
    const { hand } = this;
    tellTyped();
    const doc = await hand.renewed();
    await hand.settled();
    if (this.hand !== hand || !doc) return; // another screen has come meanwhile
    if (!this.begun()) this.draw();
  }

  /** Whether a form on the screen holds something that would be lost if it were drawn again. */
  begun() {
    return [...this.body.querySelectorAll("form :is(input, textarea)")].some((one) => one.value);
  }

  /** The address says which visit and which screen, so that a reload comes back to the same place. */
  async show() {
    tellTyped();
    const turn = this.turn = (this.turn ?? 0) + 1;
    const [key, step] = location.hash.slice(1).split("/");
    const hand = await this.taken(key);
    // The list was asked for, or another visit, while this one was read: whoever asked last draws.
    if (turn !== this.turn) return;
    this.hand = hand;
    if (!hand) {
      this.fish?.close();
      this.fish = null;
      return this.home(turn);
    }
    hand.taxa = this.taxa;
    this.step = step || "fish";
    this.draw();
  }

  /** The visit of a key, in the hand it is in already where it is: taps that are on their way belong to that one. */
  async taken(key) {
    const before = this.hand;
    if (before?.doc.key === key) {
      const doc = await before.renewed();
      await before.settled();
      return doc ? before : null;
    }
    await before?.settled();
    const doc = key ? await store.visit(key) : null;
    if (!doc) return null;
    const hand = new Hand(doc, await store.taps(key), this.taxa, {
      redraw: () => this.draw(),
      send: async () => {
        await this.send();
        if (this.hand === hand) await this.reload();
      },
      leave: () => { location.hash = ""; },
      notKept: () => { this.notice.textContent = say("The device could not keep this; it may be full. Nothing was kept: write it on paper."); },
    });
    return hand;
  }

  draw() {
    const { hand } = this;
    const { doc } = hand;
    const done = doc.sent || doc.clash;
    const other = done ? sentScreen : { vouchers: voucherScreen, before: beforeScreen, water: waterScreen, finish: finishScreen }[this.step]
      ?? (doc.ready ? finishScreen : null);
    // A line that is being typed goes on with the screen it was opened on.
    if (!other && this.fish?.hand === hand) return this.fish.draw();
    this.fish?.close();
    this.fish = null;
    let screen;
    if (other) screen = other(hand);
    else {
      this.fish = new FishScreen(hand);
      screen = this.fish.root;
    }
    this.body.replaceChildren(
      el("p", { class: "place" }, el("a", { href: "#" }, say("All visits on this device"))),
      el("h1", { class: "finding" }, `${doc.station}, ${doc.date}`),
      done || doc.ready ? "" : el("nav", { "aria-label": say("Parts of the visit") }, el("ul", { class: "tally-steps" }, STEPS.map(([step, words]) => el("li", {},
        el("a", { href: `#${doc.key}/${step}`, "aria-current": this.step === step ? "page" : null }, words))))),
      screen);
  }

  /** Drawn again whenever lists or visits were renewed; what was typed to begin a visit stays, and the cursor in it. */
  async home(turn) {
    const visits = (await store.visits()).sort((a, b) => b.begun - a.begun);
    const unsent = (await store.vouchers()).filter((one) => !one.sent);
    // A visit was opened meanwhile, or the list was asked for again and is newer.
    if (this.hand || turn !== this.turn) return;
    const sent = (one) => {
      const waiting = unsent.filter((voucher) => voucher.visit === one.key).length;
      return waiting ? sayMany("sent, {n} of its vouchers not yet", "sent, {n} of its vouchers not yet", waiting) : say("sent");
    };
    const state = (one) => (one.sent ? sent(one) : one.clash ? say("differs from what is stored") : one.ready ? say("waits for a signal") : one.refused ? say("to be put right") : say("being tallied"));
    const cautions = document.getElementById("tally-cautions").content.cloneNode(true);
    tellTyped();
    const focus = document.activeElement?.id;
    this.body.replaceChildren(
      el("h1", { class: "finding" }, say("Tally by the creek")),
      cautions,
      el("h2", {}, say("On this device")),
      visits.length ? el("ul", { class: "ruled" }, visits.map((one) => el("li", {}, el("a", { href: `#${one.key}` }, `${one.station}, ${one.date}`), `: ${state(one)}`)))
        : el("p", { class: "empty" }, say("No visit yet. One that is begun here stays on the device until it is sent and removed.")),
      this.lists ? this.begin() : el("p", {}, say("The lists of stations and species are being fetched.")),
      el("p", {}, el("a", { href: this.addresses.desk }, say("Enter at the desk"))));
    if (focus) document.getElementById(focus)?.focus();
  }

  begin() {
    const { stations, methods } = this.lists;
    this.given ??= { station: "", date: dayOf(), method: "" };
    const { given } = this;
    const wrong = el("p", { role: "alert", class: "error-words" });
    const form = el("form", { class: "work", novalidate: true },
      el("h2", {}, say("Begin a visit")),
      wrong,
      field(say("Station"), given.station, (text) => { given.station = text; }, { list: "tally-stations", id: "tally-station" }),
      el("datalist", { id: "tally-stations" }, stations.map((one) => el("option", { value: one.code }, [one.stream, one.name].filter(Boolean).join(", ")))),
      field(say("Day"), given.date, (text) => { given.date = text; }, { type: "date", id: "tally-date" }),
      choice(say("Method"), given.method, [["", say("the station’s own")], ...methods.map((one) => [one.code, one.name])], (value) => { given.method = value; }, "tally-method"),
      el("p", { class: "actions" }, el("button", { type: "submit", id: "tally-begin" }, say("Begin the visit"))));
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const station = stations.find((one) => one.code.toLowerCase() === given.station.toLowerCase());
      if (!station || !given.date) {
        wrong.textContent = station ? say("Give the day of the visit.")
          : given.station ? say("There is no station {code}. Choose one from the list.", { code: given.station })
            : say("There is no station chosen. Choose one from the list.");
        return;
      }
      const doc = newVisit(station, given.date, given.method || station.method);
      form.querySelector("#tally-begin").disabled = true;
      try {
        await store.keepVisit(doc);
      } catch {
        wrong.textContent = say("The device could not keep this; it may be full. Nothing was begun: write it on paper.");
        form.querySelector("#tally-begin").disabled = false;
        return;
      }
      this.given = null;
      navigator.storage?.persist?.().catch(() => undefined);
      location.hash = `${doc.key}/before`;
    });
    return form;
  }
}

customElements.define("rill-tally", RillTally);
