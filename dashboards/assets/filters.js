// Totals and lists for a choice of branch, crew, wall type and dates, summed in the page from a small table of sums.
"use strict";

(() => {
  const form = document.getElementById("filters");
  const block = document.getElementById("sums");
  if (!form || !block) return;

  const sums = JSON.parse(block.textContent);
  const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer;
  const numbers = (text) => {
    const held = bytes(text);
    return held.byteLength === 2 * sums.rows ? new Int16Array(held) : new Float64Array(held); // counts in two bytes each
  };
  const columns = (given) => Object.fromEntries(Object.entries(given).map(([name, text]) => [name, numbers(text)]));
  const codes = columns(sums.codes), measures = columns(sums.measures);
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

  const value = (name) => form.elements[name]?.value ?? "";
  const periods = () => {
    const from = value("from") === "" ? 0 : sums.levels.period.indexOf(value("from"));
    const to = value("to") === "" ? sums.levels.period.length - 1 : sums.levels.period.indexOf(value("to"));
    return [from, to];
  };
  const chosenRows = () => {
    const [from, to] = periods();
    const wanted = ["branch", "crew", "wall_type"]
      .filter((name) => value(name) !== "" && codes[name])
      .map((name) => [codes[name], sums.levels[name].indexOf(value(name))]);
    const rows = [];
    for (let at = 0; at < sums.rows; at += 1) {
      const period = codes.period[at];
      const dated = period < 0 || (period >= from && period <= to); // below 0: as it stands today, whatever the dates
      if (dated && wanted.every(([code, level]) => code[at] === level)) rows.push(at);
    }
    return rows;
  };

  const total = (rows) =>
    Object.fromEntries(
      Object.entries(measures).map(([name, values]) => [name, rows.reduce((sum, at) => sum + values[at], 0)]),
    );
  // Ratios count only jobs with labour on record, as the command's do.
  const ofJobs = (t) => {
    const gross = t.revenue - t.labour_cost - t.material_cost - t.other_cost;
    return {
      ...t,
      gross_profit: gross,
      job_profit: gross - t.overhead,
      profit_after_callbacks: gross - t.overhead - t.callback_cost,
      gross_margin: t.ratio_revenue ? t.ratio_gross_profit / t.ratio_revenue : null,
      margin_after_callbacks: t.ratio_revenue ? t.ratio_profit_after_callbacks / t.ratio_revenue : null,
      profit_per_labour_hour: t.actual_hours ? t.ratio_profit_after_callbacks / t.actual_hours : null,
    };
  };
  const ofCallbacks = (t) => ({
    ...t,
    rate: t.opening_years > 0 ? (100 * t.visits) / t.opening_years : null,
    cost_each: t.costed ? t.cost / t.costed : null,
  });
  const kinds = {
    jobs: {
      answer: ofJobs,
      point: (a) => (a.ratio_revenue > 0 ? a.margin_after_callbacks : null),
      said: (a) => `${shown.share(a.margin_after_callbacks)} on ${shown.usd(a.revenue)}, ${a.jobs} jobs`,
    },
    callbacks: {
      answer: ofCallbacks,
      point: (a) => a.counted,
      said: (a) => `${a.counted} callbacks, ${shown.usd(a.cost)} so far, ${shown.count(a.opening_years)} years of openings watched`,
    },
  };
  const kind = kinds[form.dataset.kind];
  const answerTo = (rows) => kind.answer(total(rows));

  // Exact enough for a page: limits of a count by Byar's approximation, 95 % (Rothman and Boice 1979, from memory).
  const LEAST_COUNT = 5;
  const limits = (n) => {
    const at = (k, z) => k * (1 - 1 / (9 * k) + z / (3 * Math.sqrt(k))) ** 3;
    return [at(n, -1.96), at(n + 1, 1.96)];
  };

  const grouped = (value, digits) =>
    Math.abs(value).toLocaleString("en-US", { minimumFractionDigits: digits, maximumFractionDigits: digits });
  const signed = (value, text) => (value < 0 && /[1-9]/.test(text) ? `\u2212${text}` : text);
  const shown = {
    usd: (value) => signed(value, `$${grouped(value, 0)}`),
    usd_hour: (value) => signed(value, `$${grouped(value, 2)}`),
    share: (value) => signed(value, `${grouped(100 * value, 1)}\u00a0%`),
    hours: (value) => `${grouped(value, 1)}\u00a0h`,
    count: (value) => grouped(value, 0),
    years: (value) => grouped(value, value < 100 ? 1 : 0),
    expected: (value) => `${grouped(value, 1)} expected`,
    rate: (value, answer) => {
      if (answer.visits < LEAST_COUNT) return `too few: ${grouped(answer.visits, 0)} under warranty`;
      const [low, high] = limits(answer.visits).map((edge) => (100 * edge) / answer.opening_years);
      return `${grouped(value, 1)} (19 times in 20: ${grouped(low, 1)} to ${grouped(high, 1)})`;
    },
    usd_few: (value, answer) =>
      answer.costed < LEAST_COUNT ? `too few: ${answer.costed} with a cost` : shown.usd(value),
  };

  const fill = (answer) => {
    for (const cell of document.querySelectorAll("[data-measure]")) {
      const value = answer[cell.dataset.measure];
      cell.dataset.value = value ?? "";
      cell.textContent = value === null || value === undefined ? "–" : shown[cell.dataset.as](value, answer);
    }
  };

  const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const drawPeriods = (rows) => {
    const plot = document.getElementById("filtered-plot");
    const source = document.getElementById("filtered-data");
    if (!plot || !source || typeof Plotly === "undefined") return;
    const byPeriod = new Map();
    for (const at of rows) byPeriod.set(codes.period[at], [...(byPeriod.get(codes.period[at]) ?? []), at]);
    const points = [...byPeriod.keys()]
      .filter((at) => at >= 0)
      .sort((a, b) => a - b)
      .map((at) => ({ period: sums.levels.period[at], answer: answerTo(byPeriod.get(at)) }))
      .filter(({ answer }) => kind.point(answer) !== null);
    const figure = JSON.parse(source.textContent);
    figure.data[0].x = points.map(({ period }) => period);
    figure.data[0].y = points.map(({ answer }) => kind.point(answer));
    figure.data[0].hovertext = points.map(({ period, answer }) => `${period}: ${kind.said(answer)}`);
    const text = JSON.stringify(figure, (key, value) =>
      typeof value === "string" && value.startsWith("var(") ? css(value.slice(4, -1)) : value,
    );
    const ready = JSON.parse(text);
    Plotly.react(plot, ready.data, ready.layout, { displayModeBar: false, responsive: true });
  };

  // Lists follow branch, crew and wall type, and a list of finished jobs their dates: what does not fit is out of sight.
  const GROUPS = ["branch", "crew", "wall_type"];
  const DATES = ["from", "to"];
  const marked = [...document.querySelectorAll("[data-branch]")];
  const chosen = () => controls.filter((control) => control.value !== "");
  const chooseRows = (answer) => {
    const groups = chosen().filter((control) => GROUPS.includes(control.name));
    const dated = chosen().some((control) => DATES.includes(control.name));
    const [from, to] = periods().map((at) => sums.levels.period[at] ?? "");
    for (const row of marked) {
      const period = row.dataset.period;
      const late = dated && period !== undefined && (period < from || period > to);
      row.hidden = late || groups.some((control) => row.dataset[control.name] !== control.value);
    }
    for (const list of new Set(marked.map((row) => row.parentElement))) {
      const mine = marked.filter((row) => row.parentElement === list);
      countRows(list, mine, { some: groups.length > 0 || (dated && mine.some((row) => row.dataset.period !== undefined)), answer });
    }
    document.dispatchEvent(new Event("chosen"));
  };
  const countRows = (list, mine, { some, answer }) => {
    const region = list.closest(".scroll") ?? mine[0];
    const note = region.previousElementSibling?.classList.contains("counted")
      ? region.previousElementSibling
      : region.parentElement.insertBefore(document.createElement("p"), region);
    note.className = "note counted";
    note.hidden = !some;
    const kept = mine.filter((row) => !row.hidden).length;
    note.textContent = `Your choice: ${kept} of the ${mine.length} listed.${beyond(list, kept, answer)}`;
  };
  // The list of finished jobs ends after some years, the totals do not.
  const beyond = (list, kept, answer) => {
    const older = form.dataset.kind === "jobs" && list.closest("#jobs") ? answer.jobs - kept : 0;
    return older > 0 ? ` The totals above count ${shown.count(older)} older ${older === 1 ? "job" : "jobs"} of your choice too.` : "";
  };
  const say = () => {
    const said = document.getElementById("choice-said");
    if (!said) return;
    const words = chosen().map((c) => `${form.querySelector(`label[for=${c.id}]`).textContent.toLowerCase()} ${c.selectedOptions[0].textContent}`);
    said.hidden = words.length === 0;
    said.textContent = words.length ? `You chose: ${words.join(", ")}.` : "";
  };

  const update = () => {
    const rows = chosenRows();
    const answer = answerTo(rows);
    fill(answer);
    chooseRows(answer);
    say();
    drawPeriods(rows);
    writeAddress();
  };

  readAddress();
  const around = form.closest("details");
  if (around && chosen().length) around.open = true;
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
