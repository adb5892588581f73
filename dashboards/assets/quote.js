// The arithmetic of a quote for one opening: the same sums as the command `areaway quote`, from the same fitted parts.
// An opening is an object named like the openings columns: words ("" = not given), sizes in inches (null = not given),
// reinforced (true, false, null); then crew ("" = not known), month of the start (0 = not known), start ("" or ISO day).
"use strict";

const areawayQuote = (() => {
  const IN_PER_FT = 12, SQIN_PER_SQFT = 144, CUIN_PER_CUFT = 1728, CUIN_PER_YD3 = 46656;
  const sum = (values) => values.reduce((whole, value) => whole + value, 0);
  const given = (value) => value !== null && value !== undefined && !Number.isNaN(value);
  const each = (object, of) => Object.fromEntries(Object.entries(object).map(([key, value]) => [key, of(value, key)]));
  const dot = (x, effects) => sum(x.map((value, at) => value * effects[at]));
  // A number in words; an exact half goes to the even digit, as the command writes it.
  const fixed = (value, digits) => {
    const scaled = value * 10 ** digits, whole = Math.floor(scaled);
    const tie = scaled - whole === 0.5 && Number.isInteger(value * 8);
    return tie ? ((whole + whole % 2) / 10 ** digits).toFixed(digits) : value.toFixed(digits);
  };
  const quadratic = (x, V) => sum(x.map((value, at) => (value ? value * dot(x, V[at]) : 0)));
  // The same where each pair of columns is given once, at the earlier one, and only if an opening can have both.
  const byPair = (x, V) => sum(x.map((value, at) => (value ? value * sum(Object.entries(V[at]).map(([other, both]) =>
    (Number(other) === at ? 1 : 2) * both * x[other])) : 0)));

  // --- sizes as they are read off the tape ------------------------------------------------------------------------

  const INCHES = { '"': 1, in: 1, inch: 1, inches: 1, "'": 12, ft: 12, foot: 12, feet: 12, yd: 36, yds: 36,
    yard: 36, yards: 36, mm: 1 / 25.4, cm: 1 / 2.54, m: 100 / 2.54 };
  for (const end of ["meter", "metre"])
    for (const [head, per] of [["milli", 1 / 25.4], ["centi", 1 / 2.54], ["", 100 / 2.54]])
      INCHES[head + end] = INCHES[`${head}${end}s`] = per;
  const PLAIN = /^(\d+([.,]\d+)*|[.,]\d+)$/, FRACTION = /^(?:(.*?\S)[\s-]+)?(\d+)\s*\/\s*(\d+)$/;

  // 1,200 and 1,200.5 have thousands; 48,5 has a decimal comma
  const decimal = (text) => {
    if (!PLAIN.test(text)) return NaN;
    if (/^[1-9]\d{0,2}(,\d{3})+(\.\d+)?$/.test(text)) return Number(text.replaceAll(",", ""));
    return Number((text.lastIndexOf(",") > text.indexOf(".") && text.includes(".") ? text.replaceAll(".", "") : text).replace(",", "."));
  };

  const mixed = (text) => {
    const parts = text.match(FRACTION);
    return parts ? (parts[1] ? decimal(parts[1]) : 0) + Number(parts[2]) / Number(parts[3]) : decimal(text);
  };

  // 54 1/2, 54½, 4' 6 1/2", 4 ft 6 in, 138 cm: all as inches; not a number where a size cannot be read
  const inches = (text) => {
    const plain = text.replace(/[\u00bc-\u00be\u2150-\u215e]/g, (part) => ` ${part.normalize("NFKC")}`)
      .replaceAll("\u2044", "/").replace(/[\u2212–—]/g, "-")
      .replace(/[’‘′´]/g, "'").replace(/[”“″]|''/g, '"').toLowerCase().trim();
    const sign = plain.startsWith("-") ? -1 : 1, size = plain.replace(/^[+-]\s*/, "");
    const feet = size.match(/^([^'a-z]+?)\s*(?:'|ft\.?|feet|foot)\s*-?\s*([.,]?\d.*?)\s*(?:"|in\.?|inch|inches)?$/);
    if (feet) {
      const beside = mixed(feet[2]);
      return beside < IN_PER_FT ? sign * (IN_PER_FT * mixed(feet[1]) + beside) : NaN;
    }
    const single = size.match(/^([^'"a-z]+?)\s*(?:(['"]|[a-z]+)\.?)?$/);
    return single ? sign * mixed(single[1]) * (INCHES[single[2] ?? "in"] ?? NaN) : NaN;
  };

  // --- what was not given ---------------------------------------------------------------------------------------

  const filledIn = (opening, defaults, c) => {
    const o = { ...opening };
    for (const side of ["width", "height"]) {
      const name = `existing_${side}_in`;
      const old = given(o[name]) ? o[name] : 0;
      o[name] = o.opening_work === "replace" && !(old > 0) ? o[`rough_${side}_in`] : old;
    }
    o.reinforced = given(o.reinforced) ? Number(o.reinforced) : null;
    const ofWall = (table) => table[o.wall_type] ?? table[""];
    const kind = `${o.opening_work}${o.well_type === "none" ? c.WITHOUT_A_WELL : c.WITH_A_WELL}`;
    const usualWord = (name) => defaults.words_of_kind?.[name]?.[kind] ?? c.USUAL_OF_KIND[kind]?.[name] ?? defaults.words[name];
    const overHeight = defaults.depth_over_height_of_kind_in?.[kind] ?? defaults.depth_over_height_in;
    const assumptions = [
      ...Object.keys(defaults.words).map((name) => [name, o[name] === "", usualWord(name)]),
      ["wall_thickness_in", !given(o.wall_thickness_in), ofWall(defaults.wall_thickness_in)],
      ["depth_below_grade_in", !given(o.depth_below_grade_in),
        Math.max(o.rough_height_in + overHeight, c.LEAST_DIG_IN)],
      ["well_width_in", !given(o.well_width_in), o.rough_width_in + defaults.well_over_width_in],
      ["well_projection_in", !given(o.well_projection_in), defaults.well_projection_in],
      ["reinforced", !given(o.reinforced), ofWall(defaults.reinforced)],
    ];
    const assumed = [];
    for (const [name, gap, value] of assumptions) {
      if (!gap) continue;
      if (gapMatters(name, o)) assumed.push(name);
      o[name] = value;
    }
    return { filled: o, assumed };
  };

  const gapMatters = (name, o) => {
    if (name === "soil" || name === "depth_below_grade_in") return o.dig_method !== "none" || o.well_type !== "none";
    if (["well_width_in", "well_projection_in", "drain"].includes(name)) return o.well_type !== "none";
    if (name === "wall_thickness_in" || name === "reinforced") return o.opening_work !== "replace";
    return true;
  };

  // --- take-off: geometry only ----------------------------------------------------------------------------------

  const takeOff = (o, c) => {
    const hasWell = o.well_type !== "none", digs = o.dig_method !== "none", cuts = o.opening_work !== "replace";
    const fromDig_in = Math.max(o.depth_below_grade_in - c.GRAVEL_BED_IN, 0);
    const wellHeight_in = !hasWell ? 0 : given(o.well_depth_in) ? o.well_depth_in : fromDig_in;
    const wellPlan = hasWell ? o.well_width_in * o.well_projection_in : 0;
    const along = hasWell ? o.well_width_in + c.WORKING_ROOM_ALONG_IN : o.rough_width_in + c.NO_WELL_EXTRA_ALONG_IN;
    const out = hasWell ? o.well_projection_in + c.WORKING_ROOM_OUT_IN : c.NO_WELL_OUT_IN;
    const dig = digs ? along * out * o.depth_below_grade_in / CUIN_PER_YD3 : 0;
    const wellVolume = wellPlan * fromDig_in / CUIN_PER_YD3;
    const backfill = digs ? Math.max(dig - c.WELL_SHARE_OF_ITS_BOX * wellVolume, c.LEAST_BACKFILL_YD3) : 0;
    const swell = c.SWELL[o.soil] ?? c.SWELL_UNKNOWN_SOIL;
    const perimeter = 2 * (o.rough_width_in + o.rough_height_in) / IN_PER_FT;
    const beside = o.rough_width_in > o.existing_width_in ? 2 * o.existing_height_in : 0;
    const enlarged = 2 * Math.max(o.rough_height_in - o.existing_height_in, 0) + o.rough_width_in + beside;
    const around = o.opening_work === "new_cut" ? 2 * (o.rough_width_in + o.rough_height_in) : enlarged;
    const cutLength = cuts ? around / IN_PER_FT : 0;
    const area = o.rough_width_in * o.rough_height_in / SQIN_PER_SQFT;
    const removed = Math.max(area - o.existing_width_in * o.existing_height_in / SQIN_PER_SQFT, 0);
    const anchors = 2 * (Math.ceil(o.rough_width_in / c.ANCHOR_SPACING_IN) + Math.ceil(o.rough_height_in / c.ANCHOR_SPACING_IN));
    const band = 2 * (o.rough_width_in + o.rough_height_in) * c.GROUT_BAND_IN;
    const removedCuft = removed * o.wall_thickness_in / IN_PER_FT;
    return {
      dig_volume: dig, backfill, loose_spoil: Math.max(dig - backfill, 0) * (1 + swell),
      cut_length: cutLength, cut_area: cutLength * o.wall_thickness_in / IN_PER_FT, removed_cuft: removedCuft,
      removed_wall: removedCuft / (CUIN_PER_YD3 / CUIN_PER_CUFT), debris_weight: removed * wallWeight(o, c),
      gasket: perimeter, anchors, shims: c.SHIMS_PER_ANCHOR * anchors, foam: perimeter, sealant: c.SEALANT_BEADS * perimeter,
      grout: band * o.wall_thickness_in / CUIN_PER_CUFT,
      lintel: cuts ? (o.rough_width_in + 2 * c.LINTEL_BEARING_IN) / IN_PER_FT : 0, opening_area: area,
      well_face: hasWell ? o.well_width_in * wellHeight_in / SQIN_PER_SQFT : 0,
      gravel: wellPlan * c.GRAVEL_BED_IN / CUIN_PER_YD3 + (o.drain === "gravel_pit" ? c.GRAVEL_PIT_YD3 : 0),
      drain_pipe: o.drain === "none" ? 0 : o.depth_below_grade_in / IN_PER_FT,
      opening: 1, ladder: wellHeight_in > c.LADDER_ABOVE_DEPTH_IN ? 1 : 0,
    };
  };

  const between = (at, places, values) => {
    if (at <= places[0]) return values[0];
    if (at >= places[places.length - 1]) return values[values.length - 1];
    const next = places.findIndex((place) => place >= at);
    const share = (at - places[next - 1]) / (places[next] - places[next - 1]);
    return values[next - 1] + share * (values[next] - values[next - 1]);
  };

  const wallWeight = (o, c) => {
    const t = o.wall_thickness_in;
    if (o.wall_type === "poured_concrete") return c.CONCRETE_LB_PER_CUFT * t / IN_PER_FT;
    if (o.wall_type === "brick") return c.BRICK_LB_PER_SQFT_PER_IN * t;
    if (o.wall_type === "stone") return c.STONE_LB_PER_CUFT * t / IN_PER_FT;
    if (o.wall_type === "wood_foundation") return c.WOOD_FOUNDATION_LB_PER_SQFT;
    const weights = o.reinforced > 0 ? c.BLOCK_SOLID_LB_PER_SQFT : c.BLOCK_HOLLOW_LB_PER_SQFT;
    return between(t, c.BLOCK_THICKNESS_IN, weights);
  };

  // --- hours ----------------------------------------------------------------------------------------------------

  const phaseQuantities = (t, o) => ({
    setup: 1, excavation: t.dig_volume, wall_cutting: t.cut_area, frame_setting: t.gasket,
    window_setting: t.opening_area, well_setting: t.well_face, drainage: o.depth_below_grade_in / IN_PER_FT,
    backfill: t.backfill, cleanup: t.removed_cuft, travel: 1,
  });

  const canBe = (phase, o) => {
    if (phase === "wall_cutting") return o.opening_work !== "replace";
    if (phase === "excavation" || phase === "backfill") return o.dig_method !== "none";
    if (phase === "well_setting") return o.well_type !== "none";
    return phase !== "drainage" || o.drain !== "none";
  };

  const featuresOf = (o, t, c) => {
    const words = {
      wall_type: o.wall_type, opening_work: o.opening_work, soil: o.soil, dig_method: o.dig_method,
      well_type: o.well_type, drain: o.drain, soil_if_machine: o.dig_method === "machine" ? o.soil : "",
      crew: o.crew, crew_and_wall: o.crew === "" ? "" : `${o.crew} on ${o.wall_type}`,
    };
    const winter = o.month > 0 ? Number(c.WINTER_MONTHS.includes(o.month)) : c.WINTER_MONTHS.length / 12;
    const numbers = {
      one: 1, winter, deep: Number(o.depth_below_grade_in > c.DEEP_IN), log_m: 0, log_m_hand: 0, log_m_machine: 0,
      reinforced: o.reinforced, log_thickness: Math.log(o.wall_thickness_in / c.USUAL_THICKNESS_IN),
      thick: Number(o.wall_thickness_in > c.THICK_IN),
      removed_shape: Math.log((t.removed_cuft + c.SHAPE_REMOVED_CUFT) / (t.cut_area + c.SHAPE_CUT_SQFT)),
    };
    return { words, numbers };
  };

  const row = (columns, features, numbers) => columns.map((column) => {
    if (column.word && features.words[column.word] !== column.level) return 0;
    return numbers[column.number] ?? 0; // a change of the past counts 0: today's level
  });

  const relativeSize = (quantity, fitted, c) => {
    const ratio = quantity / fitted.typical_quantity, share = fitted.setup_share;
    return share === 0 ? Math.log(Math.max(ratio, c.LEAST_SIZE)) : Math.log((ratio + share) / (1 + share));
  };

  const phaseHours = (labour, o, t, features, c) => {
    const quantities = phaseQuantities(t, o);
    return each(labour.phases, (fitted, phase) => {
      if (!canBe(phase, o)) return { can: false, mean: 0, doubt: 0, x: [], quantity: 0 };
      const x = row(fitted.columns, features, { ...features.numbers, size: relativeSize(quantities[phase], fitted, c) });
      const mean = Math.exp(dot(x, fitted.effects)) * fitted.smearing;
      return { can: true, mean, doubt: quadratic(x, fitted.V), x, quantity: quantities[phase] };
    });
  };

  const totalCorrection = (model, features, phases) => {
    const whole = sum(Object.values(phases).map((phase) => phase.mean));
    const mix = each(model.centres, (centre, name) => {
      const value = name === "log_total" ? Math.log(whole) : (phases[name.slice("share ".length)]?.mean ?? 0) / whole;
      return value - centre;
    });
    const x = row(model.columns, features, { ...features.numbers, ...mix });
    return { whole, x, correction: dot(x, model.effects), doubt: byPair(x, model.V) };
  };

  const knowsCrew = (model, crew) => model.columns.some((column) => column.word === "crew" && column.level === crew);

  const logSd = (labour, phases, total, o, c) => {
    const spread = labour.spread, share = (phase) => phase.mean / total.whole;
    const listed = Object.entries(phases);
    const own = sum(listed.map(([name, phase]) => (share(phase) * labour.phases[name].noise_sd) ** 2));
    const doubt = sum(listed.map(([, phase]) => share(phase) ** 2 * phase.doubt)) + total.doubt;
    const anyCrew = doubt + (knowsCrew(labour.total, o.crew) ? 0 : labour.total.unknown_crew_variance);
    const rare = 1 + c.RARE_WALL / ((spread.wall_jobs[o.wall_type] ?? 0) + c.RARE_WALL_SHIFT);
    const wall = (spread.wall_ratio[o.wall_type] ?? 1) * rare;
    return { doubt, sd: Math.sqrt(spread.scale * (spread.base + own) * wall + c.LEVERAGE_WEIGHT * anyCrew) };
  };

  const hoursOf = (models, o, t, assumed) => {
    const labour = models.labour, c = models.constants, spread = labour.spread;
    const features = featuresOf(o, t, c), phases = phaseHours(labour, o, t, features, c);
    const total = totalCorrection(labour.total, features, phases);
    const { doubt, sd } = logSd(labour, phases, total, o, c);
    const p50 = total.whole * Math.exp(total.correction);
    const mean = p50 * Math.exp(0.5 * spread.residual_variance * sd ** 2 / spread.mean_variance);
    const bounds = each(c.LEVELS, (level, name) => {
      const sign = name === "p90" || name === "p95" ? 1 : -1;
      return p50 * Math.exp(sign * spread.multipliers[String(level)] * sd);
    });
    const standing = standingOf(labour, o, doubt / spread.residual_variance, { assumed, c });
    if (!knowsCrew(labour.total, o.crew)) assumed.push("crew");
    return { mean, p50, ...bounds, phases: phaseLines(labour, phases, total, features, mean, c), ...standing };
  };

  const phaseLines = (labour, phases, total, features, mean, c) => {
    const drawn = each(phases, (phase, name) => phase.mean * (c.JOB_LEVEL_PHASES.includes(name) ? 1 : Math.exp(total.correction)));
    const whole = sum(Object.values(drawn)), h = labour.spread.multipliers["0.8"], lines = [];
    for (const [name, phase] of Object.entries(phases)) {
      const fitted = labour.phases[name], hours = drawn[name] * (1 - labour.other_share) * mean / whole;
      if (!(hours > 0)) continue;
      const reach = Math.exp(h * Math.sqrt(fitted.noise_sd ** 2 + phase.doubt)), median = hours / fitted.smearing;
      lines.push({ phase: name, mean: hours, p10: median / reach, p90: median * reach,
        why: whyHours(name, hours, fitted, phase, labour.total, features, c) });
    }
    const other = labour.other_share * mean, [low, high] = labour.other_range ?? [0, labour.other_share];
    const ranged = (share) => other * (share / labour.other_share);
    return other > 0 ? [...lines, { phase: "other", mean: other, p10: ranged(low), p90: ranged(high), why: "" }] : lines;
  };

  // hours = rate × (quantity + set-up) × adjustments
  const whyHours = (name, hours, fitted, phase, total, features, c) => {
    const factors = {};
    fitted.columns.forEach((column, at) => {
      if (!phase.x[at] || column.group === "rate" || column.group === "size") return;
      const named = (column.level || column.group).replaceAll("_", " ");
      factors[named] = (factors[named] ?? 0) + phase.x[at] * fitted.effects[at];
    });
    if (!c.JOB_LEVEL_PHASES.includes(name)) {
      const crew = features.words.crew, pace = total.columns.map((column, at) =>
        (["crew", "crew_and_wall"].includes(column.word) && features.words[column.word] === column.level ? total.effects[at] : 0));
      if (crew) factors[crew.toLowerCase().startsWith("crew") ? crew : `crew ${crew}`] = sum(pace);
    }
    const kept = Object.entries(factors).map(([word, log]) => [word, Math.exp(log)]).filter(([, f]) => Math.abs(f - 1) >= 0.005);
    const setup = fitted.setup_share * fitted.typical_quantity, unit = c.PHASE_UNITS[name];
    const rate = hours / ((phase.quantity + setup) * kept.reduce((whole, [, factor]) => whole * factor, 1));
    const size = setup ? `(${fixed(phase.quantity, 1)} + ${fixed(setup, 1)} set-up)` : fixed(phase.quantity, 1);
    const adjusted = kept.map(([word, factor]) => ` × ${word} ${fixed(factor, 2)}`).join("");
    return `${fixed(rate, 2)} h/${unit} × ${size} ${unit}${adjusted}`;
  };

  // --- has the firm done one like this? --------------------------------------------------------------------------

  const sizeMatters = (name, o) => {
    if (name === "wall_thickness_in") return o.opening_work !== "replace";
    if (name === "depth_below_grade_in") return o.dig_method !== "none";
    return !name.startsWith("well_") || o.well_type !== "none";
  };

  const standingOf = (labour, o, leverage, { assumed, c }) => {
    const seen = labour.experience, outside = [];
    let far = leverage > c.OUTSIDE_FROM, few = leverage > c.FEW_LIKE_IT_FROM || seen.openings === 0;
    const judge = (name, within, isFar) => {
      if (!sizeMatters(name, o) || assumed.includes(name)) return; // what was put in for a gap is no fact
      if (!within) outside.push(name);
      few ||= !within;
      far ||= isFar;
    };
    for (const [name, [low, high]] of Object.entries(seen.sizes)) {
      const size = name === "openings_in_job" ? 1 : o[name];
      judge(name, size >= low && size <= high, size < low / c.FAR_BEYOND || size > high * c.FAR_BEYOND);
    }
    for (const [name, jobs] of Object.entries(seen.jobs_with)) judge(name, o[name] in jobs, !(o[name] in jobs));
    few ||= ((seen.jobs_with.wall_type ?? {})[o.wall_type] ?? 0) < c.FEWEST_JOBS_OF_A_WALL;
    const worst = labour.starter ? "few_like_it" : "outside_experience";
    return { confidence: far ? worst : few ? "few_like_it" : "ok", out_of_range: outside };
  };

  return { sum, given, each, fixed, inches, filledIn, takeOff, hoursOf };
})();
