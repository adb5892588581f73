"""Safety cautions a job calls for, each with the authority to defer to; never a clearance that work is safe."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

Opening = Mapping[str, Any]

EXIT_LADDER_DEPTH_IN = 48  # OSHA 29 CFR 1926.651(c)(2): 4 ft or more
PROTECTION_DEPTH_IN = 60  # OSHA 29 CFR 1926.652(a): 5 ft or more
LINTEL_WIDTH_IN = 24  # masonry openings 2 ft or wider, International Residential Code as summarised by a masonry text
DUSTY_WALLS = ("poured_concrete", "concrete_block", "brick", "stone")
MASONRY_WALLS = ("concrete_block", "brick", "stone")
WALLS_WITH_BARS = ("poured_concrete", "concrete_block")  # counted as reinforced until someone has looked


@dataclass(frozen=True)
class Caution:
    """What to mind, and who decides."""

    topic: str
    text: str
    authority: str


def _number(opening: Opening, name: str) -> float:
    value = opening.get(name)
    return 0.0 if value is None or value != value else float(value)


def _as_deep_as(opening: Opening, depth_in: float) -> bool:
    """Whether the dig is, or for all that was said may be, that deep."""
    given = opening.get("depth_below_grade_in")
    return _digs(opening) and (given is None or given != given or float(given) >= depth_in)


def _may_have_bars(opening: Opening) -> bool:
    if not _cuts(opening) or opening.get("reinforced") in (False, 0):
        return False
    return opening.get("reinforced") in (True, 1) or opening.get("wall_type") in WALLS_WITH_BARS


def _digs(opening: Opening) -> bool:
    return opening.get("dig_method") != "none"


def _cuts(opening: Opening) -> bool:
    return opening.get("opening_work") != "replace"


def _widens(opening: Opening) -> bool:
    if opening.get("opening_work") == "new_cut":
        return True
    wider = _number(opening, "rough_width_in") > _number(opening, "existing_width_in")
    return opening.get("opening_work") == "enlarge" and wider


def _only_taller(opening: Opening) -> bool:
    return opening.get("opening_work") == "enlarge" and not _widens(opening)


def _wide_masonry(opening: Opening) -> bool:
    wide = _number(opening, "rough_width_in") >= LINTEL_WIDTH_IN
    return _cuts(opening) and opening.get("wall_type") in MASONRY_WALLS and wide


RULES: tuple[tuple[Callable[[Opening], bool], Caution], ...] = (
    (_digs, Caution(
        "buried lines",
        "Have buried utilities located and marked before anyone digs (call 811), wait for the marks, and dig by hand "
        "close to them. Waiting time and hand-dig width are set by the state.",
        "state one-call law; 49 CFR 196.103; OSHA 29 CFR 1926.651(b)")),
    (lambda o: _as_deep_as(o, EXIT_LADDER_DEPTH_IN), Caution(
        "way out of the dig",
        "A dig 4 ft deep or more: a ladder, stair or ramp within 25 ft of every worker.",
        "OSHA 29 CFR 1926.651(c)(2)")),
    (lambda o: _as_deep_as(o, PROTECTION_DEPTH_IN), Caution(
        "cave-in",
        "A dig 5 ft deep or more: slope, shore or shield it. A competent person decides which, and treats soil "
        "beside a foundation as disturbed ground. The hours here are for straight sides: sloped ones are more to dig.",
        "OSHA 29 CFR 1926.652(a)")),
    (_digs, Caution(
        "edge of the dig",
        "Keep spoil and machines 2 ft back, have a competent person look at the dig each day and after rain; any "
        "sign of movement calls for protection at any depth.",
        "OSHA 29 CFR 1926.651(j), (k)")),
    (lambda o: _cuts(o) and o.get("wall_type") in DUSTY_WALLS, Caution(
        "silica dust",
        "Cut wet or with dust collection; indoors, or over 4 h outdoors, respirators may be needed. A wall saw is "
        "not among the tasks of Table 1: its exposure must be assessed.",
        "OSHA 29 CFR 1926.1153")),
    (_widens, Caution(
        "load above the opening",
        "The wall above must be carried before it is cut: header or lintel designed, temporary shoring, permit. Many "
        "building departments want an engineer's letter for a foundation cut.",
        "local building official; licensed structural engineer")),
    (_may_have_bars, Caution(
        "reinforcing bars",
        "Find out whether there are bars in the wall: cutting them changes what it can carry. Ask the engineer first.",
        "licensed structural engineer (from memory, verify)")),
    (_wide_masonry, Caution(
        "lintel",
        "A masonry opening 2 ft wide or more needs a lintel with enough bearing at both ends.",
        "residential code, masonry chapter; local building official")),
    (_only_taller, Caution(
        "header over a taller opening",
        "The width stays, so the header may serve: still have it confirmed.",
        "local building official")),
    (_cuts, Caution(
        "engine fumes",
        "No gasoline saw, mixer or generator in the basement or the well: carbon monoxide reaches deadly levels in "
        "minutes even with windows and a fan. Use electric or hydraulic tools and wear an alarm.",
        "NIOSH publication 96-118")),
    (_cuts, Caution(
        "weight of the piece",
        "The cut piece weighs hundreds of pounds: section it, lift it with machines, keep everyone out of where it "
        "can fall.",
        "NIOSH publication 94-110")),
    (lambda o: _digs(o) or o.get("well_type") not in (None, "", "none"), Caution(
        "open edge",
        "Cover or fence the well and the dig whenever nobody is at work in them.",
        "local building official; OSHA 29 CFR 1926.501(b)(7)")),
    (lambda o: True, Caution(
        "old paint and insulation",
        "In a house built before 1980 have asbestos and lead looked for before anything is disturbed.",
        "EPA; OSHA (from memory, verify)")),
    (lambda o: True, Caution(
        "escape window",
        "The model code is law only as adopted and amended where the house stands; the checks here are no approval.",
        "authority having jurisdiction")),
)  # fmt: skip


def cautions(opening: Opening) -> list[Caution]:
    """The cautions this opening calls for, in the order of the work.

    in:     one opening with the columns of the openings record; what is not recorded counts as present
    source: the authority named in each caution
    """
    return [caution for applies, caution in RULES if applies(opening)]
