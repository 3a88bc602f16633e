// Words of the sheet in the language of its page: patterns that the server gives, whose gaps are filled here.

const words = JSON.parse(document.getElementById("sheet-words").textContent);

/** The words of a key; `{name}` in them becomes the value of that name. */
export function say(key, values = {}) {
  return words[key].replace(/\{(\w+)\}/g, (gap, name) => String(values[name] ?? gap));
}
