"""`areaway demo`: the whole job in one command."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.text import progress

if TYPE_CHECKING:
    from pipeline.runs.demo import Demo


def demo(
    out: Annotated[
        Path, typer.Option(metavar="FOLDER", help="Folder for the sample firm's records, book and pages.")
    ] = Path("areaway-demo"),
) -> None:
    """Make an invented firm's book and its pages; your own book and settings are not touched."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # small matrices: threads would only wait for one another
    from pipeline.runs.demo import demo_

    for line in lines(demo_(out, progress=progress)):
        print(line)


def lines(result: "Demo") -> Iterator[str]:
    """The answer as a person reads it."""
    yield "An invented firm, eight years of work. What its records say:"
    yield from (f"  • {sentence}" for sentence in result["summary"])
    yield ""
    yield f"Open in a browser:  {result['first_page']}"
    yield f"The pages:          {', '.join(result['pages'][1:])}"
    options = f"--book {result['book']} --settings {result['records']}/areaway.toml"
    yield f"Ask the book:       areaway {options} margins --by wall_type"
