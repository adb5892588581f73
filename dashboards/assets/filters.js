// Totals for a choice of branch, crew, wall type and dates, summed in the page from a small table of sums.
"use strict";

(() => {
  const form = document.getElementById("filters");
  const block = document.getElementById("sums");
  if (!form || !block) return;

  const sums = JSON.parse(block.textContent);
  const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer;
  const codes = Object.fromEntries(Object.entries(sums.codes).map(([name, text]) => [name, new Int32Array(bytes(text))]));
  const measures = Object.fromEntries(
    Object.entries(sums.measures).map(([name, text]) => [name, new Float64Array(bytes(text))]),
  );
  const controls = [...form.elements].filter((control) => control.name);

  // Choices live in the address, so that a view can be sent.
  const readAddress = () => {
    const wanted = new URLSearchParams(location.search);
    for (const control of controls) {
      const value = wanted.get(control.name) ?? "";
      if ([...control.options].some((option) => option.value === value)) control.value = value;
    }
  };
  const writeAddress = () => {
    const chosen = new URLSearchParams(controls.filter((c) => c.value !== "").map((c) => [c.name, c.value]));
    const query = chosen.toString();
    history.replaceState(null, "", location.pathname + (query ? `?${query}` : "") + location.hash);
  };

  const chosenRows = () => {
    const value = (name) => form.elements[name]?.value ?? "";
    const from = value("from") === "" ? 0 : sums.levels.period.indexOf(value("from"));
    const to = value("to") === "" ? sums.levels.period.length - 1 : sums.levels.period.indexOf(value("to"));
    const wanted = ["branch", "crew", "wall_type"]
      .filter((name) => value(name) !== "" && codes[name])
      .map((name) => [codes[name], sums.levels[name].indexOf(value(name))]);
    const rows = [];
    for (let at = 0; at < sums.rows; at += 1) {
      const period = codes.period[at];
      if (period >= from && period <= to && wanted.every(([code, level]) => code[at] === level)) rows.push(at);
    }
    return rows;
  };

  const total = (rows) =>
    Object.fromEntries(
      Object.entries(measures).map(([name, values]) => [name, rows.reduce((sum, at) => sum + values[at], 0)]),
    );
  const derived = (t) => ({
    ...t,
    gross_profit: t.revenue - t.labour_cost - t.material_cost - t.other_cost,
    job_profit: t.revenue - t.labour_cost - t.material_cost - t.other_cost - t.overhead,
    profit_after_callbacks: t.revenue - t.labour_cost - t.material_cost - t.other_cost - t.overhead - t.callback_cost,
  });
  // Ratios count only jobs with labour on record, as the command's do.
  const ratios = (t) => ({
    ...t,
    gross_margin: t.ratio_revenue ? t.ratio_gross_profit / t.ratio_revenue : null,
    margin_after_callbacks: t.ratio_revenue ? t.ratio_profit_after_callbacks / t.ratio_revenue : null,
    profit_per_labour_hour: t.actual_hours ? t.ratio_profit_after_callbacks / t.actual_hours : null,
  });

  const grouped = (value, digits) =>
    Math.abs(value).toLocaleString("en-US", { minimumFractionDigits: digits, maximumFractionDigits: digits });
  const signed = (value, text) => (value < 0 && /[1-9]/.test(text) ? `\u2212${text}` : text);
  const shown = {
    usd: (value) => signed(value, `$${grouped(value, 0)}`),
    usd_hour: (value) => signed(value, `$${grouped(value, 2)}`),
    share: (value) => signed(value, `${grouped(100 * value, 1)}\u00a0%`),
    hours: (value) => `${grouped(value, 1)}\u00a0h`,
    count: (value) => grouped(value, 0),
  };

  const fill = (answer) => {
    for (const cell of document.querySelectorAll("[data-measure]")) {
      const value = answer[cell.dataset.measure];
      cell.dataset.value = value ?? "";
      cell.textContent = value === null || value === undefined ? "–" : shown[cell.dataset.as](value);
    }
  };

  const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const drawPeriods = (rows) => {
    const plot = document.getElementById("filtered-plot");
    const source = document.getElementById("filtered-data");
    if (!plot || !source || typeof Plotly === "undefined") return;
    const byPeriod = new Map();
    for (const at of rows) byPeriod.set(codes.period[at], [...(byPeriod.get(codes.period[at]) ?? []), at]);
    const periods = [...byPeriod.keys()].sort((a, b) => a - b).filter((at) => total(byPeriod.get(at)).ratio_revenue > 0);
    const answers = periods.map((at) => ratios(derived(total(byPeriod.get(at)))));
    const figure = JSON.parse(source.textContent);
    figure.data[0].x = periods.map((at) => sums.levels.period[at]);
    figure.data[0].y = answers.map((answer) => answer.margin_after_callbacks);
    figure.data[0].hovertext = answers.map(
      (answer, at) => `${sums.levels.period[periods[at]]}: ${shown.share(answer.margin_after_callbacks)} on ${shown.usd(answer.revenue)}, ${answer.jobs} jobs`,
    );
    const text = JSON.stringify(figure, (key, value) =>
      typeof value === "string" && value.startsWith("var(") ? css(value.slice(4, -1)) : value,
    );
    const ready = JSON.parse(text);
    Plotly.react(plot, ready.data, ready.layout, { displayModeBar: false, responsive: true });
  };

  const update = () => {
    const rows = chosenRows();
    fill(ratios(derived(total(rows))));
    drawPeriods(rows);
    writeAddress();
  };

  readAddress();
  form.addEventListener("change", update);
  form.addEventListener("reset", () => setTimeout(update, 0));
  form.addEventListener("submit", (event) => event.preventDefault());
  const redraw = () => drawPeriods(chosenRows());
  addEventListener("load", redraw);
  addEventListener("beforeprint", redraw);
  addEventListener("afterprint", redraw);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
  update();
})();
