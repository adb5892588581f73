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

// On a phone a row's label takes two short lines, so that its range keeps room.
const NARROW_PX = 480;

const shortened = (layout, width) => {
  const rows = layout.yaxis?.categoryarray;
  if (!rows || width >= NARROW_PX) return layout;
  const ticks = { tickmode: "array", tickvals: rows, ticktext: rows.map((row) => row.replace(" · ", "<br>")) };
  return { ...layout, yaxis: { ...layout.yaxis, ...ticks, tickfont: { size: 11 } } };
};

const draw = (block) => {
  const plot = block.parentElement.querySelector(".plot");
  const given = coloured(JSON.parse(block.textContent));
  const figure = { data: given.data, layout: shortened(given.layout, plot.clientWidth) };
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
  place.scrollIntoView({ block: "center" });
  place.focus({ preventScroll: true });
};

// --- tables -----------------------------------------------------------------------------------------------------

const figureIn = (text) => {
  const cleaned = text.replace(/\u2212/g, "-").replace(/[$,%\s]|h$/g, "");
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
const LONG_TEXT = 24;

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
const labelAll = () => narrow.matches && document.querySelectorAll(".scroll").forEach(label);

// --- start ------------------------------------------------------------------------------------------------------

document.addEventListener("click", (event) => {
  const button = event.target.closest("button.sort");
  if (button) sortBy(button.closest("th"));
});
addEventListener("hashchange", reveal);
narrow.addEventListener("change", labelAll);
labelAll();
if (byId("quote-answer")) new MutationObserver(labelAll).observe(byId("quote-answer"), { childList: true, subtree: true });
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
addEventListener("beforeprint", () => {
  document.documentElement.classList.add("paper");
  redraw();
});
addEventListener("afterprint", () => {
  document.documentElement.classList.remove("paper");
  redraw();
});
addEventListener("load", () => typeof Plotly !== "undefined" && drawAll());
if (location.hash) reveal();
