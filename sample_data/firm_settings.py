"""The settings file the invented firm keeps beside its records."""

from __future__ import annotations

from sample_data.truth import FIRST_DAY, OVERHEAD, QUOTE_MARGIN, STANDARD_WAGE, TORQUE_LIMIT_LBFT, WARRANTY_MONTHS

LABOUR_HEADINGS = {"entry_id": "Ticket", "job_id": "Job No", "opening_id": "Opening", "worked_on": "Date",
                   "worker_id": "Who", "phase": "Task", "hours": "Man Hours", "hourly_cost": "Rate"}
MATERIAL_HEADINGS = {"line_id": "Line", "job_id": "Job No", "opening_id": "Opening", "item": "What",
                     "spec": "Size or model", "quantity": "Qty", "unit": "Per", "unit_cost": "Price each",
                     "bought_on": "Bought"}
WALL_WORDS = {"poured_concrete": "poured", "concrete_block": "block", "stone": "fieldstone"}
PHASE_WORDS = {"excavation": "dig", "wall_cutting": "saw", "cleanup": "haul away"}
LIMITS = (("anchor_torque_max_lbft", "max", TORQUE_LIMIT_LBFT, "the anchor maker's sheet of this invented firm"),
          ("anchor_count", "min", 8, "the smallest frame has eight holes"),
          ("frame_bow_in", "max", 0.0625, "house rule of this invented firm"),
          ("plumb_error_in", "max", 0.125, "house rule of this invented firm"),
          ("diagonal_difference_in", "max", 0.25, "house rule of this invented firm"),
          ("gasket_gap_in", "max", 0, "no break is allowed"),
          ("substrate_temp_f", "min", 40, "the tape maker's sheet of this invented firm"))


def _dated(name: str, by_year: dict[int, float]) -> list[str]:
    """A setting that changes on 1 January, written only where it changes."""
    years = sorted(by_year)
    changes = [y for y in years if y == years[0] or by_year[y] != by_year[y - 1]]
    since = {y: FIRST_DAY if y == years[0] else f"{y}-01-01" for y in changes}
    steps = [f"    {{ from = {since[y]}, value = {by_year[y]} }}," for y in changes]
    return [f"{name} = [", *steps, "]"]


def _renames(section: str, ours_to_theirs: dict[str, str]) -> list[str]:
    return [f"[{section}]", *(f'"{theirs}" = "{ours}"' for ours, theirs in ours_to_theirs.items()), ""]


def settings_text() -> str:
    """The whole of areaway.toml."""
    limits = [f"{name} = {{ {side} = {value} }}  # {why}" for name, side, value, why in LIMITS]
    lines = ["# Settings of the invented firm of the sample scenario.", "", "[firm]",
             *_dated("overhead_per_labour_hour", OVERHEAD), *_dated("standard_hourly_cost", STANDARD_WAGE),
             f"target_margin = {QUOTE_MARGIN}", f"warranty_months = {WARRANTY_MONTHS}", "",
             "[limits]", *limits, "", *_renames("headers.labour", LABOUR_HEADINGS),
             *_renames("headers.materials", MATERIAL_HEADINGS), *_renames("words.wall_type", WALL_WORDS),
             *_renames("words.phase", PHASE_WORDS)]
    return "\n".join(lines)
