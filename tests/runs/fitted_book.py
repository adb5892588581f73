"""A book of the invented sample firm with fitted models, for the tests of quotes: fitted, but not measured."""

from pathlib import Path
from typing import Any

from pipeline.callbacks.risk import fit_risk
from pipeline.estimators.hours import fit_hours
from pipeline.estimators.known import learn_defaults
from pipeline.estimators.materials_fit import fit_materials
from pipeline.estimators.records import arrays_of
from pipeline.runs.callback_records import callback_records, patterns_of
from pipeline.runs.ingest import Delivery, ingest_
from pipeline.runs.quote_rates import fit_quote_rates
from pipeline.settings import Settings, load_settings
from pipeline.store.book import frame, newest_date, open_book
from pipeline.store.models import save_model
from sample_data.make import make


def sample_book(folder: Path, *, jobs: int = 160) -> tuple[Path, Path]:
    """Records of that many jobs taken in; the book and the settings file."""
    records, book = folder / "records", folder / "firm.duckdb"
    make(records, jobs=jobs, clean=True)
    ingest_(book, load_settings(records / "areaway.toml"), Delivery([records]))
    return book, records / "areaway.toml"


def fitted_book(folder: Path, *, jobs: int = 160) -> tuple[Path, Path]:
    """The same, with all four parts fitted and kept, but nothing held back for measuring, which takes most of a fit."""
    book, settings_file = sample_book(folder, jobs=jobs)
    keep_models(book, load_settings(settings_file))
    return book, settings_file


def keep_models(book: Path, settings: Settings) -> None:
    """Fit every part that can be fitted."""
    with open_book(book, write=True) as con:
        on = newest_date(con)
        read = {
            name: frame(con, f"fit_{name}", {"as_of": on})
            for name in ("jobs", "openings", "labour", "materials", "prices")
        }
        hours = fit_hours(read["jobs"], read["openings"], read["labour"], starter_rates=settings.starter_rates)
        save_model(con, "labour", on, hours.to_json())
        save_model(con, "quote", on, dict(fit_quote_rates(con, settings, on)))
        defaults = learn_defaults(arrays_of(read["openings"]))
        bought = (read["jobs"], read["openings"], read["materials"], read["prices"])
        save_model(con, "materials", on, fit_materials(*bought, defaults=defaults).to_json())
        records = callback_records(con, settings, on)
        risk: Any = fit_risk(records.population, patterns_of(settings, records.population))
        save_model(con, "callbacks", on, risk)
