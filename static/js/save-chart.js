// What a chart offers to those who take it along: pictures in three sizes, a drawing, the numbers, a link.
// All of it is made in the browser; the library's own bar of buttons cannot be reached by everyone.

import { framed, tableCsv } from "./chart-frames.js";
import { printAlone } from "./print-chart.js";
import { button, download, linkParts, saveBox, say, told } from "./save-tools.js";

const PICTURES = [["screen", "png"], ["slide", "png"], ["print", "png"], ["print", "svg"]];
const PICTURE = ["drawing", "saved", "not_drawn"];
const SHEET = ["drawing_sheet", "print_window", "no_sheet"];

/** The address that opens this chart again: page, measure, place on the page. */
function address(element, figure) {
  const made = new URL(location.href);
  const measure = figure.layout.meta?.measure;
  if (measure) made.searchParams.set("measure", measure);
  made.hash = element.closest("figure")?.id ?? "";
  return made.href;
}

/** Puts the ways of saving under a chart that has been drawn. */
export function offer(element, plotly, figure) {
  const frames = JSON.parse(document.getElementById(element.dataset.frames)?.textContent ?? "{}");
  const name = element.dataset.name || "chart";
  const { box, list, status } = saveBox(say("chart"));
  for (const [size, format] of PICTURES) {
    const frame = frames[size];
    if (!frame) continue;
    const drawing = format === "svg";
    list.append(button(say(drawing ? "svg" : size), () => told(status, PICTURE, () =>
      plotly.downloadImage(framed(figure, frame), {
        format,
        width: frame.width,
        height: frame.height,
        scale: drawing ? 1 : frame.scale,
        filename: drawing ? name : `${name}-${size}`,
      }))));
  }
  if (frames.print) {
    list.append(button(say("paper"), () => told(status, SHEET, async () => {
      const frame = frames.print;
      const drawn = await plotly.toImage(framed(figure, frame), {
        format: "svg",
        width: frame.width,
        height: frame.height,
      });
      const text = element.closest("figure")?.querySelector(".chart-text")?.textContent ?? "";
      await printAlone({ drawn, name, text, address: address(element, figure) });
    })));
  }
  const table = element.closest("figure")?.querySelector(".chart-numbers table");
  if (table) {
    list.append(button(say("numbers"), () => {
      const text = tableCsv(table, figure.layout.meta?.unit ?? "");
      download(new Blob([text], { type: "text/csv;charset=utf-8" }), `${name}.csv`);
      status.textContent = say("numbers_saved");
    }));
  }
  list.append(...linkParts(address(element, figure), status));
  element.append(box);
}
