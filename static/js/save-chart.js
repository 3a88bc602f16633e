// What a chart offers to those who take it along: pictures in three sizes, a drawing, the numbers, a link.
// All of it is made in the browser; the library's own bar of buttons cannot be reached by everyone.

import { framed, tableCsv } from "./chart-frames.js";
import { printAlone } from "./print-chart.js";

const PICTURES = [
  ["screen", "png", "Picture for a screen (PNG)"],
  ["slide", "png", "Picture for a slide, 16:9 (PNG)"],
  ["print", "png", "Picture for print (PNG)"],
  ["print", "svg", "Drawing (SVG)"],
];

function button(words, action) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "quiet save-picture";
  made.textContent = words;
  made.addEventListener("click", action);
  return made;
}

function download(blob, name) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/** The address that opens this chart again: page, measure, place on the page. */
function address(element, figure) {
  const made = new URL(location.href);
  const measure = figure.layout.meta?.measure;
  if (measure) made.searchParams.set("measure", measure);
  made.hash = element.closest("figure")?.id ?? "";
  return made.href;
}

/** A copy in the clipboard where the browser allows it, said so in words. */
function copyButton(href, status) {
  if (!navigator.clipboard) return [];
  return [button("Copy the link", async () => {
    try {
      await navigator.clipboard.writeText(href);
      status.textContent = "The link is copied.";
    } catch {
      status.textContent = "The browser did not allow copying. Use the link itself.";
    }
  })];
}

/** Puts the ways of saving under a chart that has been drawn. */
export function offer(element, plotly, figure) {
  const frames = JSON.parse(document.getElementById(element.dataset.frames)?.textContent ?? "{}");
  const name = element.dataset.name || "chart";
  const box = document.createElement("details");
  box.className = "save-chart";
  const summary = document.createElement("summary");
  summary.textContent = "Save or share this chart";
  const status = document.createElement("p");
  status.className = "quiet";
  status.setAttribute("role", "status");
  const list = document.createElement("div");
  list.className = "save-list";
  for (const [size, format, words] of PICTURES) {
    const frame = frames[size];
    if (!frame) continue;
    list.append(button(words, async () => {
      status.textContent = "The picture is being drawn.";
      try {
        await plotly.downloadImage(framed(figure, frame), {
          format,
          width: frame.width,
          height: frame.height,
          scale: format === "svg" ? 1 : frame.scale,
          filename: format === "svg" ? name : `${name}-${size}`,
        });
        status.textContent = "The picture is saved.";
      } catch {
        status.textContent = "The picture could not be drawn. The table below has the same numbers.";
      }
    }));
  }
  if (frames.print) {
    list.append(button("On paper, or as PDF", async () => {
      status.textContent = "The sheet is being drawn.";
      try {
        const frame = frames.print;
        const drawn = await plotly.toImage(framed(figure, frame), {
          format: "svg",
          width: frame.width,
          height: frame.height,
        });
        const text = element.closest("figure")?.querySelector(".chart-text")?.textContent ?? "";
        status.textContent = "The print window of the browser also saves it as PDF.";
        await printAlone({ drawn, name, text, address: address(element, figure) });
      } catch {
        status.textContent = "The sheet could not be drawn. The table below has the same numbers.";
      }
    }));
  }
  const table = element.closest("figure")?.querySelector(".chart-numbers table");
  if (table) {
    list.append(button("The numbers (CSV)", () => {
      const text = tableCsv(table, figure.layout.meta?.unit ?? "");
      download(new Blob([text], { type: "text/csv;charset=utf-8" }), `${name}.csv`);
      status.textContent = "The numbers are saved.";
    }));
  }
  const href = address(element, figure);
  const link = document.createElement("a");
  link.href = href;
  link.textContent = "Link that opens this chart again";
  list.append(link, ...copyButton(href, status));
  box.append(summary, list, status);
  element.append(box);
}
