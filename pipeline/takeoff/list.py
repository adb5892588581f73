"""The whole list for an opening: every quantity with its unit and the rule that made it."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pipeline.takeoff import dig, seal, wall_cut, well
from pipeline.takeoff.openings import Numbers, Openings, count


@dataclass(frozen=True)
class TakeOffLine:
    """One quantity of every opening: values has one number per opening, nan = a size is not recorded."""

    name: str
    unit: str
    rule: str
    values: Numbers


@dataclass(frozen=True)
class TakeOff:
    """The quantities of some openings."""

    lines: tuple[TakeOffLine, ...]

    def quantity(self, name: str) -> Numbers:
        """One value per opening of the named quantity; KeyError for a name that is not on the list."""
        for line in self.lines:
            if line.name == name:
                return line.values
        raise KeyError(name)

    def of_opening(self, index: int) -> list[dict[str, object]]:
        """The list of one opening: name, quantity (None = cannot be told), unit, rule."""
        return [
            {"name": line.name, "quantity": _or_none(line.values[index]), "unit": line.unit, "rule": line.rule}
            for line in self.lines
        ]


def _or_none(value: float) -> float | None:
    return None if value != value else float(value)


def _sloped(soil_type: str) -> Callable[[Openings], Numbers]:
    def volume(openings: Openings) -> Numbers:
        return dig.dig_volume_yd3(openings) * dig.slope_multiplier(openings, soil_type)

    return volume


def _each(openings: Openings) -> Numbers:
    return np.ones(count(openings))


_RULES: tuple[tuple[str, str, str, Callable[[Openings], Numbers]], ...] = (
    (
        "dig_volume",
        "yd3",
        "pit as wide as the well plus 24 in, out 18 in beyond it, straight down to the bottom of the dig; "
        "vertical sides, so only where they may stand or are shored",
        dig.dig_volume_yd3,
    ),
    ("dig_volume_sloped_b", "yd3", "the same pit, three sides sloped 1:1 (type B soil)", _sloped("B")),
    (
        "dig_volume_sloped_c",
        "yd3",
        "the same pit, three sides sloped 1½:1 (type C soil: the rule until a competent person says otherwise)",
        _sloped("C"),
    ),
    ("backfill", "yd3", "dig less 0.7 of the well's box, at least 0.3 yd3", dig.backfill_volume_yd3),
    ("loose_spoil", "yd3", "dig less backfill, swollen by its soil's swell", dig.loose_spoil_yd3),
    ("cut_length", "ft", "round a new opening; sides and bottom of an enlarged one", wall_cut.cut_length_ft),
    ("cut_area", "sq ft", "cut length times wall thickness", wall_cut.cut_area_sqft),
    ("removed_wall", "yd3", "rough opening less the old one, times thickness", wall_cut.removed_volume_yd3),
    ("debris_weight", "lb", "wall taken out times the weight of such a wall", wall_cut.debris_weight_lb),
    ("gasket", "ft", "one closed loop round the frame", seal.gasket_length_ft),
    ("anchors", "ea", "at most 12 in apart on each side; the maker's sheet decides", seal.anchor_count),
    ("shims", "ea", "a pair at each anchor", seal.shim_count),
    ("foam", "ft", "once round the window", seal.foam_length_ft),
    ("sealant", "ft", "one bead inside, one outside", seal.sealant_length_ft),
    ("grout", "cu ft", "½ in band round the frame, through the wall", seal.grout_volume_cuft),
    ("lintel", "ft", "rough width plus 6 in of bearing each side, where the wall is cut", seal.lintel_length_ft),
    ("opening_area", "sq ft", "rough width times rough height", seal.opening_area_sqft),
    ("well_face", "sq ft", "well width times its height (dig less 6 in unless given)", well.well_wall_area_sqft),
    ("gravel", "yd3", "6 in bed under the well; ¼ yd3 more for a gravel pit", well.gravel_yd3),
    ("drain_pipe", "ft", "from grade to the bottom of the dig", well.drain_pipe_ft),
    ("opening", "ea", "each opening is one", _each),
    ("ladder", "ea", "1 where the well is deeper than 44 in", well.ladder_count),
)


QUANTITY_UNITS = {name: unit for name, unit, _, _ in _RULES}


def take_off(openings: Openings) -> TakeOff:
    """Everything an opening needs, by geometry alone.

    in:     the columns of openings (nan or empty text = not recorded)
    out:    one line per quantity, one value per opening; nan where a size it needs is not recorded
    source: the rule on each line
    """
    return TakeOff(tuple(TakeOffLine(name, unit, rule, of(openings)) for name, unit, rule, of in _RULES))
