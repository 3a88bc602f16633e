// What every way of saving needs: words of the page's language, buttons, a file, the link, one line of status.

let known;

/** The words and frames that the page brought along (trends/templatetags/chart_tags.py). */
export function given() {
  known ??= JSON.parse(document.getElementById("save-given")?.textContent ?? '{"words":{},"frames":{}}');
  return known;
}

export function say(key) {
  return given().words[key] ?? "";
}

export function button(words, action) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "quiet save-picture";
  made.textContent = words;
  made.addEventListener("click", action);
  return made;
}

export function download(blob, name) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/** The link that opens the picture again, and a copy of it where the browser allows one. */
export function linkParts(href, status) {
  const link = document.createElement("a");
  link.href = href;
  link.textContent = say("link");
  if (!navigator.clipboard) return [link];
  return [link, button(say("copy"), async () => {
    try {
      await navigator.clipboard.writeText(href);
      status.textContent = say("copied");
    } catch {
      status.textContent = say("not_copied");
    }
  })];
}

/** The folded box under a picture: its list of ways, and the line that says what happened. */
export function saveBox(heading) {
  const box = document.createElement("details");
  box.className = "save-chart";
  const summary = document.createElement("summary");
  summary.textContent = heading;
  const list = document.createElement("div");
  list.className = "save-list";
  const status = document.createElement("p");
  status.className = "quiet";
  status.setAttribute("role", "status");
  box.append(summary, list, status);
  return { box, list, status };
}

/** Runs one way of saving and says how it went. */
export async function told(status, [before, after, failed], action) {
  status.textContent = say(before);
  try {
    await action();
    status.textContent = say(after);
  } catch {
    status.textContent = say(failed);
  }
}
