// Draws the charts, sorts the tables, follows clicks, and computes the filtered totals. Fetches nothing.
"use strict";

const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const byId = (name) => document.getElementById(name);

// --- charts -----------------------------------------------------------------------------------------------------

const coloured = (value) => {
  if (typeof value === "string") return value.startsWith("var(") ? css(value.slice(4, -1)) : value;
  if (Array.isArray(value)) return value.map(coloured);
  if (value === null || typeof value !== "object" || ArrayBuffer.isView(value)) return value;
  return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, coloured(inner)]));
};

// Labels are broken into lines that fit; a chart of rows grows with the lines they need. On paper charts are lower.
const NARROW_PX = 480;
const LABEL_SHARE = 0.4;
const LETTER_PX = 6.6;
const LINE_PX = 16;
const ROW_PX = 30;
const PAPER_HEIGHT_PX = 235;
const MOST_DATES = 4; // under a chart of many bars on a phone
const TITLE_LETTERS = 22;

const inLines = (text, letters) => {
  const lines = [""];
  for (const word of text.split(" ")) {
    const longer = lines.at(-1) === "" ? word : `${lines.at(-1)} ${word}`;
    if (longer.length <= letters || lines.at(-1) === "") lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
};

const ticks = (rows, letters, font) => {
  const lines = rows.map((row) => inLines(row, letters));
  const texts = lines.map((parts) => parts.join("<br>"));
  const axis = { tickmode: "array", tickvals: rows, ticktext: texts, tickangle: 0, ...(font ? { tickfont: { size: font } } : {}) };
  return [axis, Math.max(...lines.map((parts) => parts.length))];
};

const fitted = ({ data, layout }, width) => {
  const narrow = width < NARROW_PX;
  const font = narrow ? 11 : 0;
  const paper = document.documentElement.classList.contains("paper");
  const fit = paper ? { ...layout, width } : { ...layout }; // on paper said outright: the screen's is kept otherwise
  const rows = layout.yaxis?.categoryarray;
  if (rows?.length) {
    const [axis, most] = ticks(rows, Math.floor((width * LABEL_SHARE) / (narrow ? LETTER_PX - 0.8 : LETTER_PX)), font);
    fit.yaxis = { ...layout.yaxis, ...axis };
    fit.height = layout.height + rows.length * Math.max(0, most * LINE_PX + 8 - ROW_PX);
  } else if (paper && !data.some((one) => one.orientation === "h")) {
    fit.height = Math.min(layout.height, PAPER_HEIGHT_PX);
    const title = layout.yaxis?.title;
    if (title?.text) fit.yaxis = { ...layout.yaxis, title: { ...title, text: inLines(title.text, TITLE_LETTERS).join("<br>") } };
  }
  const bars = data[0]?.type === "bar" && data[0].orientation !== "h" ? data[0].x : [];
  if (narrow && bars.length && bars.every((bar) => String(bar).includes(" "))) {
    fit.xaxis = { ...layout.xaxis, ...ticks(bars, Math.floor((width * 0.85) / bars.length / LETTER_PX), font)[0] };
  } else if (narrow && bars.length > 2 * MOST_DATES) fit.xaxis = { ...layout.xaxis, nticks: MOST_DATES };
  if (narrow && layout.xaxis?.dtick === 1) fit.xaxis = { ...layout.xaxis, dtick: 2, tickangle: 0 };
  if (narrow && layout.xaxis?.nticks) fit.xaxis = { ...layout.xaxis, nticks: 3, tickangle: 0 };
  return { data, layout: fit };
};

const draw = (block) => {
  const plot = block.parentElement.querySelector(".plot");
  const figure = fitted(coloured(JSON.parse(block.textContent)), plot.clientWidth);
  plot.dataset.state = "drawing";
  return Plotly.react(plot, figure.data, figure.layout, { displayModeBar: false, responsive: true }).then(() => {
    plot.dataset.state = "drawn";
    if (plot.dataset.clicks) return;
    plot.dataset.clicks = "yes";
    plot.on("plotly_click", (event) => follow(event.points[0].customdata));
  });
};

const figures = () => [...document.querySelectorAll("script.plot-data")];

const drawAll = () => {
  const waiting = figures();
  const next = () => {
    const block = waiting.shift();
    if (!block) {
      document.documentElement.dataset.charts = "drawn";
      return;
    }
    draw(block).then(() => setTimeout(next, 0));
  };
  next();
};

const redraw = () => figures().forEach(draw);

const follow = (anchor) => {
  const place = typeof anchor === "string" && anchor !== "" ? byId(anchor) : null;
  if (!place) return;
  location.hash = anchor;
  reveal();
};

// A place inside a closed disclosure is opened before it is shown.
const reveal = () => {
  const place = byId(decodeURIComponent(location.hash.slice(1)));
  if (!place) return;
  for (let at = place; at; at = at.parentElement) if (at.tagName === "DETAILS") at.open = true;
  place.dispatchEvent(new Event("led-to", { bubbles: true }));
  place.scrollIntoView({ block: "center" });
  place.focus({ preventScroll: true });
};

// --- tables -----------------------------------------------------------------------------------------------------

// The figure of a cell; of a range such as "3.1 to 3.9 h" its lower end.
const figureIn = (text) => {
  const cleaned = text.split(" to ")[0].replace(/\u2212/g, "-").replace(/[$,%\s]|h$/g, "");
  return cleaned === "" || cleaned === "–" ? NaN : Number(cleaned);
};

const DAY = /^\d{1,2} [A-Z][a-z]{2} \d{4}$/;

const compareCells = (one, other, figuresOnly) => {
  if (DAY.test(one) && DAY.test(other)) return Date.parse(one) - Date.parse(other);
  if (!figuresOnly) return one.localeCompare(other, "en", { numeric: true });
  const [a, b] = [figureIn(one), figureIn(other)];
  if (Number.isNaN(a) || Number.isNaN(b)) return Number(Number.isNaN(a)) - Number(Number.isNaN(b));
  return a - b;
};

const sortBy = (header) => {
  const at = header.cellIndex;
  const up = header.getAttribute("aria-sort") !== "ascending";
  const body = header.closest("table").tBodies[0];
  const text = (row) => row.cells[at].textContent.trim();
  const figuresOnly = header.classList.contains("figures");
  const rows = [...body.rows].sort((a, b) => (up ? 1 : -1) * compareCells(text(a), text(b), figuresOnly));
  header.parentElement.querySelectorAll("th").forEach((other) => other.removeAttribute("aria-sort"));
  header.setAttribute("aria-sort", up ? "ascending" : "descending");
  body.append(...rows);
};

// On a phone a wide table is shown as blocks; each cell then needs its heading.
const WIDE_COLUMNS = 4;
const LONG_TEXT = 20;

const label = (region) => {
  const heads = [...region.querySelectorAll("thead th")].map((head) => head.textContent.trim());
  if (heads.length < WIDE_COLUMNS) return;
  region.classList.add("stack");
  for (const row of region.querySelectorAll("tbody tr")) {
    [...row.cells].forEach((cell, at) => {
      cell.dataset.label = heads[at];
      cell.classList.toggle("wide", at === 0 || cell.textContent.length > LONG_TEXT);
    });
  }
};

const narrow = matchMedia("(max-width: 40rem)");
const labelAll = () => narrow.matches && document.querySelectorAll(".scroll:not(.flat)").forEach(label);

// --- start ------------------------------------------------------------------------------------------------------

document.addEventListener("click", (event) => {
  const button = event.target.closest("button.sort");
  if (button) sortBy(button.closest("th"));
});
addEventListener("hashchange", reveal);
narrow.addEventListener("change", labelAll);
labelAll();
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
addEventListener("beforeprint", () => {
  document.documentElement.classList.add("paper");
  redraw();
});
addEventListener("afterprint", () => {
  document.documentElement.classList.remove("paper");
  redraw();
  document.querySelectorAll(".plot").forEach((plot) => Plotly.Plots.resize(plot));
});
addEventListener("load", () => typeof Plotly !== "undefined" && drawAll());
if (location.hash) reveal();
