// The words of the tally in the language of the page. They come with the page, so that they are there without a
// network; the English is the pattern itself. `makemessages` finds the patterns of `say` and `sayMany` in these scripts.

const WORDS = JSON.parse(document.getElementById("tally-words")?.textContent || "{}");

const filled = (pattern, values) => pattern.replace(/\{(\w+)\}/g, (gap, name) => String(values[name] ?? gap));

// English and Spanish have two forms, for one and for any other number.
const formOf = (forms, n, values) => filled(forms[n === 1 ? 0 : 1], { n, ...values });

/** Words with named gaps: say("Close pass {n}", { n: 2 }). A sentence is one pattern, never put together from pieces. */
export function say(pattern, values = {}) {
  return filled([WORDS[pattern] ?? pattern].flat()[0], values);
}

/** Words for a number of things: sayMany("{n} eel", "{n} eels", 3). */
export function sayMany(one, many, n, values = {}) {
  return formOf(WORDS[one] ?? [one, many], n, values);
}

/** What goes into the record is English whatever the page speaks, so that a visit sent again says the same. */
export const ENGLISH = {
  say: (pattern, values = {}) => filled(pattern, values),
  sayMany: (one, many, n, values = {}) => formOf([one, many], n, values),
};
