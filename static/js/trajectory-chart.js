// Puts a live plotly chart in the place of the server-drawn one, after the page has been painted.
// The page is complete without it: the sentence, the picture and the table come from the server.

import { offer } from "./save-chart.js";

const TOKENS = ["paper", "ink", "stone", "water", "clay", "plum", "sand", "mist"];
// The library's map part writes a style element unless one with this id is there. No page has a map, and
// the content policy refuses such an element, so a stand-in keeps it from trying.
const MAP_STYLE = "9f215cf04c5486422605d13261cb87401f4e7763b6296af81e98efbc0130da53";
const STILL = matchMedia("(prefers-reduced-motion: reduce)");
const NARROW = 560;
const loading = new Map();

/** Load the library once for the whole page. */
function library(address) {
  if (window.Plotly) return Promise.resolve(window.Plotly);
  if (!loading.has(address)) {
    const standIn = document.createElement("meta");
    standIn.id = MAP_STYLE;
    document.head.append(standIn);
    loading.set(address, new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = address;
      script.async = true;
      script.onload = () => resolve(window.Plotly);
      script.onerror = () => reject(new Error("The chart library could not be loaded."));
      document.head.append(script);
    }));
  }
  return loading.get(address);
}

/** From the colours a figure carries to those of the style sheet where the chart stands. */
function colours(element) {
  const page = getComputedStyle(document.documentElement);
  const here = getComputedStyle(element);
  const map = new Map();
  for (const token of TOKENS) {
    map.set(page.getPropertyValue(`--${token}`).trim(), here.getPropertyValue(`--${token}`).trim());
  }
  return map;
}

function repaint(part, map) {
  if (typeof part === "string") return map.get(part) ?? part;
  if (Array.isArray(part)) return part.map((one) => repaint(one, map));
  if (part && typeof part === "object") {
    return Object.fromEntries(Object.entries(part).map(([key, value]) => [key, repaint(value, map)]));
  }
  return part;
}

/** The title stands in the page already, so the chart gives its room back; narrow screens keep fewer labels. */
function fitted(figure, width) {
  const layout = { ...figure.layout };
  const title = layout.meta?.title_height ?? 0;
  delete layout.title;
  layout.margin = { ...layout.margin, t: Math.max((layout.margin?.t ?? 0) - title, 12) };
  layout.height -= title;
  layout.autosize = true;
  if (width < NARROW) {
    const { l, range } = layout.meta?.narrow ?? {};
    if (l) layout.margin.l = l;
    if (range) layout.xaxis = { ...layout.xaxis, range };
    layout.annotations = (layout.annotations ?? []).filter((one) => one.name !== "wide");
  }
  return { data: figure.data, layout };
}

/** A chart drawn for the screen is wider than paper: with a view box it shrinks there instead of losing its last years. */
function shrinkable(live) {
  for (const svg of live.querySelectorAll("svg.main-svg")) {
    const { width, height } = svg.getBoundingClientRect();
    if (!width || !height) continue;
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.closest(".svg-container").style.aspectRatio = `${width} / ${height}`;
  }
}

class RillChart extends HTMLElement {
  connectedCallback() {
    const begin = () => (window.requestIdleCallback ?? ((run) => setTimeout(run, 60)))(() => this.draw());
    if (!("IntersectionObserver" in window)) {
      begin();
      return;
    }
    this.watch = new IntersectionObserver((seen) => {
      if (seen.some((one) => one.isIntersecting)) {
        this.watch.disconnect();
        begin();
      }
    }, { rootMargin: "300px" });
    this.watch.observe(this);
  }

  disconnectedCallback() {
    this.watch?.disconnect();
    this.resized?.disconnect();
    if (this.live && window.Plotly) window.Plotly.purge(this.live);
  }

  async draw() {
    const source = document.getElementById(this.dataset.figure);
    if (!source) return;
    const figure = JSON.parse(source.textContent);
    let plotly;
    try {
      plotly = await library(this.dataset.library);
    } catch {
      return; // The server-drawn chart and the table stay.
    }
    const still = this.querySelector(".chart-still");
    this.live = this.querySelector(".chart-live");
    this.live.hidden = false;
    const width = this.clientWidth;
    const { data, layout } = fitted(repaint(figure, colours(this)), width);
    await plotly.newPlot(this.live, data, { ...layout, width }, {
      displaylogo: false,
      displayModeBar: false,
      doubleClick: false,
      scrollZoom: false,
    });
    still.hidden = true;
    shrinkable(this.live);
    this.drawn = width;
    this.follow(plotly, figure);
    offer(this, plotly, figure);
    this.dispatchEvent(new CustomEvent("rill-drawn", { bubbles: true }));
  }

  /** Follow the width of the page; wait for it to settle, or redraw at once where motion is unwelcome. */
  follow(plotly, figure) {
    let timer;
    this.resized = new ResizeObserver(() => {
      clearTimeout(timer);
      timer = setTimeout(() => {
        const width = this.clientWidth;
        if (!width || Math.abs(width - this.drawn) < 2) return;
        this.drawn = width;
        const { data, layout } = fitted(repaint(figure, colours(this)), width);
        plotly.react(this.live, data, { ...layout, width }).then(() => shrinkable(this.live));
      }, STILL.matches ? 0 : 120);
    });
    this.resized.observe(this);
  }
}

customElements.define("rill-chart", RillChart);
