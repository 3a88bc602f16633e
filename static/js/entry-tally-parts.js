// Small pieces of the tally's page: elements, fields, questions.

import { say } from "./entry-tally-words.js";

/** An element: el("button", { class: "x", onclick }, "words", child). */
export function el(tag, given = {}, ...children) {
  const one = document.createElement(tag);
  for (const [name, value] of Object.entries(given)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) one.addEventListener(name.slice(2), value);
    else if (name === "value") one.value = value;
    else if (name === "checked") one.checked = value;
    else one.setAttribute(name, value === true ? "" : value);
  }
  one.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return one;
}

let number = 0;

/**
 * A key that is held down presses a button once, as a finger does: one fish is one fish, and no keypad opens again
 * when the focus comes back to the button that opened it.
 */
export function pressedOnce(page) {
  page.addEventListener("keydown", (event) => {
    if (event.repeat && event.key === "Enter" && event.target.closest?.("button")) event.preventDefault();
  }, { capture: true });
}

/** The same work is not begun again while it is under way: a finger taps twice, a key is held down. */
export function once(work) {
  let busy = false;
  return async (...given) => {
    if (busy) return undefined;
    busy = true;
    try {
      return await work(...given);
    } finally {
      busy = false;
    }
  };
}

/** A labelled input; `change` gets the trimmed text. */
export function field(words, value, change, more = {}) {
  number += 1;
  const id = more.id ?? `field-${number}`;
  const input = el("input", { type: "text", autocomplete: "off", ...more, id, value });
  input.addEventListener("change", () => change?.(input.value.trim(), input));
  return el("div", { class: "field" }, el("label", { for: id }, words), input);
}

export function choice(words, value, options, change, name = "") {
  number += 1;
  const id = name || `field-${number}`;
  const select = el("select", { id }, options.map(([key, text]) => el("option", { value: key }, text)));
  select.value = value;
  select.addEventListener("change", () => change?.(select.value));
  return el("div", { class: "field" }, el("label", { for: id }, words), select);
}

export function tick(words, checked, change, name = "") {
  number += 1;
  const id = name || `field-${number}`;
  const input = el("input", { type: "checkbox", id, checked });
  input.addEventListener("change", () => change(input.checked));
  return el("div", { class: "field check" }, input, el("label", { for: id }, words));
}

/** A field that is typed in but not left yet tells its change now. Some phones do not leave a field when a button is tapped. */
export function tellTyped(tapped = null) {
  const one = document.activeElement;
  if (one !== tapped && one?.matches("textarea, input:not([type=checkbox], [type=file])")) one.dispatchEvent(new Event("change"));
}

/** Ask before something that cannot be taken back. */
export function ask(words, yes) {
  return new Promise((resolve) => {
    const box = el("dialog", { class: "tally-dialog", "aria-label": words },
      el("p", {}, words),
      el("p", { class: "actions" },
        el("button", { type: "button", class: "grave", onclick: () => box.close("yes") }, yes),
        el("button", { type: "button", class: "second", onclick: () => box.close("no") }, say("Go back"))));
    box.addEventListener("close", () => {
      resolve(box.returnValue === "yes");
      box.remove();
    });
    document.body.append(box);
    box.showModal();
  });
}

/** A number a person may type, with either decimal sign; the text as it is where it is no number. */
export const decimal = (text) => text.replace(",", ".");
