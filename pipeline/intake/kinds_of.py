"""What kind of record a table holds: told, named, or plain from its columns."""

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.errors import InputError, WrongUsage
from pipeline.intake.guesses import score
from pipeline.intake.headers import Layout, layout, recognised
from pipeline.settings import Settings
from schemas.kinds import KINDS

NEARLY_NAMED = 3  # kinds that a refusal names
FEWEST_ALIKE = 2  # headings as offices write them, from which on a table is said to look like a kind


@dataclass(frozen=True)
class KindChoice:
    """The kind of a table; where nothing tells it, the likeliest, and why it cannot be told."""

    kind: str
    doubt: str = ""


def check_kind(kind: str | None) -> None:
    """That a kind given by hand is one there is.

    errors: WrongUsage
    """
    if kind is not None and kind not in KINDS:
        raise WrongUsage(f"there is no kind '{kind}'; the kinds are {', '.join(KINDS)}")


def header_score(cells: Sequence[str], kind: str | None, settings: Settings) -> int:
    """How many cells of a line are headings of the kind, or of the kind that they fit best."""
    return max(recognised(cells, name, settings) for name in ([kind] if kind else KINDS))


def chosen_kind(headers: Sequence[str], told: str | None, settings: Settings) -> KindChoice:
    """The one decision about a table's kind: told (by hand or by a name), else the only kind that its columns fit."""
    if told:
        return KindChoice(told)
    layouts = sorted(
        (layout(headers, kind, settings) for kind in KINDS), key=lambda found: (len(found.missing), -len(found.plans))
    )
    fitting = [found for found in layouts if not found.missing]
    if len(fitting) == 1:
        return KindChoice(fitting[0].kind)
    nearly = [found.kind for found in fitting] or [
        f"{found.kind} (without {', '.join(found.missing)})" for found in layouts[:NEARLY_NAMED] if found.plans
    ]
    near = f"; nearly: {'; '.join(nearly)}" if nearly else ""
    alike = None if fitting else _most_alike(headers, settings)
    if alike not in (None, layouts[0].kind) or not nearly:
        near = f"; its headings look most like {alike}" if alike else ""
    return KindChoice(
        alike or layouts[0].kind,
        f"cannot tell which kind of record this is from its name or its columns{near}; "
        f"give --kind, or begin the name with one of {', '.join(KINDS)}",
    )


def _most_alike(headers: Sequence[str], settings: Settings) -> str | None:
    """The one kind whose headings, as offices write them, a table has most of; None when it is no more than chance."""
    scores = {kind: score(headers, kind, settings) for kind in KINDS}
    best = max(scores.values())
    kinds = [kind for kind, found in scores.items() if found == best]
    return kinds[0] if best >= FEWEST_ALIKE and len(kinds) == 1 else None


def layout_of(headers: Sequence[str], kind: str | None, settings: Settings, name: str) -> Layout:
    """The layout of a table, its kind told or plain from its columns.

    errors: InputError when no kind or several fit, a needed column is missing, or two columns have one name
    """
    choice = chosen_kind(headers, kind, settings)
    if choice.doubt:
        raise InputError(f"{name}: {choice.doubt}")
    found = layout(headers, choice.kind, settings)
    shown = ", ".join(header.strip() for header in headers if header.strip()) or "nothing"
    faults = [f"{name}: column {column} stands twice; leave one of them" for column in found.repeated]
    if found.missing:
        words = "column" if len(found.missing) == 1 else "columns"
        verb = "is" if len(found.missing) == 1 else "are"
        faults.append(
            f"{name}: {words} {', '.join(found.missing)} {verb} missing; the header reads: {shown}; "
            f"rename a column, or name it in [headers.{found.kind}] of the settings"
        )
    if faults:
        raise InputError("\n".join(faults))
    return found


def likeliest_layout(headers: Sequence[str], kind: str | None, settings: Settings, name: str) -> Layout:
    """The layout of the kind chosen, doubtful or not, whatever is missing; `name` is not used, nothing is refused."""
    return layout(headers, chosen_kind(headers, kind, settings).kind, settings)
