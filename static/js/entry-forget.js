// A sheet that was stored just now need not be kept by its tab any longer.

const stored = document.querySelector("[data-stored]");
if (stored) {
  try {
    for (const key of Object.keys(sessionStorage)) {
      if (key.startsWith(`sheet-${stored.dataset.stored}-`)) sessionStorage.removeItem(key);
    }
  } catch {
    // A browser that keeps nothing has nothing to forget.
  }
}
