"""`areaway withdraw`: a batch taken back."""

from typing import Annotated

import typer

from pipeline.cli.options import AsJson
from pipeline.cli.text import common, finish, progress, table


def withdraw(
    ctx: typer.Context,
    batch: Annotated[
        str, typer.Argument(metavar="BATCH", help="Number of the batch; areaway info --batches lists them.")
    ],
    as_json: AsJson = False,
) -> None:
    """Take a batch back: the book then equals one that never received it."""
    from pipeline.errors import WrongUsage
    from pipeline.runs.withdraw import withdraw_

    if not batch.isdecimal():
        raise WrongUsage(f"BATCH is '{batch}'; it must be the number of a batch; areaway info --batches lists them")
    book, settings = common(ctx)
    files = withdraw_(book, settings, int(batch), progress=progress)
    stays = [file for file in files if file["still_here_with_batch"] is not None]
    lines = [
        f"Batch {batch} is taken back.",
        *table(["file", "kind", "rows"], [[file["path"], file["kind"], file["rows"]] for file in files]),
        *(
            f"{file['path']} came again with batch {file['still_here_with_batch']}, so its rows are still in the book."
            for file in stays
        ),
    ]
    finish(files, as_json, lines)
