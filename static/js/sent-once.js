// A second click on a button that sends a form does not send it again: a brief would be issued twice.

const MEANT_AGAIN_MS = 5000;
let sent = new WeakMap();

addEventListener("submit", (event) => {
  const by = event.submitter ?? event.target;
  // The attribute: a field of that name, such as the method of a visit, stands before the property.
  if (event.target.getAttribute("method") !== "post" || event.defaultPrevented) return;
  if (Date.now() - (sent.get(by) ?? -Infinity) < MEANT_AGAIN_MS) event.preventDefault();
  else sent.set(by, Date.now());
});
// A page that is gone back to may send its forms anew.
addEventListener("pageshow", () => { sent = new WeakMap(); });
