"""The invented firm of the reserve study as the files a real one would hand in, and its answers by command."""

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import polars as pl

from schemas.vocab import DRAIN, SOIL, WALL_TYPE
from tests.recovery.callback_files import STATION, asked, ingest
from tests.recovery.reserve_world import World

LABOUR_SHARE = 0.7  # of a visit's cost; invented, the reserve adds both up again


def answer(world: World, command: str) -> Any:
    """What `areaway COMMAND --json` says of a firm once its files are taken in."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        write_files(world, folder / "records")
        ingest(folder)
        return asked(folder, str(world.as_of), command)


def write_files(world: World, folder: Path) -> None:
    """jobs, openings and callbacks as CSV; a visit not closed yet has no cost and nobody's fault named."""
    folder.mkdir(parents=True)
    _jobs(world).write_csv(folder / "jobs.csv")
    _openings(world).write_csv(folder / "openings.csv")
    _callbacks(world).write_csv(folder / "callbacks.csv")
    (folder / "areaway.toml").write_text("")


def _jobs(world: World) -> pl.DataFrame:
    return world.openings.unique("job_id", keep="first", maintain_order=True).select(
        "job_id",
        "crew",
        "completed_on",
        started_on=pl.col("completed_on").dt.offset_by("-3d"),
        contract_price=pl.lit(5_000),
        warranty_months=pl.col("months_of_warranty").cast(pl.Int64),
        weather_station=pl.lit(STATION),
    )


def _openings(world: World) -> pl.DataFrame:
    named = {
        column: world.openings[column].replace_strict({f"{word} {i}": name for i, name in enumerate(names)})
        for column, word, names in (
            ("wall_type", "wall", WALL_TYPE),
            ("soil", "soil", SOIL),
            ("drain", "drain", DRAIN),
        )
    }
    return world.openings.select(
        "opening_id",
        "job_id",
        pl.col("depth_below_grade_in").round(1),
        rough_width_in=pl.lit(48.0),
        rough_height_in=pl.lit(48.0),
        opening_work=pl.lit("new_cut"),
        well_type=pl.lit("steel"),
        **named,
    )


def _callbacks(world: World) -> pl.DataFrame:
    gross = pl.col("gross_cost").fill_nan(None)
    return world.visits.with_row_index("number").select(
        "opening_id",
        "complaint",
        "reported_on",
        callback_id=pl.format("C{}", "number"),
        closed_on="costed_on",
        labour_cost=(LABOUR_SHARE * gross).round(2),
        material_cost=((1 - LABOUR_SHARE) * gross).round(2),
        recovered=pl.when("settled").then(pl.col("recovered").round(2)),
        warranty=pl.when("settled").then("counts"),
    )
