"""What the live form of the estimator's page computes with: fitted parts, settings in force, constants, no records."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from pipeline.callbacks.bands import BAND_EDGES_DAYS
from pipeline.callbacks.conditions import Node, parse
from pipeline.estimators import design, experience, intervals, item_rules, known, materials, packs, phase_model, prices
from pipeline.estimators.total_stage import total_from_plain
from pipeline.quote import build, cost_draws, draws, other_costs, similar
from pipeline.quote.cautions import EXIT_LADDER_DEPTH_IN, LINTEL_WIDTH_IN, PROTECTION_DEPTH_IN, RULES
from pipeline.quote.egress import MINIMUMS, RELIEF_BELOW_GRADE_UNVERIFIED, SECTIONS
from pipeline.quote.opening_lines import (
    ALWAYS_NEEDED,
    NEEDED_WITH_A_WELL,
    NO_MATERIALS,
    NO_OLD_WINDOW,
    NO_OTHER_COSTS,
    NO_RISK,
    NO_START,
    NO_SUCH_SPEC,
    NO_VISIT_COST,
)
from pipeline.quote.remarks import LONG_OVER_SHORT, REMARKS, RIM_ABOVE_GRADE_IN
from pipeline.takeoff import dig, phases, seal, wall_cut, well
from schemas.quote_words import ANY_CREW, AS_SAID, ASSUMED, UNKNOWN_CREW
from schemas.units import DAYS_PER_MONTH, DAYS_PER_YEAR, LEAST_CHANCE

FITTED = ("labour", "materials", "callbacks", "quote")


def page_models(fitted: Mapping[str, Any], firm: Mapping[str, Any], *, edition: str, local: Mapping[str, float]) -> Any:
    """Everything the page's script needs to give the answer that `build_quote` gives for one opening.

    in:     fitted: stored bodies by part (labour, materials, callbacks, quote; None where not fitted);
            firm: dated steps of hourly_cost, overhead, warranty and margin, each [[first day, value], …]
    out:    one JSON-able object
    """
    return {
        **{part: fitted.get(part) for part in FITTED},
        "labour": _labour(fitted.get("labour")),
        "callbacks": _risk(fitted.get("callbacks")),
        "firm": firm,
        "egress": _egress(edition, local),
        "cautions": [asdict(caution) for _, caution in RULES],
        "constants": _constants(),
        "sentences": {
            "no_materials": NO_MATERIALS,
            "no_risk": NO_RISK,
            "no_visit_cost": NO_VISIT_COST,
            "no_start": NO_START,
            "no_such_spec": NO_SUCH_SPEC,
            "no_other_costs": NO_OTHER_COSTS,
            "no_old_window": NO_OLD_WINDOW,
            "remarks": dict(REMARKS),
            "assumed": dict(ASSUMED),
            "as_said": dict(AS_SAID),
            "any_crew": ANY_CREW,
            "unknown_crew": UNKNOWN_CREW,
        },
    }


def _labour(body: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """The hours model; the doubt of its total by pairs of columns, also where an earlier fit stored it whole."""
    return None if body is None else {**body, "total": total_from_plain(body["total"]).as_plain()}


def _risk(body: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """The risk model with each pattern's condition as a tree, so that the page needs no reader of conditions."""
    if body is None:
        return None
    return {**body, "patterns": [{**term, "tree": _tree(parse(term["when"]))} for term in body["patterns"]]}


def _tree(node: Node) -> dict[str, Any]:
    return {"op": node.op, "value": node.value, "parts": [_tree(part) for part in node.parts]}


def _egress(edition: str, local: Mapping[str, float]) -> dict[str, Any]:
    limits = {name: float(value) for name, value in MINIMUMS.items()} | dict(local)
    return {
        "edition": edition,
        "limits": limits,
        "sections": {rule: by_edition[edition] for rule, by_edition in SECTIONS.items()},
        "relief_below_grade": edition in RELIEF_BELOW_GRADE_UNVERIFIED,
    }


def _constants() -> dict[str, Any]:
    """Every number the script would otherwise repeat, under the name it has in its own module."""
    return {
        **_named(dig, "WORKING_ROOM_ALONG_IN WORKING_ROOM_OUT_IN NO_WELL_EXTRA_ALONG_IN NO_WELL_OUT_IN "
                      "WELL_SHARE_OF_ITS_BOX LEAST_BACKFILL_YD3 SWELL SWELL_UNKNOWN_SOIL"),
        **_named(well, "GRAVEL_BED_IN GRAVEL_PIT_YD3 LADDER_ABOVE_DEPTH_IN"),
        **_named(seal, "ANCHOR_SPACING_IN GROUT_BAND_IN SEALANT_BEADS LINTEL_BEARING_IN SHIMS_PER_ANCHOR"),
        **_named(wall_cut, "CONCRETE_LB_PER_CUFT BRICK_LB_PER_SQFT_PER_IN STONE_LB_PER_CUFT "
                           "WOOD_FOUNDATION_LB_PER_SQFT BLOCK_THICKNESS_IN BLOCK_HOLLOW_LB_PER_SQFT "
                           "BLOCK_SOLID_LB_PER_SQFT"),
        **_named(phases, "JOB_LEVEL_PHASES PHASE_UNITS"),
        **_named(design, "WINTER_MONTHS DEEP_IN THICK_IN USUAL_THICKNESS_IN SHAPE_REMOVED_CUFT SHAPE_CUT_SQFT"),
        **_named(phase_model, "LEAST_SIZE"),
        **_named(known, "LEAST_DIG_IN USUAL_OF_KIND WITH_A_WELL WITHOUT_A_WELL"),
        **_named(intervals, "RARE_WALL RARE_WALL_SHIFT LEVERAGE_WEIGHT LEVELS"),
        **_named(experience, "FEW_LIKE_IT_FROM OUTSIDE_FROM FEWEST_JOBS_OF_A_WALL FAR_BEYOND"),
        **_named(item_rules, "ONE_EACH ONE_OR_NONE ONLY_WITH_A_WELL SHARE_CONDITION SPEC_COLUMN"),
        **_named(materials, "LIKELY"),
        **_named(packs, "DIVISION_SLACK MOST_PACKS_SUMMED"),
        **_named(prices, "LAST_PURCHASES"),
        **_named(other_costs, "Z_80"),
        **_named(cost_draws, "MOST_VISITS"),
        **_named(draws, "DRAWS"),
        **_named(build, "Z_90"),
        **_named(similar, "SIMILAR_SHOWN SIZE_APART_IN HALF WHOLE_WORDS HALF_WORDS ALWAYS_TOLD WORDS_OF"),
        "EXIT_LADDER_DEPTH_IN": EXIT_LADDER_DEPTH_IN,
        "PROTECTION_DEPTH_IN": PROTECTION_DEPTH_IN,
        "LINTEL_WIDTH_IN": LINTEL_WIDTH_IN,
        "LEAST_CHANCE": LEAST_CHANCE,
        "ALWAYS_NEEDED": ALWAYS_NEEDED,
        "NEEDED_WITH_A_WELL": NEEDED_WITH_A_WELL,
        "LONG_OVER_SHORT": LONG_OVER_SHORT,
        "RIM_ABOVE_GRADE_IN": RIM_ABOVE_GRADE_IN,
        "DAYS_PER_MONTH": DAYS_PER_MONTH,
        "DAYS_PER_YEAR": DAYS_PER_YEAR,
        "BAND_EDGES_DAYS": BAND_EDGES_DAYS[:-1].tolist(),  # the last band has no end
    }  # fmt: skip


def _named(module: Any, names: str) -> dict[str, Any]:
    return {name: getattr(module, name) for name in names.split()}
