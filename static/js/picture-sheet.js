// Pictures drawn by the server, put on one sheet with title, subtitle and caption: an SVG that needs no
// style sheet and no page, fit for a screen, a slide or a letter page.

const SVG = "http://www.w3.org/2000/svg";
const LINES = ["fill", "fill-opacity", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap", "opacity"];
const LETTERS = ["fill", "opacity", "font-family", "font-size", "font-weight", "text-anchor"];
const EDGE = 16;
const GAP = 24;
const LABEL = 20;
const LARGEST = 2;
// Words grow by at most so much against a picture that had to shrink; more would make them collide.
const MOST_GROWN = 1.8;
// A picture that would have to shrink further has too many parts for this sheet.
const SMALLEST = 0.5;
const TYPE = { title: [18, 600, 23], subtitle: [12, 400, 16], label: [12, 600, LABEL], caption: [11, 400, 15] };

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

function textLines(sheet, lines, top, kind, family, colour) {
  const [size, weight, step] = TYPE[kind];
  lines.forEach((line, at) => {
    const one = made("text", {
      x: EDGE, y: top + step * at + size, "font-family": family, "font-size": size, "font-weight": weight, fill: colour,
    });
    one.textContent = line;
    sheet.append(one);
  });
}

/** A copy that carries what the style sheet said of each part; `grown` widens type and nothing else. */
export function plain(picture, paper, grown) {
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
      one.setAttribute(name, name === "font-size" ? parseFloat(value) * grown : value === here ? paper : value);
    }
    one.removeAttribute("class");
  });
  for (const name of ["role", "aria-hidden"]) copy.removeAttribute(name);
  return copy;
}

/** How pictures stand on a sheet: columns and scale, the largest that the height allows. */
function arranged(sizes, room, height) {
  const wide = Math.max(...sizes.map((one) => one.width));
  const tall = Math.max(...sizes.map((one) => one.height));
  const labelled = sizes.some((one) => one.label) ? LABEL : 0;
  let best = { scale: 0 };
  for (let columns = 1; columns <= sizes.length; columns += 1) {
    const rows = Math.ceil(sizes.length / columns);
    let scale = Math.min(LARGEST, (room - GAP * (columns - 1)) / columns / wide);
    if (height) scale = Math.min(scale, ((height - GAP * (rows - 1)) / rows - labelled) / tall);
    // Without a height there is always room below; pictures then need not be smaller than they were drawn.
    const better = height ? scale > best.scale : columns === 1 || scale >= 0.95;
    if (better) best = { columns, rows, scale, cell: { width: wide * scale, height: tall * scale + labelled }, labelled };
  }
  return best;
}

/**
 * The sheet as SVG text with its size, or null where the pictures do not fit it.
 * `pictures` are {svg, label}; `words` are {title, subtitle, caption, text}; `frame` is {width, height, paper}.
 */
export function sheetOf(pictures, words, frame) {
  const families = { title: token("book"), other: token("work") };
  const room = frame.width - 2 * EDGE;
  const lines = {
    title: wrapped(words.title, room, TYPE.title, families.title),
    subtitle: wrapped(words.subtitle, room, TYPE.subtitle, families.other),
    caption: wrapped(words.caption, room, TYPE.caption, families.other),
  };
  const top = EDGE + TYPE.title[2] * lines.title.length + TYPE.subtitle[2] * lines.subtitle.length + 14;
  const foot = TYPE.caption[2] * lines.caption.length + EDGE;
  const sizes = pictures.map(({ svg, label }) => {
    const { width, height } = svg.viewBox.baseVal;
    return { width, height, label };
  });
  const plan = arranged(sizes, room, frame.height ? frame.height - top - foot - 8 : 0);
  if (!plan.columns || (frame.height && plan.scale < SMALLEST)) return null;
  const inner = plan.rows * plan.cell.height + (plan.rows - 1) * GAP;
  const height = frame.height || Math.ceil(top + inner + 12 + foot);
  const sheet = made("svg", {
    xmlns: SVG, width: frame.width, height, viewBox: `0 0 ${frame.width} ${height}`,
    "font-variant-numeric": "lining-nums",
  });
  const title = made("title", {});
  title.textContent = words.title;
  const told = made("desc", {});
  told.textContent = words.text;
  sheet.append(title, told, made("rect", { width: frame.width, height, fill: frame.paper }));
  textLines(sheet, lines.title, EDGE, "title", families.title, token("ink"));
  textLines(sheet, lines.subtitle, EDGE + TYPE.title[2] * lines.title.length, "subtitle", families.other, token("stone"));
  const grown = plan.scale < 1 ? Math.min(1 / plan.scale, MOST_GROWN) : 1;
  const spare = frame.height ? Math.max(0, frame.height - top - foot - 8 - inner) / 2 : 0;
  pictures.forEach(({ svg, label }, at) => {
    const x = EDGE + (at % plan.columns) * (plan.cell.width + GAP);
    const y = top + spare + Math.floor(at / plan.columns) * (plan.cell.height + GAP);
    if (label) {
      const name = made("text", {
        x, y: y + TYPE.label[0], "font-family": families.other, "font-size": TYPE.label[0], "font-weight": 600,
        fill: token("ink"),
      });
      name.textContent = label;
      sheet.append(name);
    }
    const copy = plain(svg, frame.paper, grown);
    const { width, height: tall } = sizes[at];
    for (const [key, value] of Object.entries({
      x, y: y + plan.labelled, width: width * plan.scale, height: tall * plan.scale, overflow: "visible",
    })) copy.setAttribute(key, value);
    sheet.append(copy);
  });
  textLines(sheet, lines.caption, height - foot, "caption", families.other, token("stone"));
  return { text: new XMLSerializer().serializeToString(sheet), width: frame.width, height };
}
