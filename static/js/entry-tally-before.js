// The first screen of a visit: what was looked at before the current went on, and by whom. It is a record. It holds
// nobody up, and it never says that a crew may begin.

import { el, field, tick } from "./entry-tally-parts.js";
import { say, sayMany } from "./entry-tally-words.js";

export function beforeScreen(hand) {
  const { doc } = hand;
  const checks = document.getElementById("tally-checks").content.querySelectorAll("li");
  const counted = el("p", { role: "status" });
  const show = () => {
    const open = checks.length - hand.doc.checks.length;
    counted.textContent = sayMany(
      "{n} written down, {open} not. What is not written down is not known; it stops nothing here.",
      "{n} written down, {open} not. What is not written down is not known; it stops nothing here.", hand.doc.checks.length, { open });
  };
  const set = (name) => (on) => hand.change((one) => {
    one.checks = one.checks.filter((other) => other !== name);
    if (on) one.checks.push(name);
  }).then(show);
  show();
  return el("div", {},
    el("h2", {}, say("Before the current goes on")),
    document.getElementById("tally-cautions").content.cloneNode(true),
    el("fieldset", { class: "field" }, el("legend", {}, say("What was looked at today")),
      [...checks].map((one) => tick(one.textContent, doc.checks.includes(one.dataset.name), set(one.dataset.name), `check-${one.dataset.name.replaceAll(" ", "-")}`))),
    field(say("Looked at by, initials are enough"), doc.checksBy, (text) => hand.change((one) => { one.checksBy = text; }), { maxlength: 100, id: "checks_by" }),
    counted,
    el("p", {}, say("This is a record of what was looked at. Whether the work begins is for the trained crew leader to decide, under local rules and the permit.")),
    el("p", { class: "actions" }, el("a", { class: "button", href: `#${doc.key}/fish`, id: "to-fish" }, say("To the fish of pass 1"))));
}
