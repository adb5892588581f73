"""What a quote assumed, as sentences: one wording for the printed sheet and for the live form."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

# column -> sentence; {} is what was put in for it
ASSUMED: Mapping[str, str] = MappingProxyType(
    {
        "wall_thickness_in": "No wall thickness given: taken as {}.",
        "depth_below_grade_in": "No depth of dig given: taken as {}.",
        "soil": "No soil given: taken as {}.",
        "dig_method": "No way of digging given: {} assumed.",
        "drain": "No drain given: taken as {}.",
        "well_width_in": "No well width given: taken as {}.",
        "well_projection_in": "No well projection given: taken as {}.",
        "reinforced": "No word on bars in the wall: {} likely.",
    }
)
ANY_CREW = "No crew given: the range allows for any."
UNKNOWN_CREW = "No finished job is by crew {}: the range allows for any."
# words that read ill after "taken as"
AS_SAID: Mapping[str, str] = MappingProxyType(
    {"hand": "by hand", "machine": "by machine", "gravel_pit": "a gravel pit", "footing_drain": "the footing drain",
     "sump": "a sump"}
)  # fmt: skip
SIZE_DIGITS = 2


def assumed_sentences(assumed: Sequence[str], values: Mapping[str, str | float], crew: str = "") -> list[str]:
    """Each assumption as a sentence to be checked with the customer or on the wall.

    in:     columns that were assumed, or whole remarks; the value put in for a column [in; share for reinforced];
            the crew that was asked for, "" when none was
    """
    return [_sentence(name, values, crew) for name in assumed]


def _sentence(name: str, values: Mapping[str, str | float], crew: str) -> str:
    if name == "crew":
        return UNKNOWN_CREW.format(crew) if crew else ANY_CREW
    if name not in values:
        return f"{name[:1].upper()}{name[1:]}."
    return ASSUMED[name].format(_told(name, values[name]))


def _told(name: str, value: str | float) -> str:
    if isinstance(value, str):
        return AS_SAID.get(value, value.replace("_", " "))
    return f"{100 * value:.0f} %" if name == "reinforced" else f"{round(value, SIZE_DIGITS):g} in"
