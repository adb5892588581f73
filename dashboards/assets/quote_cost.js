// The rest of a quote: materials in whole packs, callbacks, other costs, price, chance of a loss, checks and cautions.
"use strict";

const areawayOffer = (() => {
  const { sum, given, each, fixed, filledIn, takeOff, hoursOf } = areawayQuote;

  // --- materials ------------------------------------------------------------------------------------------------

  // Share of a standard normal above z: a series near 0, a continued fraction in the tail.
  const above = (z) => {
    const x = Math.abs(z) / Math.SQRT2, middle = Math.exp(-x * x) / Math.sqrt(Math.PI);
    let tail;
    if (x < 2.5) {
      let term = x, series = x;
      for (let n = 1; n < 80; n++) series += (term *= 2 * x * x / (2 * n + 1));
      tail = 0.5 - middle * series;
    } else {
      let fraction = x;
      for (let n = 60; n > 0; n--) fraction = x + n / 2 / fraction;
      tail = middle / fraction / 2;
    }
    return z >= 0 ? tail : 1 - tail;
  };

  const packsToOrder = (usage, pack, c) => Math.ceil(usage / pack - c.DIVISION_SLACK);

  const packsMeanVariance = (median, logSd, pack, c) => {
    const packs = median / pack;
    if (packs > c.MOST_PACKS_SUMMED) {
      const mean = packs * Math.exp(logSd ** 2 / 2);
      return [mean + 0.5, mean ** 2 * Math.expm1(logSd ** 2)];
    }
    const most = Math.ceil(packs * Math.exp(6 * logSd)) + 1;
    let mean = 1, square = 1;
    for (let k = 1; k <= most; k++) {
      const share = above((Math.log(k * pack) - Math.log(median)) / logSd);
      mean += share;
      square += (2 * k + 1) * share;
    }
    return [mean, Math.max(square - mean ** 2, 0)];
  };

  const middle = (values) => {
    const sorted = [...values].sort((a, b) => a - b), half = Math.floor(sorted.length / 2);
    return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
  };

  const priceOf = (level, item, spec, facts, c) => {
    const listed = level.listed[item] ?? {}, paid = level.paid[item] ?? {};
    if (spec && spec in listed) return listed[spec];
    if (spec && spec in paid) return paid[spec];
    if ("" in listed) return listed[""];
    const ofWell = level.by_well[item] ?? {}, sized = level.by_area[item] ?? [];
    if (item === "window_well" && facts.well_type in ofWell) return ofWell[facts.well_type];
    if (sized.length && facts.area > 0) {
      const apart = sized.map(([area, price]) => [Math.abs(Math.log(area / facts.area)), price]);
      return middle(apart.sort((a, b) => a[0] - b[0]).slice(0, c.LAST_PURCHASES).map(([, price]) => price));
    }
    if (item in level.last) return level.last[item];
    return Object.keys(listed).length ? middle(Object.values(listed)) : null;
  };

  const useOf = (item, facts, t, c) => {
    if (c.ONLY_WITH_A_WELL.includes(item.item) && facts.well_type === "none") return null;
    if (c.ONE_EACH.includes(item.item)) return { median: 1, logSd: 0, share: 1 };
    const share = (condition) => item.shares[condition] ?? item.shares[""];
    if (!item.driver) return { median: 1, logSd: 0, share: share(facts[c.ONE_OR_NONE[item.item]]) };
    if (!(t[item.driver] > 0)) return null;
    const factor = Math.exp(item.level + (item.walls[facts.wall_type] ?? 0));
    return { median: t[item.driver] * factor, logSd: item.wall_sd[facts.wall_type] ?? item.sd, share: share(facts[c.SHARE_CONDITION]) };
  };

  const materialLine = (materials, item, use, facts, o, c) => {
    const spec = o[c.SPEC_COLUMN[item.item]] ?? "";
    const price = priceOf(materials.prices, item.item, spec, facts, c);
    const whole = packsToOrder(use.median, item.pack_size, c);
    const [packs, variance] = use.logSd === 0 ? [whole, 0] : packsMeanVariance(use.median, use.logSd, item.pack_size, c);
    const expectedPacks = use.share * packs, order = use.share >= c.LIKELY ? whole * item.pack_size : 0;
    const perPack = (price ?? 0) * item.pack_size;
    return {
      item: item.item, spec, unit: item.unit, order, price, cost: price === null ? null : order * price,
      expected: price === null ? null : expectedPacks * perPack,
      variance: (use.share * (variance + packs ** 2) - expectedPacks ** 2) * perPack ** 2,
    };
  };

  const materialsOf = (models, o, t) => {
    if (!models.materials) return [];
    const c = models.constants;
    const facts = {
      wall_type: o.wall_type, well_type: o.well_type, opening_work: o.opening_work, area: t.opening_area,
      cut_wall: o.opening_work === "replace" ? "replace" : o.wall_type, deep_well: t.ladder > 0 ? "deep" : "shallow",
    };
    return Object.values(models.materials.items).flatMap((item) => {
      const use = useOf(item, facts, t, c);
      return use ? [materialLine(models.materials, item, use, facts, o, c)] : [];
    });
  };

  // --- callbacks: a condition gives yes, no or null (not recorded), as SQL does ----------------------------------------

  const compare = { "=": (a, b) => a === b, "<>": (a, b) => a !== b, "<": (a, b) => a < b, "<=": (a, b) => a <= b,
    ">": (a, b) => a > b, ">=": (a, b) => a >= b };
  const calculate = { "+": (a, b) => a + b, "-": (a, b) => a - b, "*": (a, b) => a * b, "/": (a, b) => a / b };
  const known = (values) => values.filter((value) => value !== null);
  const combine = {
    and: ([a, b]) => (a === false || b === false ? false : a === null || b === null ? null : true),
    or: ([a, b]) => (a === true || b === true ? true : a === null || b === null ? null : false),
    not: ([a]) => (a === null ? null : !a), "is null": ([a]) => a === null, abs: ([a]) => (a === null ? null : Math.abs(a)),
    coalesce: (values) => known(values)[0] ?? null,
    least: (values) => (known(values).length ? Math.min(...known(values)) : null),
    greatest: (values) => (known(values).length ? Math.max(...known(values)) : null),
  };

  const recorded = (value) => (given(value) && value !== "" ? value : null);

  const truth = (node, o) => {
    if (node.op === "literal") return node.value;
    if (node.op === "column") return recorded(o[node.value]);
    const values = node.parts.map((part) => truth(part, o));
    if (node.op in combine) return combine[node.op](values);
    if (values.includes(null)) return null;
    if (node.op in compare) return compare[node.op](...values);
    const number = calculate[node.op](...values);
    return Number.isFinite(number) ? number : null;
  };

  const yearsPerBand = (days, c) => c.BAND_EDGES_DAYS.map((low, at) =>
    Math.max(Math.min(c.BAND_EDGES_DAYS[at + 1] ?? Infinity, days) - low, 0) / c.DAYS_PER_YEAR);

  const knowsCallbacks = (models) => Boolean(models.callbacks)
    && Object.values(models.callbacks.causes).some((cause) => cause.events > 0);

  const chancesOf = (models, opening, months) => {
    const risk = models.callbacks, c = models.constants;
    if (!knowsCallbacks(models)) return {};
    const years = yearsPerBand(months * c.DAYS_PER_MONTH, c);
    const present = risk.patterns.map((term) => {
      const found = truth(term.tree, opening);
      return found === null ? term.share : Number(found);
    });
    return each(risk.causes, (cause) => {
      const pace = (cause.crew[opening.crew] ?? cause.average_crew) + (cause.wall[opening.wall_type] ?? cause.average_wall);
      const log = pace + sum(present.map((value, at) => value * cause.patterns[at]));
      return 1 - Math.exp(-sum(years.map((value, at) => value * cause.baseline[at])) * Math.exp(log));
    });
  };

  // --- other costs, and what the job may cost: once per draw of the stored table ------------------------------------

  const otherCosts = (rates, work, c) => Object.entries(rates).flatMap(([category, rate]) => {
    const expected = (rate.per_job + rate.per_opening) * (rate.kinds[work] ?? 1);
    if (!(expected > 0)) return [];
    const variance = Math.log1p(rate.variation ** 2), median = expected * Math.exp(-variance / 2);
    const reach = Math.exp(c.Z_80 * Math.sqrt(variance));
    return [{ category, expected, low: median / reach, high: median * reach, variance: (expected * rate.variation) ** 2 }];
  });

  const spreadAbout = (mean, logSd, z) => mean * Math.exp(logSd * z - logSd ** 2 / 2);

  const byMoments = (part, z) =>
    (part.mean <= 0 ? part.mean : spreadAbout(part.mean, Math.sqrt(Math.log1p(part.variance / part.mean ** 2)), z));

  const visitsAt = (expected, u, most) => {
    let chance = Math.exp(-expected), below = chance, visits = 0;
    for (let number = 1; number <= most; number++) {
      if (u <= below) break;
      visits = number;
      chance *= expected / number;
      below += chance;
    }
    return visits;
  };

  const costDraws = (job, draws, c) => draws.hours.map((z, at) => {
    const visit = spreadAbout(job.visitUsd, job.visitLogSd, draws.visit_cost[at]);
    return spreadAbout(job.hoursMean, job.hoursLogSd, z) * job.hourUsd + byMoments(job.material, draws.materials[at])
      + byMoments(job.other, draws.other[at]) + visitsAt(job.visits, draws.visits[at], c.MOST_VISITS) * visit;
  });

  // --- the firm's dated settings --------------------------------------------------------------------------------

  const inForce = (steps, day) => {
    const begun = steps.filter(([from]) => from <= day);
    return (begun.length ? begun[begun.length - 1] : steps[0])[1];
  };

  // --- openings like it -----------------------------------------------------------------------------------------

  const similarTo = (models, o) => {
    const done = models.quote.openings_done, c = models.constants;
    const differs = (name, at) => Number(done[name][at] !== o[name]);
    const sizeApart = (name, at) => Math.abs(done[name][at] - o[name]) / c.SIZE_APART_IN;
    const depth = "depth_below_grade_in";
    const apart = done.opening_id.map((name, at) => {
      const words = differs("wall_type", at) + differs("opening_work", at);
      const halves = c.HALF * differs("dig_method", at) + c.HALF * differs("well_type", at);
      const deep = given(done[depth][at]) && given(o[depth]) ? sizeApart(depth, at) : c.HALF;
      const sizes = sizeApart("rough_width_in", at) + sizeApart("rough_height_in", at);
      return { opening_id: name, hours: done.hours[at], at, unlike: words + halves + sizes + deep };
    });
    const nearest = apart.sort((one, other) => one.unlike - other.unlike).slice(0, c.SIMILAR_SHOWN);
    return nearest.map((one) => ({ ...one, told: toldOf(done, one.at, o, c) }));
  };

  // Sizes, ground and drain of one opening done, and the kind of wall, work, dig and well where it is another.
  const toldOf = (done, at, o, c) => {
    const size = (value) => Number(fixed(value, 2)), depth = done.depth_below_grade_in[at];
    const other = [...c.WHOLE_WORDS, ...c.HALF_WORDS].filter((name) => done[name][at] !== o[name]);
    const words = [...other, ...c.ALWAYS_TOLD.filter((name) => name in done)].filter((name) => done[name][at] !== "");
    return [`${size(done.rough_width_in[at])} × ${size(done.rough_height_in[at])} in`, ...(given(depth) ? [`${size(depth)} in deep`] : []),
      ...words.map((name) => c.WORDS_OF[name].replace("{}", () => done[name][at].replaceAll("_", " ")))].join(", ");
  };

  // --- the whole answer -----------------------------------------------------------------------------------------

  // in:  models as the page holds them; one opening; margin and price of the request (null = the firm's target, none)
  // out: hours, materials, costs, price and chance of a loss; price and chance null outside the firm's experience
  const offer = (models, opening, { margin = null, price = null } = {}) => {
    const c = models.constants, rates = models.quote, day = opening.start || models.as_of;
    const { filled, assumed } = filledIn(opening, models.labour.defaults, c);
    const t = takeOff(filled, c), hours = hoursOf(models, filled, t, assumed), lines = materialsOf(models, filled, t);
    const others = otherCosts(rates.other_costs, opening.opening_work, c);
    const chances = chancesOf(models, opening, inForce(models.firm.warranty, day));
    const visits = each(chances, (chance) => -Math.log1p(-chance) * rates.visits_per_first);
    const allowance = sum(Object.entries(visits).map(([name, count]) => count * (rates.visit_usd[name] ?? 0)));
    const wage = inForce(models.firm.hourly_cost, day), overhead = inForce(models.firm.overhead, day);
    const expectedVisits = sum(Object.values(visits)), priced = lines.filter((line) => line.expected !== null);
    const job = {
      hoursMean: hours.mean, hoursLogSd: Math.log(hours.p90 / hours.p50) / c.Z_90, hourUsd: wage + overhead,
      material: { mean: sum(priced.map((line) => line.expected)), variance: sum(priced.map((line) => line.variance)) },
      other: { mean: sum(others.map((line) => line.expected)), variance: sum(others.map((line) => line.variance)) },
      visits: expectedVisits, visitUsd: expectedVisits > 0 ? allowance / expectedVisits : 0, visitLogSd: rates.visit_log_sd,
    };
    const said = [...assumed, ...gaps(models, opening, lines)];
    return { ...priced_(models, job, hours, { margin, price, wage, overhead, allowance, day }), hours, materials: lines,
      other: others, left_out: leftOut(models, opening, lines, others), chances, assumed: said, assumed_said: sentencesOf(models.sentences, said, filled, opening.crew),
      similar: similarTo(models, opening) };
  };

  // Each assumption as the sentence that the printed sheet has for it.
  const sentencesOf = (words, assumed, filled, crew) => assumed.map((name) => {
    if (name === "crew") return crew ? words.unknown_crew.replace("{}", () => crew) : words.any_crew;
    if (!(name in filled) || !(name in words.assumed)) return `${name.charAt(0).toUpperCase()}${name.slice(1)}.`;
    const value = filled[name];
    const told = typeof value === "string" ? words.as_said[value] ?? value.replaceAll("_", " ")
      : name === "reinforced" ? `${fixed(100 * value, 0)} %` : `${Number(fixed(value, 2))} in`;
    return words.assumed[name].replace("{}", () => told);
  });

  const priced_ = (models, job, hours, asked) => {
    const c = models.constants, costs = costDraws(job, models.quote.draws, c);
    const labour = hours.mean * asked.wage, overhead = hours.mean * asked.overhead;
    const expected = labour + job.material.mean + job.other.mean + overhead + asked.allowance;
    const margin = asked.margin ?? inForce(models.firm.margin, models.as_of), atMargin = expected / (1 - margin);
    const price = asked.price ?? atMargin, refused = hours.confidence === "outside_experience";
    const sorted = Float64Array.from(costs).sort();
    return {
      labour_cost: labour, material_cost: job.material.mean, other_cost: job.other.mean, overhead,
      callback_allowance: asked.allowance, expected_cost: expected, cost_p80: sorted[Math.ceil(0.8 * c.DRAWS) - 1], margin,
      price_at_margin: refused ? null : atMargin, price: refused ? null : price,
      chance_of_loss: refused ? null : costs.filter((cost) => cost > price).length / c.DRAWS,
      crew_days: { p50: hours.p50 / models.quote.crew_hours_per_day, p90: hours.p90 / models.quote.crew_hours_per_day },
    };
  };

  const knowsSpec = (level, line) => line.spec in (level.listed[line.item] ?? {}) || line.spec in (level.paid[line.item] ?? {});

  // The costs that the book cannot tell, so that the price holds 0 for them.
  const leftOut = (models, o, lines, others) => {
    const c = models.constants, plain = (item) => item.replaceAll("_", " "), items = models.materials?.items;
    const needed = [...c.ALWAYS_NEEDED, ...(o.well_type === "none" ? [] : c.NEEDED_WITH_A_WELL)];
    const unpriced = lines.filter((line) => line.price === null).map((line) => line.item).sort();
    return [...(items ? [] : ["materials"]), ...unpriced.map((item) => `${plain(item)} (no price)`),
      ...(items ? needed.filter((item) => !(item in items)).map((item) => `${plain(item)} (never bought)`) : []),
      ...(others.length ? [] : [models.sentences.no_other_costs]),
      ...(knowsCallbacks(models) && Object.keys(models.quote.visit_usd).length ? [] : ["callbacks"])];
  };

  const gaps = (models, opening, lines) => [
    ...(opening.month > 0 ? [] : [models.sentences.no_start]),
    ...(opening.opening_work === "enlarge" && !(opening.existing_width_in && opening.existing_height_in)
      ? [models.sentences.no_old_window] : []),
    ...lines.filter((line) => line.spec && !knowsSpec(models.materials.prices, line)).map((line) =>
      [line.item, line.spec, line.item].reduce((text, part) => text.replace("{}", () => part.replaceAll("_", " ")), models.sentences.no_such_spec)),
    ...lines.filter((line) => line.price === null).map((line) => `no price known for ${line.item.replaceAll("_", " ")}: counted as $0`),
    ...(models.materials ? [] : [models.sentences.no_materials]),
    ...(knowsCallbacks(models) ? [] : [models.sentences.no_risk]),
    ...(knowsCallbacks(models) && !Object.keys(models.quote.visit_usd).length ? [models.sentences.no_visit_cost] : []),
  ];

  return { offer, truth };
})();
