/* Shows the rows that follow from a mapping while it is being filled in. Without this script the button
   "Show the rows" does the same. */
(() => {
  "use strict";
  const form = document.querySelector("form[data-mapping]");
  const place = form && form.querySelector("[data-preview]");
  if (!place) return;
  let waiting = 0;
  let asked = 0;

  async function show() {
    const mine = ++asked;
    const sent = new FormData(form);
    sent.set("action", "preview");
    sent.set("part", "1");
    place.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(window.location.pathname, { method: "POST", body: sent, credentials: "same-origin" });
      // A later change has asked meanwhile; its answer is the one to show. Sent elsewhere means signed out.
      if (!answer.ok || answer.redirected || mine !== asked) return;
      const text = await answer.text();
      if (mine === asked) place.innerHTML = text;
    } catch {
      /* No network: what stands is left as it is, and the button says so when it is pressed. */
    } finally {
      if (mine === asked) place.removeAttribute("aria-busy");
    }
  }

  function later(event) {
    if (event.target.name && event.target.name.startsWith("line-")) return;
    clearTimeout(waiting);
    waiting = setTimeout(show, 250);
  }

  /** Whether a control holds something else than the page came with. */
  function changed(one) {
    if (one.options) return one.selectedIndex !== Math.max(0, [...one.options].findIndex((option) => option.defaultSelected));
    return one.type === "checkbox" || one.type === "radio" ? one.checked !== one.defaultChecked : one.value !== one.defaultValue;
  }

  form.addEventListener("change", later);
  form.addEventListener("input", later);
  // On a slow machine something is chosen before this script is there, and a browser fills in what stood there before.
  if ([...form.elements].some((one) => one.matches("select, input, textarea") && changed(one))) show();
})();
