// What a picture drawn by the server offers to those who take it along: the same as a live chart. Where
// several small pictures stand together they are saved on one sheet, each with its name.

import { tableCsv } from "./chart-frames.js";
import { sheetOf } from "./picture-sheet.js";
import { printAlone } from "./print-chart.js";
import "./print-details.js";
import { button, download, given, linkParts, saveBox, say, told } from "./save-tools.js";

const PICTURE = ["drawing", "saved", "no_picture"];
const SHEET = ["drawing_sheet", "print_window", "no_picture"];

const dataAddress = (text) => `data:image/svg+xml;charset=utf-8,${encodeURIComponent(text)}`;
const oneLine = (text) => (text ?? "").trim().replace(/\s+/g, " ");

/** The sheet as dots: drawn on a canvas, as many dots to a pixel as the frame says. */
async function dots(sheet, scale) {
  const image = new Image();
  image.src = dataAddress(sheet.text);
  await image.decode();
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(sheet.width * scale);
  canvas.height = Math.round(sheet.height * scale);
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  return new Promise((resolve, reject) => {
    canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error("The canvas stayed empty."))), "image/png");
  });
}

class RillSave extends HTMLElement {
  connectedCallback() {
    if (this.firstChild) return;
    const pictures = this.pictures();
    if (!pictures.length) return;
    const { box, list, status } = saveBox(say(pictures.length > 1 ? "pictures" : "picture"));
    const { name } = this.dataset;
    for (const [size, frame] of Object.entries(given().frames)) {
      if (!this.sheet(frame)) continue;
      list.append(button(say(size), () => told(status, PICTURE, async () =>
        download(await dots(this.sheet(frame), frame.scale), `${name}-${size}.png`))));
    }
    const print = given().frames.print;
    list.append(
      button(say("svg"), () => told(status, PICTURE, () =>
        download(new Blob([this.sheet(print).text], { type: "image/svg+xml" }), `${name}.svg`))),
      button(say("paper"), () => told(status, SHEET, () => printAlone({
        drawn: dataAddress(this.sheet(print).text), name, text: this.words().text, address: this.address(),
      }))),
    );
    this.numbers(list, status);
    list.append(...linkParts(this.address(), status));
    this.append(box);
  }

  /** Where the pictures are: the named part of the page, else the figure or section around. */
  get scope() {
    return document.getElementById(this.dataset.of) ?? this.closest("figure, [data-pictures], section, article") ?? document.body;
  }

  /** The pictures and their names. A small mark in a key or beside a word is none. */
  pictures() {
    const { pick } = this.dataset;
    const isPicture = (svg) => (pick ? svg.matches(pick) : svg.matches(".spark") || [...svg.children].some((one) => one.matches("g.spark")));
    const found = [...this.scope.querySelectorAll("svg")].filter(isPicture);
    return found.map((svg) => {
      const place = found.length > 1 ? svg.closest("li, tr") : null;
      const names = [...(place?.querySelectorAll("h3, th[scope=row]") ?? [])];
      return { svg, label: oneLine(names[0]?.textContent) };
    });
  }

  words() {
    const said = (part) => oneLine(this.scope.querySelector(part)?.textContent);
    const titles = this.pictures().map(({ svg }) => oneLine(svg.querySelector("title")?.textContent));
    const { title, subtitle, caption } = this.dataset;
    return {
      title: title || said(".chart-title"),
      subtitle: subtitle || (title ? "" : said(".chart-subtitle")),
      caption,
      text: said(".chart-text") || titles.filter(Boolean).join("; "),
    };
  }

  sheet(frame) {
    return sheetOf(this.pictures(), this.words(), frame);
  }

  address() {
    const made = new URL(location.href);
    const { scope } = this;
    made.hash = scope.id || scope.getAttribute("aria-labelledby") || this.closest("[id]")?.id || "";
    return made.href;
  }

  /** The table that stands with the picture; without one, the data of the page or of the creek as the server gives them. */
  numbers(list, status) {
    const table = this.dataset.numbers
      ? document.getElementById(this.dataset.numbers)?.querySelector("table")
      : this.scope.querySelector("table");
    if (table) {
      list.append(button(say("numbers"), () => {
        download(new Blob([tableCsv(table, "")], { type: "text/csv;charset=utf-8" }), `${this.dataset.name}.csv`);
        status.textContent = say("numbers_saved");
      }));
      return;
    }
    const beside = this.dataset.beside || document.querySelector('link[rel="alternate"][type="text/csv"]')?.href;
    if (!beside) return;
    const link = document.createElement("a");
    link.href = beside;
    link.textContent = say("page_numbers");
    list.append(link);
  }
}

customElements.define("rill-save", RillSave);
