// After a sign-out the way back shows no page of staff: browsers keep whole pages for it, and a machine may be shared.

const KEY = "signed-out-at";
const opened = Date.now();

document.querySelector("form[data-sign-out]")?.addEventListener("submit", () => {
  try {
    localStorage.setItem(KEY, Date.now());
  } catch {
    // A browser that keeps nothing shows the page again; what it asks of the server is refused.
  }
});

addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  try {
    if (Number(localStorage.getItem(KEY)) < opened) return;
  } catch {
    return;
  }
  document.body.hidden = true;
  location.reload();
});
