"""An invented firm written as the files a real one would hand in, and taken through the command line."""

import contextlib
import io
import json
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.callbacks.facts import CHECK_FACTS, OPENING_FACTS
from pipeline.cli.main import main
from tests.recovery.callback_world import AS_OF, World

STATION = "ZZQ00000009"


def write_files(world: World, folder: Path) -> None:
    """jobs, openings, install_checks, weather, labour (the setting days) and callbacks as CSV, and the settings."""
    folder.mkdir(parents=True)
    facts = world.facts
    jobs = world.jobs.with_columns(
        started_on=pl.col("completed_on").dt.offset_by("-3d"),
        contract_price=pl.lit(5_000),
        weather_station=pl.lit(STATION),
    )
    opening_columns = [name for name in facts.columns if name in OPENING_FACTS]
    cards = facts.filter(pl.col("checked_on").is_not_null()).with_columns(pl.col("anchor_count").cast(pl.Int64))
    weather = facts.select(
        station_id=pl.lit(STATION),
        observed_on="setting_day",
        temp_min_f="temp_min_f",
        temp_max_f="temp_max_f",
        precipitation_in="precipitation_in",
    ).unique(subset="observed_on", keep="first")
    labour = facts.unique(subset="job_id", keep="first").select(
        entry_id=pl.col("job_id"),
        job_id="job_id",
        worked_on="setting_day",
        phase=pl.lit("frame_setting"),
        hours=pl.lit(2),
    )
    files = {
        "jobs": jobs,
        "openings": facts.select(opening_columns).with_columns(opening_work=pl.lit("new_cut")),
        "install_checks": cards.select("opening_id", *(name for name in CHECK_FACTS if name in cards.columns)),
        "weather": weather,
        "labour": labour,
        "callbacks": world.callbacks,
    }
    for kind, frame in files.items():
        frame.write_csv(folder / f"{kind}.csv")
    limit = f"[limits]\nanchor_torque_max_lbft = {{ max = {world.torque_limit_lbft} }}\n"
    (folder / "areaway.toml").write_text(limit)


def through_the_command_line(world: World, folder: Path, *words: str) -> Any:
    """Write the files, take them in and ask: the JSON document of `areaway WORDS --json`."""
    take_in(world, folder)
    return asked(folder, str(AS_OF), *words)


def take_in(world: World, folder: Path) -> None:
    """Write the files and take them into a new book of the folder."""
    write_files(world, folder / "records")
    ingest(folder)


def ingest(folder: Path) -> None:
    """Take the files of the folder's records into its book."""
    run([*_common(folder), "ingest", str(folder / "records"), "--json"])


def asked(folder: Path, as_of: str, *words: str) -> Any:
    """The JSON document of `areaway WORDS --json` over the folder's book."""
    return json.loads(run([*_common(folder), *words, "--as-of", as_of, "--json"]))


def _common(folder: Path) -> list[str]:
    return ["--book", str(folder / "firm.duckdb"), "--settings", str(folder / "records" / "areaway.toml")]


def run(arguments: list[str]) -> str:
    """What one command prints on standard output.

    errors: RuntimeError with its exit code when it does not end well
    """
    printed, noted = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(noted):
        try:
            main(arguments)
        except SystemExit as stop:
            if stop.code:
                raise RuntimeError(f"exit code {stop.code}: {noted.getvalue()}") from stop
    return printed.getvalue()
