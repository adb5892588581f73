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
  const MOST_IN = 400, MOST_WALL_IN = 36, NEEDED = ["rough_width_in", "rough_height_in"];
  const HOW = "type inches such as 54 1/2, or 4' 6 1/2\", or 138 cm";

  // --- reading --------------------------------------------------------------------------------------------------

  const plainWord = (name) => name.replace(/_(in|ft2)\b/g, "").replaceAll("_", " ");
  const raw = (name) => (form.elements[name] ? form.elements[name].value.trim() : "");
  const sizeText = (name) => (/^(n\/a|none|[-–—?])$/i.test(raw(name)) ? "" : raw(name));
  const labelled = (name) => form.querySelector(`label[for="quote-${name}"]`)?.firstChild.textContent.trim() ?? plainWord(name);

  const faultOf = (name, size) => {
    const most = name === "wall_thickness_in" ? MOST_WALL_IN : MOST_IN;
    if (!Number.isFinite(size)) return `cannot be read: ${HOW}`;
    if (name === "sill_below_grade_in") return Math.abs(size) <= most ? "" : `must be from \u2212${most} to ${most} in`;
    if (size > most) return `must be at most ${most} in; if it is not in inches, type the unit, such as 1200 mm`;
    if (size < 0 && MAY_BE_ZERO.includes(name)) return "must be 0 in or more; leave it empty if you do not know it";
    if (size > 0 || MAY_BE_ZERO.includes(name)) return "";
    return NEEDED.includes(name) ? "must be more than 0 in" : "must be more than 0 in; leave it empty if you do not know it";
  };

  // out: the opening as the models read it, and what is wrong with it by input
  const readOpening = () => {
    const opening = {}, faults = {};
    for (const name of WORDS) opening[name] = raw(name);
    for (const name of SIZES) {
      const text = sizeText(name);
      opening[name] = text === "" ? null : areawayQuote.inches(text);
      if (text !== "") faults[name] = faultOf(name, opening[name]);
      else if (NEEDED.includes(name)) faults[name] = `is needed: ${HOW}`;
    }
    for (const side of ["width", "height"]) {
      contradiction(opening, side, faults);
      beyondHole(opening, side, faults);
    }
    const bars = raw("reinforced");
    opening.reinforced = bars === "" ? null : bars === "yes";
    opening.start = raw("started_on");
    opening.month = opening.start ? Number(opening.start.slice(5, 7)) : 0;
    return { opening, faults };
  };

  const contradiction = (o, side, faults) => {
    const rough = o[`rough_${side}_in`], existing = o[`existing_${side}_in`];
    if (rough === null || existing === null || faults[`existing_${side}_in`] || !(rough < existing)) return;
    faults[`existing_${side}_in`] = `must not be larger than the rough ${side}, ${rough} in`;
  };

  const beyondHole = (o, side, faults) => {
    const rough = o[`rough_${side}_in`], clear = o[`clear_${side}_in`], name = `clear_${side}_in`;
    if (rough === null || clear === null || faults[name] || !(clear > rough)) return;
    faults[name] = `is ${clear} in; a clear opening cannot be larger than the hole, rough ${side}, ${rough} in`;
  };

  const FIGURE = /^\d*\.?\d+$/;

  const readRequest = () => {
    const share = raw("margin"), amount = raw("price").replace(/[$,\s]|usd/gi, ""), faults = {};
    const plain = share.replace(/\s*%$/, ""), margin = Number(plain) / (share.endsWith("%") ? 100 : 1);
    if (share !== "" && !(FIGURE.test(plain) && margin < 1)) faults.margin = "must be from 0 to below 1: type 0.35 or 35 %";
    if (amount !== "" && !(FIGURE.test(amount) && Number(amount) > 0)) faults.price = "must be an amount over 0, such as 7500";
    return { asked: { margin: share === "" ? null : margin, price: amount === "" ? null : Number(amount) }, faults };
  };

  // Each fault stands under its input, and the input is marked; what was put right is cleared.
  const mark = (faults) => {
    for (const name of [...SIZES, "margin", "price"]) {
      const text = faults[name] ?? "", told = place(`${name}-fault`);
      form.elements[name]?.setAttribute("aria-invalid", text ? "true" : "false");
      if (!told) continue;
      told.textContent = text && `${labelled(name)} ${text}.`;
      told.hidden = text === "";
    }
    return Object.entries(faults).filter(([, text]) => text).map(([name, text]) => `${labelled(name).toLowerCase()} ${text}`);
  };

  // --- writing: always as text, never as markup ---------------------------------------------------------------------

  const NOTHING = "–", GAP = "\u00a0";
  const usd = (amount) => (amount === null ? NOTHING : `$${Math.round(amount).toLocaleString("en-US")}`);
  const hours = (value) => `${value.toFixed(1)}${GAP}h`;
  const percent = (share, digits = 1) => (share === null ? NOTHING : `${(100 * share).toFixed(digits)}${GAP}%`);
  const units = (unit) => (unit === "yd3" ? "cu yd" : unit);
  // The draws tell neither never nor always.
  const chance = (share) => {
    const least = models.constants.LEAST_CHANCE;
    if (share !== null && share < least) return `under ${percent(least)}`;
    return share !== null && share > 1 - least ? `over ${percent(1 - least)}` : percent(share);
  };
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

  // A line of a list: a text, or its subject in bold, the text, and who says so.
  const listLine = (one) => {
    const line = document.createElement("li");
    if (typeof one === "string") line.textContent = one;
    else {
      line.append(Object.assign(document.createElement("b"), { textContent: `${one.subject}. ` }), `${one.text} `);
      line.append(Object.assign(document.createElement("span"), { className: "note", textContent: `(${one.source})` }));
    }
    return line;
  };

  const fillList = (name, lines) => {
    const list = place(name);
    if (!list) return;
    list.replaceChildren(...lines.map(listLine));
    const whole = list.closest(".answer-list");
    if (whole) whole.hidden = lines.length === 0;
  };

  const verdict = (text) => {
    say("verdict", text);
    if (place("verdict")) place("verdict").hidden = text === "";
  };

  const BY_HAND = "Price this by hand: it is outside what we have done. Do not rely on the hours and costs shown.";

  const verdictOn = (found, checks, remarks) => {
    const failed = checks.filter((check) => check.result === "fail").map((check) => plainWord(check.rule));
    const escape = [...remarks, ...(failed.length ? [`Not an escape window as it stands: ${failed.join(", ")}.`] : [])];
    if (found.hours.confidence === "outside_experience") return [BY_HAND, ...escape].join(" ");
    const said = found.left_out.length ? [`Not in this price: ${found.left_out.join(", ")}.`] : [];
    if (models.labour.starter) said.push(`Hours lean on starter rates: ${models.labour.jobs} finished jobs so far.`);
    if (found.hours.confidence === "few_like_it") said.push("We have done few like it: check this by hand before you promise it.");
    return [...said, ...escape].join(" ");
  };

  const writeFigures = (found) => {
    const overhead = models.firm.overhead_set ? "" : "; overhead not set";
    say("hours", hours(found.hours.mean));
    say("hours-range", `8 in 10: ${found.hours.p10.toFixed(1)} to ${hours(found.hours.p90)}`);
    say("cost", usd(found.expected_cost));
    say("cost-range", `4 times in 5 under ${usd(found.cost_p80)}${overhead}`);
    say("offer", usd(found.price_at_margin));
    say("offer-range", `for ${percent(found.margin, Number.isInteger(Math.round(1e6 * found.margin) / 1e4) ? 0 : 1)} margin`);
    say("risk", chance(found.chance_of_loss));
    say("risk-range", found.price === null ? "" : `at ${usd(found.price)}`);
    say("crew-days", found.crew_days.p50.toFixed(1));
    say("crew-days-range", `days; 9 times in 10 no more than ${found.crew_days.p90.toFixed(1)}`);
  };

  const named = (word) => word.replaceAll("_", " ");

  const callbackLine = (chances) => {
    const told = Object.entries(chances).filter(([, share]) => share !== null);
    const causes = told.map(([cause, share]) => `${cause} ${percent(share)}`).join(", ");
    return told.length ? `set aside for callbacks (chance of one: ${causes})` : "set aside for callbacks";
  };

  const writeTables = (found, checks) => {
    fillTable("phases", found.hours.phases.map((line) => [named(line.phase), hours(line.mean),
      `${line.p10.toFixed(1)} to ${hours(line.p90)}`]), [1, 2]);
    fillTable("why", found.hours.phases.filter((line) => line.why).map((line) => [named(line.phase), line.why]), []);
    const order = found.materials.filter((line) => line.order > 0);
    fillTable("order", [...order.map((line) => [
      named(line.item), `${Number(line.order.toFixed(2))}${GAP}${units(line.unit)}`,
      line.price === null ? NOTHING : `$${line.price.toFixed(2)}`, usd(line.cost)]),
    ["all, in whole packs", "", "", usd(areawayQuote.sum(order.map((line) => line.cost ?? 0)))]], [1, 2, 3]);
    fillTable("costs", [["labour", usd(found.labour_cost)], ["materials, as used on average", usd(found.material_cost)],
      ...found.other.map((line) => [`${line.category}, usually ${usd(line.low)} to ${usd(line.high)}`, usd(line.expected)]),
      ["overhead", usd(found.overhead)], [callbackLine(found.chances), usd(found.callback_allowance)],
      ["expected cost", usd(found.expected_cost)]], [1]);
    fillTable("egress", checks.map((check) => [`${plainWord(check.rule)} (${check.section})`, needs(check), met(check)]), []);
  };

  const sized = (rule, size) => `${Number(size.toFixed(3))}${GAP}${rule.endsWith("_ft2") ? "sq ft" : "in"}`;

  const NEEDS = { sill_above_floor_in: "at most", ladder_needed_at_well_depth_in: "a ladder if deeper than" };
  const needs = (check) => (check.limit === null ? NOTHING
    : `${NEEDS[check.rule] ?? "at least"} ${sized(check.rule, check.limit)}`);

  const RESULTS = { pass: "meets", fail: "FAILS", cannot_tell: "cannot tell" };
  const met = (check) => {
    const result = check.note ? `${RESULTS[check.result]}: ${check.note}` : RESULTS[check.result];
    return check.value === null ? result : `${sized(check.rule, check.value)}, ${result}`;
  };

  const writeLists = (found, opening) => {
    fillList("assumed", found.assumed_said);
    fillList("out-of-range", found.hours.out_of_range.map((name) => `${labelled(name)}: never seen in the book.`));
    fillList("cautions", areawayChecks.cautionsFor(models, opening).map((one) => ({
      subject: `${one.topic.charAt(0).toUpperCase()}${one.topic.slice(1)}`, text: one.text, source: one.authority })));
    fillList("similar", found.similar.map((one) => `${one.opening_id} took ${hours(one.hours)}: ${one.told}`));
  };

  const FIGURES = ["hours", "cost", "offer", "risk", "crew-days"];

  const clear = () => {
    for (const name of FIGURES) {
      say(name, NOTHING);
      say(`${name}-range`, "");
    }
    for (const name of ["phases", "order", "costs", "egress", "why"]) fillTable(name, [], []);
    for (const name of ["cautions", "assumed", "out-of-range", "similar"]) fillList(name, []);
  };

  const noPrice = (faults) => {
    const more = faults.length > 1 ? ` And ${faults.length - 1} more, each marked below.` : "";
    return `No price yet: ${faults[0]}.${more}`;
  };

  const answer = () => {
    const read = readOpening(), request = readRequest(), faults = mark({ ...read.faults, ...request.faults });
    if (faults.length) {
      clear();
      verdict(noPrice(faults));
      return;
    }
    const found = areawayOffer.offer(models, read.opening, request.asked);
    const checks = areawayChecks.egressChecks(models.egress, read.opening);
    verdict(verdictOn(found, checks, areawayChecks.remarksOn(models, read.opening)));
    writeFigures(found);
    writeTables(found, checks);
    writeLists(found, read.opening);
  };

  const figuresSaid = () => `Price ${place("offer").textContent}, ${place("hours").textContent}, `
    + `expected cost ${place("cost").textContent}, chance of loss ${place("risk").textContent}`;
  const announce = () => say("say", [place("verdict").textContent, place("offer").textContent === NOTHING ? "" : figuresSaid()]
    .filter((text) => text).join(" "));

  form.addEventListener("input", answer);
  form.addEventListener("change", announce);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    answer();
    announce();
  });
  answer();
})();
