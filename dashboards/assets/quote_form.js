// The live quote form: reads the inputs, has the answer computed, and writes it into the page as text.
"use strict";

(() => {
  const form = document.getElementById("quote-form"), block = document.getElementById("models");
  if (!form || !block) return;
  const models = JSON.parse(block.textContent);
  const place = (name) => document.getElementById(`quote-${name}`);
  const SIZES = [
    "wall_thickness_in", "rough_width_in", "rough_height_in", "existing_width_in", "existing_height_in",
    "depth_below_grade_in", "well_width_in", "well_projection_in", "well_depth_in", "clear_width_in", "clear_height_in",
    "sill_above_floor_in", "sill_below_grade_in",
  ];
  const WORDS = ["wall_type", "opening_work", "soil", "dig_method", "well_type", "drain", "window_spec", "well_spec", "crew"];
  const MAY_BE_ZERO = ["existing_width_in", "existing_height_in", "depth_below_grade_in", "sill_above_floor_in"];
  const MOST_IN = 400, MOST_WALL_IN = 36, INCHES = { "": 1, '"': 1, in: 1, "'": 12, ft: 12, mm: 1 / 25.4, cm: 1 / 2.54, m: 100 / 2.54 };

  // --- reading --------------------------------------------------------------------------------------------------

  const plainWord = (name) => name.replace(/_(in|ft2)\b/g, "").replaceAll("_", " ");
  const raw = (name) => (form.elements[name] ? form.elements[name].value.trim() : "");

  const numberIn = (text) => {
    const parts = text.match(/^(-?\d*\.?\d+)?(?:[\s-]*(\d+)\/(\d+))?$/);
    if (!parts || (parts[1] === undefined && parts[2] === undefined)) return NaN;
    const fraction = parts[2] === undefined ? 0 : Number(parts[2]) / Number(parts[3]);
    return Number(parts[1] ?? 0) + (String(parts[1]).startsWith("-") ? -fraction : fraction);
  };

  // 54 1/2, 54½, 4' 6 1/2", 4 ft 6 in, 138 cm: all as inches
  const inches = (text) => {
    const plain = text.replace("½", " 1/2").replace("¼", " 1/4").replace("¾", " 3/4").replace(/[’′]/g, "'")
      .replace(/[”″]/g, '"').toLowerCase().trim();
    const feet = plain.match(/^(.+?)\s*(?:'|ft)\s*(.+?)\s*(?:"|in)?$/);
    if (feet) return 12 * numberIn(feet[1]) + numberIn(feet[2]);
    const single = plain.match(/^(.+?)\s*("|in|'|ft|mm|cm|m)?$/);
    return single ? numberIn(single[1].trim()) * INCHES[single[2] ?? ""] : NaN;
  };

  const faultOf = (name, size) => {
    const most = name === "wall_thickness_in" ? MOST_WALL_IN : MOST_IN;
    if (Number.isNaN(size)) return "cannot be read; give inches, or such as 4' 6 1/2\"";
    if (name === "sill_below_grade_in") return Math.abs(size) <= most ? "" : `must be from -${most} to ${most} in`;
    if (size > most) return `must be at most ${most} in`;
    if (size < 0 || (size === 0 && !MAY_BE_ZERO.includes(name))) return "must be more than 0";
    return "";
  };

  const readOpening = () => {
    const opening = {}, faults = [];
    for (const name of WORDS) opening[name] = raw(name);
    for (const name of SIZES) {
      const text = raw(name);
      opening[name] = text === "" ? null : inches(text);
      const fault = text === "" ? "" : faultOf(name, opening[name]);
      mark(name, fault);
      if (fault) faults.push(`${plainWord(name)} ${fault}`);
    }
    const bars = raw("reinforced");
    opening.reinforced = bars === "" ? null : bars === "yes";
    opening.start = raw("started_on");
    opening.month = opening.start ? Number(opening.start.slice(5, 7)) : 0;
    return { opening, faults: [...faults, ...missing(), ...contradictions(opening)] };
  };

  const mark = (name, fault) => {
    if (form.elements[name]) form.elements[name].setAttribute("aria-invalid", fault ? "true" : "false");
  };

  const missing = () => ["rough_width_in", "rough_height_in"].filter((name) => raw(name) === "")
    .map((name) => `${plainWord(name)} is needed`);

  const contradictions = (o) => ["width", "height"].filter((side) =>
    o[`rough_${side}_in`] !== null && o[`existing_${side}_in`] !== null && o[`rough_${side}_in`] < o[`existing_${side}_in`])
    .map((side) => `rough ${side} must not be smaller than the existing ${side}`);

  const readRequest = () => {
    const faults = [], margin = raw("margin"), price = raw("price").replace(/[$,]/g, "");
    if (margin !== "" && !(Number(margin) >= 0 && Number(margin) < 1)) faults.push("margin must be from 0 to below 1, such as 0.35");
    if (price !== "" && !(Number(price) > 0)) faults.push("price must be an amount over 0");
    return { asked: { margin: margin === "" ? null : Number(margin), price: price === "" ? null : Number(price) }, faults };
  };

  // --- writing: always as text, never as markup ---------------------------------------------------------------------

  const NOTHING = "–";
  const usd = (amount) => (amount === null ? NOTHING : `$${Math.round(amount).toLocaleString("en-US")}`);
  const hours = (value) => `${value.toFixed(1)} h`;
  const percent = (share) => (share === null ? NOTHING : `${(100 * share).toFixed(1)} %`);
  const say = (name, text) => { if (place(name)) place(name).textContent = text; };

  const fillTable = (name, rows, figures) => {
    place(name)?.replaceChildren(...rows.map((cells) => {
      const line = document.createElement("tr");
      line.append(...cells.map((text, at) => {
        const cell = document.createElement("td");
        cell.textContent = text;
        if (figures.includes(at)) cell.className = "figures";
        return cell;
      }));
      return line;
    }));
  };

  const fillList = (name, texts) => {
    const list = place(name);
    if (!list) return;
    list.replaceChildren(...texts.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
    const whole = list.closest(".answer-list");
    if (whole) whole.hidden = texts.length === 0;
  };

  const verdict = (text) => {
    say("verdict", text);
    if (place("verdict")) place("verdict").hidden = text === "";
  };

  const verdictOn = (found) => {
    if (found.hours.confidence === "outside_experience") return "Price this by hand: it is outside what we have done.";
    const said = models.materials ? [] : ["Materials are not in this price: too few purchases in the book."];
    if (models.labour.starter) said.push(`Hours lean on starter rates: ${models.labour.jobs} finished jobs so far.`);
    if (found.hours.confidence === "few_like_it") said.push("We have done few like it: check this by hand before you promise it.");
    return said.join(" ");
  };

  const writeFigures = (found) => {
    const overhead = models.firm.overhead_set ? "" : "; overhead not set";
    say("hours", hours(found.hours.mean));
    say("hours-range", `8 times in 10 between ${hours(found.hours.p10)} and ${hours(found.hours.p90)}`);
    say("cost", usd(found.expected_cost));
    say("cost-range", `4 times in 5 under ${usd(found.cost_p80)}${overhead}`);
    say("offer", usd(found.price_at_margin));
    say("offer-range", `margin ${percent(found.margin)}`);
    say("risk", percent(found.chance_of_loss));
    say("risk-range", found.price === null ? "" : `at ${usd(found.price)}`);
    say("crew-days", found.crew_days.p50.toFixed(1));
    say("crew-days-range", `9 times in 10 no more than ${found.crew_days.p90.toFixed(1)}`);
  };

  const writeTables = (found, opening) => {
    const named = (word) => word.replaceAll("_", " ");
    fillTable("phases", found.hours.phases.map((line) => [named(line.phase), hours(line.mean),
      `${line.p10.toFixed(1)} to ${line.p90.toFixed(1)}`, line.why]), [1, 2]);
    fillTable("order", found.materials.filter((line) => line.order > 0).map((line) => [
      named(line.item), String(Number(line.order.toFixed(2))), line.unit,
      line.price === null ? NOTHING : `$${line.price.toFixed(2)}`, usd(line.cost)]), [1, 3, 4]);
    fillTable("costs", [["labour", usd(found.labour_cost)], ["materials", usd(found.material_cost)],
      ...found.other.map((line) => [`${line.category}, usually ${usd(line.low)} to ${usd(line.high)}`, usd(line.expected)]),
      ["overhead", usd(found.overhead)], ["set aside for callbacks", usd(found.callback_allowance)],
      ["expected cost", usd(found.expected_cost)]], [1]);
    const results = { pass: "meets", fail: "FAILS", cannot_tell: "cannot tell" };
    const sized = (rule, size) => (size === null ? NOTHING
      : `${Number(size.toFixed(3))}${rule.endsWith("_ft2") ? " sq ft" : rule.endsWith("_in") ? " in" : ""}`);
    fillTable("egress", areawayChecks.egressChecks(models.egress, opening).map((check) => [plainWord(check.rule),
      sized(check.rule, check.value), sized(check.rule, check.limit),
      check.note ? `${results[check.result]}: ${check.note}` : results[check.result], check.section]), [1, 2]);
  };

  const assumedWord = (name, filled) => {
    if (name === "crew") return "any crew";
    if (name === "reinforced") return `bars as often as in such walls (${percent(filled[name])})`;
    if (!(name in filled)) return name;
    const value = typeof filled[name] === "number" ? `${Number(filled[name].toFixed(2))} in` : filled[name].replaceAll("_", " ");
    return `${plainWord(name)} ${value}`;
  };

  const writeLists = (found, opening) => {
    fillList("cautions", areawayChecks.cautionsFor(models, opening).map((one) => `${one.text} (${one.authority})`));
    fillList("assumed", found.assumed.map((name) => assumedWord(name, found.filled)));
    fillList("out-of-range", found.hours.out_of_range.map(plainWord));
    fillList("similar", found.similar.map((one) => `${one.opening_id} took ${hours(one.hours)}`));
  };

  const FIGURES = ["hours", "cost", "offer", "risk", "crew-days"];

  const clear = () => {
    for (const name of FIGURES) {
      say(name, NOTHING);
      say(`${name}-range`, "");
    }
    for (const name of ["phases", "order", "costs", "egress"]) fillTable(name, [], []);
    for (const name of ["cautions", "assumed", "out-of-range", "similar"]) fillList(name, []);
  };

  const answer = () => {
    const { opening, faults } = readOpening(), request = readRequest(), all = [...faults, ...request.faults];
    if (all.length) {
      clear();
      verdict(`${all.join("; ")}.`);
      return;
    }
    const found = areawayOffer.offer(models, opening, request.asked);
    verdict(verdictOn(found));
    writeFigures(found);
    writeTables(found, opening);
    writeLists(found, opening);
  };

  const announce = () => say("say", place("verdict").hidden
    ? `${place("hours").textContent}, expected cost ${place("cost").textContent}, price ${place("offer").textContent}`
    : place("verdict").textContent);

  form.addEventListener("input", answer);
  form.addEventListener("change", announce);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    answer();
    announce();
  });
  answer();
})();
