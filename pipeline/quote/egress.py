"""Escape-opening and well checks of the residential model code, by edition; never a clearance."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from pipeline.errors import InputError
from schemas.units import SQUARE_INCHES_PER_SQUARE_FOOT

PASS, FAIL, CANNOT_TELL = "pass", "fail", "cannot_tell"
UNIT_SLIP_IN = Decimal(240)  # house rule: a clear dimension over 20 ft is a slip of units

# International Residential Code, emergency escape and rescue openings (section numbers below). Inch-pound figures.
MINIMUMS: Mapping[str, Decimal] = {
    "clear_area_ft2": Decimal("5.7"),
    "grade_floor_clear_area_ft2": Decimal("5.0"),
    "clear_height_in": Decimal(24),
    "clear_width_in": Decimal(20),
    "sill_above_floor_in": Decimal(44),  # at most
    "grade_floor_band_in": Decimal(44),  # at most, above or below grade
    "well_area_ft2": Decimal(9),
    "well_width_in": Decimal(36),
    "well_projection_in": Decimal(36),
    "ladder_above_depth_in": Decimal(44),  # a ladder is needed when deeper
}
OLD = ("2006", "2009", "2012")
MIDDLE = ("2015", "2018")
RELIEF_BELOW_GRADE_UNVERIFIED = MIDDLE  # these editions may also relieve openings below grade: from memory, verify


def _sections(old: str, middle: str, y2021: str, y2024: str) -> dict[str, str]:
    return dict.fromkeys(OLD, old) | dict.fromkeys(MIDDLE, middle) | {"2021": y2021, "2024": y2024}


SECTIONS: Mapping[str, Mapping[str, str]] = {
    "clear_area": _sections("R310.1.1", "R310.2.1", "R310.2.1", "R319.2.1"),
    "clear_height": _sections("R310.1.2", "R310.2.1", "R310.2.2", "R319.2.2"),
    "clear_width": _sections("R310.1.3", "R310.2.1", "R310.2.2", "R319.2.2"),
    "sill_height": _sections("R310.1", "R310.2.2", "R310.2.3", "R319.2.3"),
    "well_needed": _sections("R310.2", "R310.2.3", "R310.4", "R319.4"),
    "well_area": _sections("R310.2", "R310.2.3", "R310.4.1", "R319.4.1"),
    "well_size": _sections("R310.2", "R310.2.3", "R310.4.1", "R319.4.1"),
    "ladder": _sections("R310.2.1", "R310.2.3.1", "R310.4.2", "R319.4.2"),
    "well_drain": _sections("R310.2.2", "R310.2.3.2", "R310.4.3", "R319.4.3"),
}


@dataclass(frozen=True)
class EgressCheck:
    """One rule held against one opening; value and limit in the unit the rule's name ends with."""

    rule: str
    value: float | None
    limit: float | None
    result: str
    section: str
    edition: str
    note: str


@dataclass(frozen=True)
class _Code:
    edition: str
    limits: Mapping[str, Decimal]

    def check(self, rule: str, section: str, value: Decimal | None, limit: str | None, **outcome: str) -> EgressCheck:
        """One finding with its section; `outcome` is result and note."""
        shown = None if value is None else float(value)
        figure = None if limit is None else float(self.limits[limit])
        result, note = outcome["result"], outcome.get("note", "")
        return EgressCheck(rule, shown, figure, result, SECTIONS[section][self.edition], self.edition, note)


def egress_checks(
    opening: Mapping[str, Any], *, edition: str, local: Mapping[str, float] | None = None
) -> list[EgressCheck]:
    """What the model code asks of this window and its well, and whether the given sizes meet it.

    in:     one opening with the columns of the openings record; clear sizes are the window's own net clear
            opening, never the rough opening; `local` replaces figures of MINIMUMS by name
    out:    one finding per rule: pass, fail, or cannot_tell when a size was not given
    errors: InputError for an unknown local figure or a clear size that must be a slip of units
    source: International Residential Code, sections named per finding; limits inclusive, the ladder rule strict
    """
    code = _Code(edition, _limits(local or {}))
    sizes = {name: _decimal(opening.get(name)) for name in _SIZES}
    _refuse_unit_slips(sizes)
    window = [_clear_area(code, sizes), *_clear_sides(code, sizes), _sill(code, sizes)]
    return [*window, *_well(code, sizes, opening)]


_SIZES = (
    "clear_width_in",
    "clear_height_in",
    "sill_above_floor_in",
    "sill_below_grade_in",
    "well_width_in",
    "well_projection_in",
    "well_depth_in",
)


def _limits(local: Mapping[str, float]) -> dict[str, Decimal]:
    unknown = sorted(set(local) - set(MINIMUMS))
    if unknown:
        figures = ", ".join(MINIMUMS)
        raise InputError(f"[codes] {', '.join(unknown)} is no figure of the code; the figures are {figures}")
    return {**MINIMUMS, **{name: Decimal(str(value)) for name, value in local.items()}}


def _decimal(value: Any) -> Decimal | None:
    if value is None or value != value:  # NaN is not equal to itself
        return None
    return Decimal(str(value))


def _refuse_unit_slips(sizes: Mapping[str, Decimal | None]) -> None:
    for name in ("clear_width_in", "clear_height_in"):
        size = sizes[name]
        if size is not None and size > UNIT_SLIP_IN:
            raise InputError(f"{name} is {size}; more than {UNIT_SLIP_IN} in looks like a slip of units: give inches")


def _clear_area(code: _Code, sizes: Mapping[str, Decimal | None]) -> EgressCheck:
    width, height = sizes["clear_width_in"], sizes["clear_height_in"]
    if width is None or height is None:
        return code.check(
            "clear_area_ft2",
            "clear_area",
            None,
            "clear_area_ft2",
            result=CANNOT_TELL,
            note="the window's net clear opening was not given",
        )
    area_in2 = width * height
    area_ft2 = area_in2 / SQUARE_INCHES_PER_SQUARE_FOOT
    limit, result, note = _area_verdict(code, area_in2, sizes["sill_below_grade_in"])
    return code.check("clear_area_ft2", "clear_area", area_ft2, limit, result=result, note=note)


def _area_verdict(code: _Code, area_in2: Decimal, below_grade_in: Decimal | None) -> tuple[str, str, str]:
    full = code.limits["clear_area_ft2"] * SQUARE_INCHES_PER_SQUARE_FOOT
    relieved = code.limits["grade_floor_clear_area_ft2"] * SQUARE_INCHES_PER_SQUARE_FOOT
    if area_in2 >= full:
        return "clear_area_ft2", PASS, ""
    if below_grade_in is None:
        result = CANNOT_TELL if area_in2 >= relieved else FAIL
        return "clear_area_ft2", result, "the smaller minimum holds only near grade; the sill's depth was not given"
    if abs(below_grade_in) <= code.limits["grade_floor_band_in"]:
        return "grade_floor_clear_area_ft2", PASS if area_in2 >= relieved else FAIL, "grade-floor opening"
    if code.edition in RELIEF_BELOW_GRADE_UNVERIFIED and area_in2 >= relieved:
        note = "this edition may allow the smaller minimum below grade: ask the building official"
        return "clear_area_ft2", CANNOT_TELL, note
    return "clear_area_ft2", FAIL, "not a grade-floor opening"


def _clear_sides(code: _Code, sizes: Mapping[str, Decimal | None]) -> list[EgressCheck]:
    return [
        _at_least(code, "clear_height_in", "clear_height", sizes["clear_height_in"]),
        _at_least(code, "clear_width_in", "clear_width", sizes["clear_width_in"]),
    ]


def _at_least(code: _Code, rule: str, section: str, size: Decimal | None) -> EgressCheck:
    if size is None:
        return code.check(rule, section, None, rule, result=CANNOT_TELL, note="not given")
    return code.check(rule, section, size, rule, result=PASS if size >= code.limits[rule] else FAIL)


def _sill(code: _Code, sizes: Mapping[str, Decimal | None]) -> EgressCheck:
    rule = "sill_above_floor_in"
    size = sizes[rule]
    if size is None:
        return code.check(rule, "sill_height", None, rule, result=CANNOT_TELL, note="not given")
    return code.check(rule, "sill_height", size, rule, result=PASS if size <= code.limits[rule] else FAIL)


def _well(code: _Code, sizes: Mapping[str, Decimal | None], opening: Mapping[str, Any]) -> list[EgressCheck]:
    if opening.get("well_type") in (None, "", "none"):
        return [_well_needed(code, sizes["sill_below_grade_in"])]
    width, projection = sizes["well_width_in"], sizes["well_projection_in"]
    return [
        _well_area(code, width, projection),
        _at_least(code, "well_width_in", "well_size", width),
        _at_least(code, "well_projection_in", "well_size", projection),
        _ladder(code, sizes["well_depth_in"]),
        _drain(code, opening),
    ]


def _well_needed(code: _Code, below_grade_in: Decimal | None) -> EgressCheck:
    if below_grade_in is None:
        result, note = CANNOT_TELL, "no well; whether one is needed depends on the sill's depth below grade"
    elif below_grade_in > 0:
        result, note = FAIL, "the opening's bottom is below grade, so a well is needed"
    else:
        result, note = PASS, "not below grade: no well needed"
    return code.check("well_needed", "well_needed", below_grade_in, None, result=result, note=note)


def _well_area(code: _Code, width: Decimal | None, projection: Decimal | None) -> EgressCheck:
    rule = "well_area_ft2"
    if width is None or projection is None:
        return code.check(rule, "well_area", None, rule, result=CANNOT_TELL, note="well size not given")
    area_in2 = width * projection
    area_ft2 = area_in2 / SQUARE_INCHES_PER_SQUARE_FOOT
    enough = area_in2 >= code.limits[rule] * SQUARE_INCHES_PER_SQUARE_FOOT
    return code.check(rule, "well_area", area_ft2, rule, result=PASS if enough else FAIL)


def _ladder(code: _Code, depth_in: Decimal | None) -> EgressCheck:
    rule, limit = "ladder_needed_at_well_depth_in", "ladder_above_depth_in"
    if depth_in is None:
        note = "the finished well's depth was not given (the dig is deeper than the well)"
        return code.check(rule, "ladder", None, limit, result=CANNOT_TELL, note=note)
    if depth_in > code.limits[limit]:
        note = "a permanently fixed ladder or steps is required; see that one is ordered"
        return code.check(rule, "ladder", depth_in, limit, result=CANNOT_TELL, note=note)
    return code.check(rule, "ladder", depth_in, limit, result=PASS, note="no ladder required at this depth")


def _drain(code: _Code, opening: Mapping[str, Any]) -> EgressCheck:
    result, note = _drain_verdict(opening.get("drain"), opening.get("soil"))
    return code.check("well_drained", "well_drain", None, None, result=result, note=note)


def _drain_verdict(drain: str | None, soil: str | None) -> tuple[str, str]:
    if drain == "footing_drain":
        return PASS, "piped to the foundation drain"
    if drain in ("gravel_pit", "sump"):
        return CANNOT_TELL, "an alternative to the foundation drain needs the building official's approval"
    if drain != "none":
        return CANNOT_TELL, "drain not given"
    if soil == "sand_gravel":
        return CANNOT_TELL, "no drain: allowed only in well-drained soil; the building official decides"
    return FAIL, "no drain, and the soil is not known to drain well"
