"""Options that several commands share: the day they answer as of, and their answer as JSON."""

from typing import Annotated

import typer

AsOf = Annotated[
    str | None,
    typer.Option(
        "--as-of", metavar="DATE", help="Answer as of this day, as 2026-03-31; the newest record's day if left out."
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON document.")]
