// Escape-opening and well checks by edition of the model code, and the safety cautions; never a clearance.
"use strict";

const areawayChecks = (() => {
  const { given, fixed } = areawayQuote;
  const PASS = "pass", FAIL = "fail", CANNOT_TELL = "cannot_tell";
  const FINE = 1e5; // sizes are compared in whole hundred-thousandths of an inch, so that limits are exact
  const SQIN_PER_SQFT = 144;
  const fine = (size) => Math.round(size * FINE);
  const fineArea = (sqft) => Math.round(sqft * SQIN_PER_SQFT * FINE) * FINE;

  // --- the model code -------------------------------------------------------------------------------------------

  const egressChecks = (code, o) => {
    const check = (rule, section, value, limit, result, note = "") => ({
      rule, value, limit: limit === null ? null : code.limits[limit], result, note,
      section: code.sections[section], edition: code.edition,
    });
    const atLeast = (rule, section) => (given(o[rule])
      ? check(rule, section, o[rule], rule, fine(o[rule]) >= fine(code.limits[rule]) ? PASS : FAIL)
      : check(rule, section, null, rule, CANNOT_TELL, "not given"));
    return [clearArea(code, o, check), atLeast("clear_height_in", "clear_height"), atLeast("clear_width_in", "clear_width"),
      sill(code, o, check), ...wellChecks(code, o, check, atLeast)];
  };

  const clearArea = (code, o, check) => {
    const rule = "clear_area_ft2", near = "grade_floor_clear_area_ft2";
    if (!given(o.clear_width_in) || !given(o.clear_height_in)) {
      return check(rule, "clear_area", null, rule, CANNOT_TELL, "the window's net clear opening was not given");
    }
    const area = fine(o.clear_width_in) * fine(o.clear_height_in), value = o.clear_width_in * o.clear_height_in / SQIN_PER_SQFT;
    const relieved = area >= fineArea(code.limits[near]);
    const told = (limit, result, note) => check(rule, "clear_area", value, limit, result, note);
    if (area >= fineArea(code.limits[rule])) return told(rule, PASS, "");
    if (!given(o.sill_below_grade_in)) {
      return told(rule, relieved ? CANNOT_TELL : FAIL, "the smaller minimum holds only near grade; the sill's depth was not given");
    }
    if (fine(Math.abs(o.sill_below_grade_in)) <= fine(code.limits.grade_floor_band_in)) {
      return told(near, relieved ? PASS : FAIL, "grade-floor opening");
    }
    if (code.relief_below_grade && relieved) {
      return told(rule, CANNOT_TELL, "this edition may allow the smaller minimum below grade: ask the building official");
    }
    return told(rule, FAIL, "not a grade-floor opening");
  };

  const sill = (code, o, check) => {
    const rule = "sill_above_floor_in";
    if (!given(o[rule])) return check(rule, "sill_height", null, rule, CANNOT_TELL, "not given");
    return check(rule, "sill_height", o[rule], rule, fine(o[rule]) <= fine(code.limits[rule]) ? PASS : FAIL);
  };

  const wellChecks = (code, o, check, atLeast) => {
    if (o.well_type === "none" || o.well_type === "") return [wellNeeded(o, check)];
    return [wellArea(code, o, check), atLeast("well_width_in", "well_size"), atLeast("well_projection_in", "well_size"),
      ladder(code, o, check), check("well_drained", "well_drain", null, null, ...drained(o))];
  };

  const wellNeeded = (o, check) => {
    const depth = o.sill_below_grade_in, told = (result, note) =>
      check("well_needed", "well_needed", given(depth) ? depth : null, null, result, note);
    if (!given(depth)) return told(CANNOT_TELL, "no well; whether one is needed depends on the sill's depth below grade");
    return depth > 0 ? told(FAIL, "the opening's bottom is below grade, so a well is needed")
      : told(PASS, "not below grade: no well needed");
  };

  const wellArea = (code, o, check) => {
    const rule = "well_area_ft2";
    if (!given(o.well_width_in) || !given(o.well_projection_in)) {
      return check(rule, "well_area", null, rule, CANNOT_TELL, "well size not given");
    }
    const enough = fine(o.well_width_in) * fine(o.well_projection_in) >= fineArea(code.limits[rule]);
    return check(rule, "well_area", o.well_width_in * o.well_projection_in / SQIN_PER_SQFT, rule, enough ? PASS : FAIL);
  };

  const ladder = (code, o, check) => {
    const rule = "ladder_needed_at_well_depth_in", limit = "ladder_above_depth_in", depth = o.well_depth_in;
    const told = (value, result, note) => check(rule, "ladder", value, limit, result, note);
    if (!given(depth)) return told(null, CANNOT_TELL, "the finished well's depth was not given (the dig is deeper than the well)");
    return fine(depth) > fine(code.limits[limit])
      ? told(depth, CANNOT_TELL, "a permanently fixed ladder or steps is required; see that one is ordered")
      : told(depth, PASS, "no ladder required at this depth");
  };

  const drained = (o) => {
    if (o.drain === "footing_drain") return [PASS, "piped to the foundation drain"];
    if (o.drain === "gravel_pit" || o.drain === "sump") {
      return [CANNOT_TELL, "an alternative to the foundation drain needs the building official's approval"];
    }
    if (o.drain !== "none") return [CANNOT_TELL, "drain not given"];
    return o.soil === "sand_gravel"
      ? [CANNOT_TELL, "no drain: allowed only in well-drained soil; the building official decides"]
      : [FAIL, "no drain, and the soil is not known to drain well"];
  };

  // --- cautions: what is not recorded counts as present -------------------------------------------------------------

  const digs = (o) => o.dig_method !== "none";
  const cuts = (o) => o.opening_work !== "replace";
  const size = (o, name) => (given(o[name]) ? o[name] : 0);
  const widens = (o) => o.opening_work === "new_cut"
    || (o.opening_work === "enlarge" && size(o, "rough_width_in") > size(o, "existing_width_in"));
  const asDeepAs = (o, depth) => digs(o) && (!given(o.depth_below_grade_in) || o.depth_below_grade_in >= depth);
  const masonry = ["concrete_block", "brick", "stone"];

  const applies = {
    "buried lines": digs,
    "way out of the dig": (o, c) => asDeepAs(o, c.EXIT_LADDER_DEPTH_IN),
    "cave-in": (o, c) => asDeepAs(o, c.PROTECTION_DEPTH_IN),
    "edge of the dig": digs,
    "silica dust": (o) => cuts(o) && ["poured_concrete", ...masonry].includes(o.wall_type),
    "load above the opening": widens,
    "reinforcing bars": (o) => cuts(o) && o.reinforced !== false
      && (o.reinforced === true || ["poured_concrete", "concrete_block"].includes(o.wall_type)),
    lintel: (o, c) => cuts(o) && masonry.includes(o.wall_type) && size(o, "rough_width_in") >= c.LINTEL_WIDTH_IN,
    "header over a taller opening": (o) => o.opening_work === "enlarge" && !widens(o),
    "engine fumes": cuts,
    "weight of the piece": cuts,
    "open edge": (o) => digs(o) || !["", "none"].includes(o.well_type),
    "old paint and insulation": () => true,
    "escape window": () => true,
  };

  const cautionsFor = (models, o) => models.cautions.filter((caution) => applies[caution.topic](o, models.constants));

  // --- what contradicts itself in what was asked: remarked on, not refused ------------------------------------------

  const remarksOn = (models, o) => {
    const c = models.constants, found = [], depth = size(o, "depth_below_grade_in"), sill = size(o, "sill_below_grade_in");
    const say = (name, ...told) => found.push(told.reduce((text, one) => text.replace("{}", () => one), models.sentences.remarks[name]));
    const inches = (...sizes) => sizes.map((one) => `${Number(fixed(one, 2))} in`);
    if (o.dig_method !== "none") {
      if (sill > depth && depth > 0) say("deep_sill", ...inches(sill, depth));
    } else if (cuts(o)) {
      if (depth > 0) say("no_dig_depth", ...inches(depth));
      else if (o.well_type !== "none") say("no_dig_well");
    }
    const well = size(o, "well_depth_in"), width = size(o, "well_width_in"), hole = o.rough_width_in, high = o.rough_height_in;
    if (o.well_type === "none") {
      if (!["", "none"].includes(o.drain)) say("lonely_drain");
    } else {
      if (depth > 0 && well > depth + c.RIM_ABOVE_GRADE_IN) say("deep_well", ...inches(well, depth));
      if (width > 0 && width < hole) say("narrow_well", ...inches(width, hole));
    }
    if (Math.max(hole, high) > c.LONG_OVER_SHORT * Math.min(hole, high)) say("sides", ...inches(hole, high));
    if (o.start && o.start < models.as_of) say("past", o.start, models.as_of);
    return found;
  };

  return { egressChecks, cautionsFor, remarksOn };
})();
