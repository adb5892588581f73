"""`inspect`: how each column of new files is understood, and a settings file to begin with."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from pipeline.errors import InputError
from pipeline.intake.find import find_files
from pipeline.intake.headers import check_settings
from pipeline.intake.kinds_of import check_kind
from pipeline.intake.read import Terms
from pipeline.intake.starting_settings import starting_settings
from pipeline.intake.understanding import Look, look, understood
from pipeline.settings import Settings
from schemas.batch import FileRead
from schemas.results_intake import InspectResult


def inspect_(paths: Sequence[Path], settings: Settings, out: Path, *, kind: str | None = None) -> InspectResult:
    """Look at files without taking them in, and write a starting settings file.

    in:     out: where the settings go; a file that is there is left alone and the new one stands beside it
    errors: WrongUsage, InputError naming every file that cannot be opened
    """
    check_kind(kind)
    check_settings(settings)
    terms = Terms(kind, settings, date.today())
    looks: list[Look | FileRead] = []
    faults = []
    for found in find_files(paths).files:
        try:
            looks += look(found, terms)
        except InputError as fault:
            faults.append(str(fault))
    if faults:
        raise InputError("\n".join(faults))
    place = out.with_name(f"{out.stem}.new{out.suffix}") if out.exists() else out
    result = understood(looks, terms)
    _write(place, starting_settings(result.files, result.words))
    return InspectResult(files=result.files, settings_path=str(place))


def _write(place: Path, text: str) -> None:
    try:
        place.write_text(text, encoding="utf-8")
    except OSError as error:
        raise InputError(f"{place} cannot be written: {error.strerror}; give another place with --out") from error
