"""What callbacks cost by complaint: with findings, without, again, outside the warranty; the parts add to the whole."""

from collections.abc import Mapping, Sequence
from typing import Any

from dashboards.html import Cell, Table, paragraph, table
from dashboards.parts import IF_CAUSAL, Parts, have
from dashboards.words import count, usd, word

HEADERS = (
    "Complaint",
    f"With findings, {IF_CAUSAL}",
    "No finding",
    "Again at the same opening",
    "Outside the warranty",
    "All together",
)
COSTS = ("cost_explained", "cost_not_explained", "repeat_cost", "outside_cost", "cost")
NOTE = (
    "First callbacks inside the warranty are parted into what goes with findings and the rest; later ones for the same "
    "complaint, and those before completion or after the warranty's end, stand on their own."
)


def costs_by_complaint(parts: Parts) -> str:
    """A table whose rows add up to what `callbacks` lists as cost of the complaint; nothing while nothing came back."""
    found = have(parts, "patterns")
    causes: Sequence[Mapping[str, Any]] = found["causes"] if isinstance(found, Mapping) and "causes" in found else []
    rows = [_row(total) for total in causes if _callbacks(total)]
    if not rows:
        return ""
    missing = sum(total["not_costed"] for total in causes)
    waits = f" {count(missing, 'callback is', 'callbacks are')} not costed yet, and in none of them." if missing else ""
    return paragraph(f"{NOTE}{waits}", "note") + table(Table("What callbacks cost so far, by complaint", HEADERS, rows))


def _row(total: Mapping[str, Any]) -> list[Cell]:
    return [f"{word(total['cause'])} ({_callbacks(total)})", *(usd(total[name]) for name in COSTS)]


def _callbacks(total: Mapping[str, Any]) -> int:
    return int(total["callbacks"] + total["repeat_callbacks"] + total["outside_callbacks"])
