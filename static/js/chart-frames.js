// Puts a frame on a figure: a slide, a sheet of paper, a screen. The frame comes from the server as data
// (trends/chart_frames.py), which takes the same steps for its own files.

const SMALL = 11;
const STRIP = new Set(["y2", "y3"]);

/** The marks of the first rows, smaller, for the rows are closer together. */
function firstRows(part, rows, dot) {
  const kept = part.y.flatMap((row, at) => (row < rows ? [at] : []));
  const only = (values) => kept.map((at) => values[at]);
  const { size } = part.marker;
  const marker = { ...part.marker, size: Array.isArray(size) ? only(size).map((one) => Math.round(dot * one * 10) / 10) : size };
  return { ...part, x: only(part.x), y: only(part.y), text: only(part.text), marker };
}

/** The figure in a frame, as a new plain figure. */
export function framed(figure, frame) {
  const { data: parts, layout } = structuredClone(figure);
  let data = parts.filter((part) => !(frame.solo && STRIP.has(part.yaxis)));
  layout.width = frame.width;
  layout.height = frame.height;
  layout.paper_bgcolor = layout.plot_bgcolor = frame.paper;
  Object.assign(layout.title, { text: frame.title, y: 1, yref: "container", yanchor: "top", pad: { t: frame.pad } });
  layout.title.subtitle.text = frame.subtitle;
  Object.assign(layout.margin, { t: frame.top, b: frame.bottom });
  Object.assign(layout.xaxis, frame.axis);
  if (frame.rows) {
    data = data.map((part) => firstRows(part, frame.rows, frame.dot));
    layout.yaxis.range = [frame.rows - 0.4, -0.6];
    for (const name of ["tickvals", "ticktext"]) layout.yaxis[name] = layout.yaxis[name].slice(0, frame.rows);
  }
  let words = (layout.annotations ?? []).filter((one) => !frame.drop.includes(one.name));
  if (frame.solo) {
    words = words.filter((one) => !STRIP.has((one.yref ?? "").slice(0, 2)));
    delete layout.yaxis2;
    delete layout.yaxis3;
    layout.yaxis.domain = [0, 1];
    layout.yaxis.title = { ...layout.yaxis.title, text: "" };
  }
  words.push({
    name: "caption",
    text: frame.caption,
    x: 0,
    xref: "paper",
    xanchor: "left",
    xshift: 4 - layout.margin.l,
    y: 0,
    yref: "paper",
    yanchor: "top",
    yshift: -frame.foot,
    align: "left",
    showarrow: false,
    font: { family: layout.font.family, size: SMALL, color: layout.title.subtitle.font.color },
  });
  layout.annotations = words;
  delete layout.meta;
  return { data, layout };
}

const NUMBER = /^[<>≥≤±]?\s?[−-]?\d[\d,]*(\.\d+)?$/;
const FORMULA_START = /^[=+\-@\t\r]/;

/** One cell as CSV: figures as plain numbers, an absent one empty, words never run as a formula. */
function cell(text) {
  const words = text.trim().replace(/\s+/g, " ");
  if (words === "–" || words === "—") return "";
  if (NUMBER.test(words)) return words.replace(/,/g, "").replace("−", "-").replace(/\s/g, "");
  const safe = FORMULA_START.test(words) ? `'${words}` : words;
  return /[",\r\n]/.test(safe) ? `"${safe.replace(/"/g, '""')}"` : safe;
}

/** The table that stands under a chart as CSV (RFC 4180); the unit goes into the headings of figures. */
export function tableCsv(table, unit) {
  const rows = [...table.rows].map((row) => [...row.cells]);
  const heads = rows[0].map((head, at) => {
    const words = head.textContent;
    return unit && at > 0 && head.classList.contains("n") ? `${words.trim()} (${unit})` : words;
  });
  return [heads, ...rows.slice(1).map((row) => row.map((one) => one.textContent))]
    .map((row) => row.map(cell).join(","))
    .join("\r\n") + "\r\n";
}
