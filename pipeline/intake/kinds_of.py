"""What kind of record a table holds: told, named, or plain from its columns."""

from collections.abc import Sequence

from pipeline.errors import InputError, WrongUsage
from pipeline.intake.headers import Layout, layout, recognised
from pipeline.settings import Settings
from schemas.kinds import KINDS


def check_kind(kind: str | None) -> None:
    """That a kind given by hand is one there is.

    errors: WrongUsage
    """
    if kind is not None and kind not in KINDS:
        raise WrongUsage(f"there is no kind '{kind}'; the kinds are {', '.join(KINDS)}")


def header_score(cells: Sequence[str], kind: str | None, settings: Settings) -> int:
    """How many cells of a line are headings of the kind, or of the kind that they fit best."""
    return max(recognised(cells, name, settings) for name in ([kind] if kind else KINDS))


def layout_of(headers: Sequence[str], kind: str | None, settings: Settings, name: str) -> Layout:
    """The layout of a table whose kind may be known by its name.

    errors: InputError when no kind or several fit, a needed column is missing, or two columns have one name
    """
    found = layout(headers, kind or _kind_of_columns(headers, settings, name), settings)
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
    """The layout of the kind that fits best, whatever is missing; `name` is not used, nothing is refused."""
    layouts = [layout(headers, of, settings) for of in ([kind] if kind else KINDS)]
    return min(layouts, key=lambda found: (len(found.missing), -len(found.plans)))


def _kind_of_columns(headers: Sequence[str], settings: Settings, name: str) -> str:
    layouts = [layout(headers, kind, settings) for kind in KINDS]
    fitting = [found.kind for found in layouts if not found.missing]
    if len(fitting) == 1:
        return fitting[0]
    nearly = fitting or [
        f"{found.kind} (without {', '.join(found.missing)})"
        for found in sorted(layouts, key=lambda found: (len(found.missing), -len(found.plans)))[:3]
        if found.plans
    ]
    near = f"; nearly: {'; '.join(nearly)}" if nearly else ""
    raise InputError(
        f"{name}: cannot tell which kind of record this is from its name or its columns{near}; "
        f"give --kind, or begin the name with one of {', '.join(KINDS)}"
    )
