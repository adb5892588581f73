"""The built-in patterns as data: name, sentence, causes it is plausible for, and the condition that makes it present.

To add one, add an entry to CATALOGUE. `when` is written in the grammar of the settings file. Where a reading has a
limit, `{limit}` stands for the firm's own limit from its settings, else for `limit`, the usual one; where neither
exists, the pattern is the outer fifth of the firm's own readings of `measure`, cut at a reading that was taken so that
the share is as near to a fifth as they allow, and its sentence says so.
Usual limits: common practice, no source, unless a comment names one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.conditions import Node, parse
from pipeline.callbacks.facts import Facts
from pipeline.callbacks.truth import measured, truth
from pipeline.errors import InputError
from schemas.vocab import CAUSES

OUTER_SHARE = 0.2  # "the outer fifth of our own readings": house rule
UNEVEN_SHARE = 1 / 3  # torque uneven by more than a third of the limit: common practice, no source
MIN_READINGS = 20  # house rule: below that the outer fifth of one's own readings is a handful

Limits = Mapping[str, tuple[float | None, float | None]]
"""The firm's own limits: reading -> (least, most), either may be missing."""


@dataclass(frozen=True)
class Pattern:
    """A yes/no fact about how or when an opening was set.

    reading:        the reading the pattern is about, whose limit `{limit}` stands for
    side:           'max' when a high reading is a finding, 'min' when a low one is
    measure:        what the outer fifth is taken of, where there is no limit
    consequence_of: a pattern that brings this one about; this one is then the same finding, not a second cause
    own:            the firm's, from its settings
    """

    name: str
    text: str
    causes: tuple[str, ...]
    when: str
    reading: str = ""
    side: str = "max"
    limit: float | None = None
    measure: str = ""
    consequence_of: str = ""
    own: bool = False


LEAK, FIT, DRAINAGE = CAUSES

CATALOGUE: tuple[Pattern, ...] = (
    Pattern(
        "gasket_gap", "the seal behind the frame was broken", (LEAK,),
        "gasket_gap_in > {limit}", "gasket_gap_in", limit=0.0,
    ),
    Pattern(
        "squeeze_out_short", "butyl did not show all the way round", (LEAK,),
        "squeeze_out <> 'full'",
    ),
    Pattern(
        "high_spots_left", "high spots or old membrane were left under the frame", (LEAK,),
        "not high_spots_removed",
    ),
    Pattern("set_wet", "the wall was visibly wet", (LEAK,), "substrate_wet"),
    Pattern(
        "set_cold", "the wall was colder than {limit} °F", (LEAK,),
        # 40 °F is a common lower limit for sealants, from memory
        "substrate_temp_f < {limit}", "substrate_temp_f", "min", 40.0,
    ),
    Pattern("set_in_winter", "it was set in December to February", (LEAK,), "setting_month in (12, 1, 2)"),
    Pattern(
        "rain_that_day", "more than {limit} in of rain fell on the setting day", (LEAK,),
        "precipitation_in > {limit}", "precipitation_in", limit=0.1,
    ),
    Pattern("frost_that_day", "it froze on the setting day", (LEAK,), "temp_min_f < 32"),
    Pattern("hot_that_day", "the setting day reached 90 °F", (LEAK,), "temp_max_f >= 90"),
    Pattern("grout_missing", "there was no grout band behind the frame", (LEAK,), "not grout_band"),
    Pattern("head_open", "the head did not bear on the frame", (FIT,), "head_bearing = 'open'"),
    Pattern("foam_missing", "the foam did not go all round", (FIT,), "not foam_complete"),
    Pattern(
        "over_torque", "an anchor was tightened beyond {limit} lbft", (FIT,),
        "anchor_torque_max_lbft > {limit}", "anchor_torque_max_lbft",
        measure="anchor_torque_max_lbft",
    ),
    Pattern(
        "torque_uneven", "anchor torques lay more than {limit} lbft apart", (FIT,),
        "anchor_torque_max_lbft - anchor_torque_min_lbft > {limit}", "anchor_torque_max_lbft",
        measure="anchor_torque_max_lbft - anchor_torque_min_lbft",
    ),
    Pattern(
        "too_few_anchors", "fewer than {limit} anchors were set", (FIT,),
        "anchor_count < {limit}", "anchor_count", "min",
        measure="anchor_count / (rough_width_in + rough_height_in)",
    ),
    Pattern(
        "frame_bow", "the frame bowed inward by more than {limit} in", (FIT,),
        # 1/16 in: one window maker's published guide
        "frame_bow_in > {limit}", "frame_bow_in", limit=0.0625, consequence_of="over_torque",
    ),
    Pattern(
        "diagonals_apart", "the diagonals were more than {limit} in apart", (FIT,),
        # 1/4 in for units above 20 square feet: one window maker's published guide
        "diagonal_difference_in > {limit}", "diagonal_difference_in", limit=0.25,
    ),
    Pattern(
        "out_of_plumb", "the frame was more than {limit} in out of plumb or level", (FIT,),
        # 1/8 in on 4 ft or longer: one window maker's published guide
        "plumb_error_in > {limit}", "plumb_error_in", limit=0.125,
    ),
    Pattern(
        "reveal_uneven", "the reveal was uneven by more than 1/8 in", (FIT,),
        "reveal_max_in - reveal_min_in > 0.125",
    ),
    Pattern("no_drain", "there was no drain under the well", (DRAINAGE, LEAK), "drain = 'none'"),
    Pattern(
        "gravel_only_in_tight_soil", "only gravel drained a well in clay or hardpan", (DRAINAGE,),
        "drain = 'gravel_pit' and soil in ('clay', 'hardpan')",
    ),
    Pattern("drain_slow", "water poured into the well did not run away", (DRAINAGE, LEAK), "not drain_flow_ok"),
    Pattern("tight_soil", "the soil was clay or hardpan", (DRAINAGE,), "soil in ('clay', 'hardpan')"),
    Pattern(
        "deep_dig", "the dig was deeper than {limit} in", (DRAINAGE, LEAK),
        "depth_below_grade_in > {limit}", "depth_below_grade_in", limit=60.0,
    ),
    Pattern(
        "well_low", "the well reached less than 6 in below the sill", (DRAINAGE, LEAK),
        "well_depth_in - sill_below_grade_in < 6",
    ),
    Pattern("timber_well", "the well was built of timber", (DRAINAGE,), "well_type = 'timber'"),
    Pattern("masonry_well", "the well was built of masonry", (DRAINAGE,), "well_type = 'masonry'"),
    Pattern("wide_opening", "the opening was wider than 60 in", (FIT,), "rough_width_in > 60"),
)  # fmt: skip


@dataclass(frozen=True)
class Ready:
    """A pattern with its limit put in: what to print and the condition to try."""

    pattern: Pattern
    text: str
    when: str
    tree: Node

    def present(self, facts: Facts, rows: int) -> NDArray[np.float64]:
        """1 present, 0 absent, nan not recorded; one per row."""
        return truth(self.tree, facts, rows)


def ready_patterns(limits: Limits, facts: Facts, rows: int, *, own: Sequence[Pattern] = ()) -> list[Ready]:
    """The catalogue and the firm's own patterns with limits put in; an own pattern replaces a built-in of its name.

    errors: InputError naming the pattern whose condition or cause cannot be used
    """
    replaced = {pattern.name for pattern in own}
    built_in = [pattern for pattern in CATALOGUE if pattern.name not in replaced]
    return [_ready(pattern, limits, facts, rows) for pattern in (*built_in, *own)]


def own_pattern(name: str, text: str, causes: Sequence[str], when: str) -> Pattern:
    """A pattern from the settings file.

    errors: InputError with the name, for a cause that is none or a condition beyond the grammar
    """
    unknown = [cause for cause in causes if cause not in CAUSES]
    if unknown or not causes:
        given = ", ".join(unknown) or "none"
        raise InputError(f"pattern '{name}': causes may be {', '.join(CAUSES)}; given: {given}")
    try:
        parse(when)
    except InputError as fault:
        raise InputError(f"pattern '{name}': {fault}") from fault
    return Pattern(name, text, tuple(causes), when, own=True)


def _ready(pattern: Pattern, limits: Limits, facts: Facts, rows: int) -> Ready:
    limit = _limit_of(pattern, limits)
    if "{limit}" not in pattern.when:
        return Ready(pattern, pattern.text, pattern.when, parse(pattern.when))
    if limit is not None:
        shown = pattern.text.replace("{limit}", f"{limit:.3g}")
        when = pattern.when.replace("{limit}", f"{limit:.10g}")
        return Ready(pattern, shown, when, parse(when))
    return _outer_fifth(pattern, facts, rows)


def _limit_of(pattern: Pattern, limits: Limits) -> float | None:
    """The firm's limit on the pattern's side, else the usual one."""
    least, most = limits.get(pattern.reading, (None, None))
    own = most if pattern.side == "max" else least
    if pattern.name == "torque_uneven":
        return None if own is None else own * UNEVEN_SHARE
    return pattern.limit if own is None else own


def _outer_fifth(pattern: Pattern, facts: Facts, rows: int) -> Ready:
    """The pattern as the outer fifth of the firm's own readings; never recorded while they cannot be parted."""
    readings = measured(parse_number(pattern.measure), facts, rows)
    readings = readings[np.isfinite(readings)]
    what, high = FIFTH_WORDS[pattern.name], pattern.side == "max"
    if len(readings) < MIN_READINGS or readings.min() == readings.max():
        why = f"too few or too much alike, {len(readings)} so far, at least {MIN_READINGS} are needed"
        return Ready(pattern, f"{what} (no limit is set, and our own readings are {why})", "null", parse("null"))
    cut, share = outer_cut(readings, high=high)
    beyond = f"highest {100 * share:.0f} %, {cut:.3g} lbft or more" if high else f"lowest {100 * share:.0f} %"
    text = f"{what} (the {'top' if high else 'lowest'} fifth of our own readings: the {beyond}; no limit is set)"
    when = f"{pattern.measure} {'>=' if high else '<='} {np.format_float_positional(cut)}"
    return Ready(pattern, text, when, parse(when))


def outer_cut(readings: NDArray[np.float64], *, high: bool) -> tuple[float, float]:
    """The reading at or beyond which the share of all is nearest to a fifth, and that share; never all of them.

    in:     readings: at least two that differ; high: whether beyond means above
    """
    taken, counts = np.unique(readings if high else -readings, return_counts=True)
    shares = counts[::-1].cumsum()[::-1][1:] / counts.sum()
    at = int(np.abs(shares - OUTER_SHARE)[::-1].argmin())  # of two as near, the smaller share
    cut = float(taken[::-1][at])
    return (cut if high else -cut), float(shares[::-1][at])


FIFTH_WORDS: Mapping[str, str] = {
    "over_torque": "an anchor was tightened more than usual",
    "torque_uneven": "anchor torques lay further apart than usual",
    "too_few_anchors": "fewer anchors were set for the size of the frame than usual",
}


def parse_number(expression: str) -> Node:
    """An arithmetic expression on columns: read as one side of a comparison."""
    return parse(f"({expression}) >= 0").parts[0]
