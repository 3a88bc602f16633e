// Pictures drawn by the server, put on one sheet with title, subtitle and caption: an SVG that needs no
// style sheet and no page, fit for a screen, a slide or a letter page.

const SVG = "http://www.w3.org/2000/svg";
const LINES = ["fill", "fill-opacity", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap", "opacity"];
const LETTERS = ["fill", "opacity", "font-family", "font-size", "font-weight", "text-anchor"];
const GAP = 24;
const LABEL = 18;
const LARGEST = 2;
// Words grow against a picture that had to shrink, up to the size of the caption and by at most so much:
// more would make them collide. A picture that would have to shrink further has too much for its sheet.
const MOST_GROWN = 1.45;
const SMALLEST = 0.45;
// On a slide the words may stand beside the picture, in a column so wide, where that leaves it clearly larger.
const COLUMNS_OF_WORDS = [150, 190, 230];
const CLEARLY = 1.1;
const TYPE = { title: [18, 600, 23], subtitle: [12, 400, 16], label: [12, 600, LABEL], caption: [11, 400, 15] };
const CAPTION_SIZE = TYPE.caption[0];
const edgeOf = (frame) => (frame.height ? 10 : 16);

function token(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
}

function made(kind, attributes) {
  const one = document.createElementNS(SVG, kind);
  for (const [key, value] of Object.entries(attributes)) one.setAttribute(key, value);
  return one;
}

/** Words in lines no wider than `room`, measured as they will be drawn. */
function wrapped(words, room, [size, weight], family) {
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = `${weight} ${size}px ${family}`;
  const lines = [];
  for (const word of words.trim().split(/\s+/).filter(Boolean)) {
    const longer = lines.length ? `${lines.at(-1)} ${word}` : word;
    if (lines.length && pen.measureText(longer).width <= room) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}

function textLines(sheet, lines, left, top, kind, family, colour) {
  const [size, weight, step] = TYPE[kind];
  lines.forEach((line, at) => {
    const one = made("text", {
      x: left, y: top + step * at + size, "font-family": family, "font-size": size, "font-weight": weight, fill: colour,
    });
    one.textContent = line;
    sheet.append(one);
  });
}

/** A word's size in the picture such that on the sheet, where all is `scale` times as large, it can be read. */
function readable(size, scale) {
  const shown = size * scale;
  return Math.max(shown, Math.min(CAPTION_SIZE, shown * MOST_GROWN)) / scale;
}

/** A copy that carries what the style sheet said of each part, to be drawn `scale` times as large. */
function plain(picture, paper, scale) {
  const copy = picture.cloneNode(true);
  const here = getComputedStyle(document.documentElement).backgroundColor;
  const sources = [picture, ...picture.querySelectorAll("*")];
  [copy, ...copy.querySelectorAll("*")].forEach((one, at) => {
    if (["title", "desc"].includes(one.localName)) return;
    const styles = getComputedStyle(sources[at]);
    for (const name of one.localName === "text" ? LETTERS : LINES) {
      const value = styles.getPropertyValue(name);
      if (!value) continue;
      // Where a mark is hollow it shows the paper it is on.
      one.setAttribute(name, name === "font-size" ? readable(parseFloat(value), scale) : value === here ? paper : value);
    }
    one.removeAttribute("class");
  });
  for (const name of ["role", "aria-hidden"]) copy.removeAttribute(name);
  return copy;
}

/** How pictures stand on a sheet: columns and scale, the largest that the height allows. */
function arranged(sizes, room, height, family) {
  const wide = Math.max(...sizes.map((one) => one.width));
  const tall = Math.max(...sizes.map((one) => one.height));
  let best = { scale: 0 };
  for (let columns = 1; columns <= sizes.length; columns += 1) {
    const rows = Math.ceil(sizes.length / columns);
    const cell = (room - GAP * (columns - 1)) / columns;
    const names = sizes.map(({ label }) => wrapped(label, cell, TYPE.label, family));
    const above = LABEL * Math.max(...names.map((lines) => lines.length));
    let scale = Math.min(LARGEST, cell / wide);
    if (height) scale = Math.min(scale, ((height - GAP * (rows - 1)) / rows - above) / tall);
    // Without a height there is always room below; pictures then shrink little.
    const better = height ? scale > best.scale : columns === 1 || scale >= 0.8;
    if (better) best = { columns, rows, scale, names, above, cell, high: tall * scale + above };
  }
  return best;
}

/** The words in lines for a column, and how high they stand: title and subtitle above, caption at the foot. */
function lettered(words, room, [book, work]) {
  const titles = wrapped(words.title, room, TYPE.title, book);
  const below = wrapped(words.subtitle, room, TYPE.subtitle, work);
  const captions = wrapped(words.caption, room, TYPE.caption, work);
  const under = TYPE.title[2] * titles.length;
  return { titles, below, captions, under, head: under + TYPE.subtitle[2] * below.length, foot: TYPE.caption[2] * captions.length };
}

/** Words above and below the pictures, or beside them: the way that leaves the pictures larger. */
function laidOut(sizes, words, frame, families) {
  const edge = edgeOf(frame);
  const room = frame.width - 2 * edge;
  const said = lettered(words, room, families);
  const top = edge + said.head + 12;
  const free = frame.height ? frame.height - top - said.foot - edge - 6 : 0;
  let best = { said, left: edge, top, free, plan: arranged(sizes, room, free, families[1]) };
  if (!frame.height) return best;
  const tall = frame.height - 2 * edge;
  for (const column of COLUMNS_OF_WORDS) {
    const beside = lettered(words, column, families);
    if (beside.head + 12 + beside.foot > tall) continue;
    const left = edge + column + GAP;
    const plan = arranged(sizes, frame.width - edge - left, tall, families[1]);
    if (plan.scale > best.plan.scale * CLEARLY) best = { said: beside, left, top: edge, free: tall, plan };
  }
  return best;
}

/**
 * The sheet as SVG text with its size, or null where the pictures do not fit it.
 * `pictures` are {svg, label}; `words` are {title, subtitle, caption, text}; `frame` is {width, height, paper}.
 */
export function sheetOf(pictures, words, frame) {
  const edge = edgeOf(frame);
  const [book, work, ink, stone] = ["book", "work", "ink", "stone"].map(token);
  const sizes = pictures.map(({ svg, label }) => {
    const { width, height } = svg.viewBox.baseVal;
    return { width, height, label };
  });
  const { said, left, top, free, plan } = laidOut(sizes, words, frame, [book, work]);
  if (!plan.columns || (frame.height && plan.scale < SMALLEST)) return null;
  const inner = plan.rows * plan.high + (plan.rows - 1) * GAP;
  const height = frame.height || Math.ceil(top + inner + 12 + said.foot + edge);
  const sheet = made("svg", { width: frame.width, height, viewBox: `0 0 ${frame.width} ${height}` });
  for (const [kind, text] of [["title", words.title], ["desc", words.text]]) {
    const one = made(kind, {});
    one.textContent = text;
    sheet.append(one);
  }
  sheet.append(made("rect", { width: frame.width, height, fill: frame.paper }));
  textLines(sheet, said.titles, edge, edge, "title", book, ink);
  textLines(sheet, said.below, edge, edge + said.under, "subtitle", work, stone);
  const spare = frame.height ? Math.max(0, free - inner) / 2 : 0;
  pictures.forEach(({ svg }, at) => {
    const x = left + (at % plan.columns) * (plan.cell + GAP);
    const y = top + spare + Math.floor(at / plan.columns) * (plan.high + GAP);
    textLines(sheet, plan.names[at], x, y, "label", work, ink);
    const copy = plain(svg, frame.paper, plan.scale);
    const { width, height: tall } = sizes[at];
    // A single picture stands in the middle; several stand under each other's left edges, below their names.
    const aside = sizes.length === 1 ? Math.max(0, plan.cell - width * plan.scale) / 2 : 0;
    for (const [key, value] of Object.entries({
      x: x + aside, y: y + plan.above, width: width * plan.scale, height: tall * plan.scale, overflow: "visible",
    })) copy.setAttribute(key, value);
    sheet.append(copy);
  });
  textLines(sheet, said.captions, edge, height - said.foot - edge, "caption", work, stone);
  return { text: new XMLSerializer().serializeToString(sheet), width: frame.width, height };
}
