"""The case file of a callback, or of any opening: everything recorded, and what alike cases teach."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from pipeline.callbacks.case_file import (
    Case,
    Lead,
    days_of_weather,
    likely_causes,
    similar_cases,
    timeline,
    weather_rows,
)
from pipeline.errors import InputError
from pipeline.runs.callback_records import CallbackRecords, callback_records, patterns_of
from pipeline.runs.patterns import findings_of
from pipeline.runs.standards import standards
from pipeline.settings import Settings
from pipeline.store.book import open_book, rows
from schemas.results_warranty import CaseFile, LikelyCause, TimelineEntry
from schemas.vocab import CAUSES

if TYPE_CHECKING:
    import duckdb

    from pipeline.callbacks.catalogue import Ready
    from pipeline.callbacks.patterns import Finding, Findings

Row = dict[str, Any]


@dataclass(frozen=True)
class _Asked:
    """What the file is about: the callback (None for an opening as such) and the opening's number."""

    callback: Row | None
    opening_id: str


def case_of_callback(book: Path, settings: Settings, callback_id: str, *, as_of: date | None = None) -> CaseFile:
    """The case file of one callback.

    errors: InputError when the book has no such callback by the as-of date
    """
    return _case(book, settings, as_of, callback_id=callback_id)


def case_of_opening(book: Path, settings: Settings, opening_id: str, *, as_of: date | None = None) -> CaseFile:
    """The case file of an opening, about its newest callback if it has one.

    errors: InputError when the book has no such opening
    """
    return _case(book, settings, as_of, opening_id=opening_id)


def _case(
    book: Path, settings: Settings, as_of: date | None, *, callback_id: str | None = None, opening_id: str | None = None
) -> CaseFile:
    with open_book(book) as con:
        archive = archive_of(con, settings, callback_records(con, settings, as_of))
        return case_from(con, archive, callback_id=callback_id, opening_id=opening_id)


@dataclass(frozen=True)
class Archive:
    """What every case file of a book leans on, worked out once; visits: reports without their duplicates.

    shrunk: effects of all patterns on each complaint
    """

    records: CallbackRecords
    warranty: Sequence[object]
    reports: list[Row]
    visits: list[Case]
    found: "Findings"
    present: dict[str, frozenset[str]]
    facts_by_id: dict[str, Row]
    shrunk: dict[str, Any]


def archive_of(
    con: "duckdb.DuckDBPyConnection", settings: Settings, records: CallbackRecords, found: "Findings | None" = None
) -> Archive:
    """The archive of a book's callbacks; found: a search over these records, when one was made already."""
    terms = standards(con, settings, records.as_of)
    dated = {"as_of": records.as_of, "standard": terms["standard"], "warranty": terms["warranty"]}
    patterns = patterns_of(settings, records.population)
    found = found or findings_of(records, settings)
    reports = rows(con, "callback_list", dated)
    present = _patterns_by_opening(records, patterns)
    facts_by_id = {row["opening_id"]: row for row in records.facts.to_dicts()}
    return Archive(
        records=records,
        warranty=terms["warranty"],
        reports=reports,
        visits=[
            Case(row, facts_by_id.get(row["opening_id"], {}), present.get(row["opening_id"], frozenset()))
            for row in reports
            if row["why_not"] != "duplicate"
        ],
        found=found,
        present=present,
        facts_by_id=facts_by_id,
        shrunk=_shrunk_effects(found),
    )


def case_from(
    con: "duckdb.DuckDBPyConnection",
    archive: Archive,
    *,
    callback_id: str | None = None,
    opening_id: str | None = None,
) -> CaseFile:
    """One case file from an archive already read.

    errors: InputError when the book has no such callback or opening
    """
    asked = _asked(archive.reports, callback_id, opening_id)
    recorded = _recorded(con, asked.opening_id, archive.records.as_of, archive.warranty)
    own_reports = sorted(
        (row for row in archive.reports if row["opening_id"] == asked.opening_id), key=lambda row: row["reported_on"]
    )
    facts = archive.facts_by_id.get(asked.opening_id, {})
    days = days_of_weather(facts.get("setting_day"), [row["reported_on"] for row in own_reports])
    station = recorded["opening"]["weather_station"]
    weather = rows(con, "case_weather", {"station": station, "days": list(days)}) if days else []
    learned = _learned(archive, asked)
    return CaseFile(
        callback=asked.callback,
        opening=recorded["opening"],
        checks=recorded["checks"],
        weather=weather_rows(weather, days),
        patterns_present=learned["present"],
        likely_causes=learned["causes"],
        similar=learned["similar"],
        cost=_cost(asked.callback, own_reports),
        timeline=cast(
            list[TimelineEntry],
            timeline(recorded["opening"], recorded["work"], recorded["checks"], own_reports),
        ),
    )


def _asked(reports: Sequence[Row], callback_id: str | None, opening_id: str | None) -> _Asked:
    if callback_id is not None:
        found = next((row for row in reports if row["callback_id"] == callback_id), None)
        if found is None:
            raise InputError(f"there is no callback '{callback_id}' in the book; `areaway callbacks` lists them")
        return _Asked(found, found["opening_id"])
    own = [row for row in reports if row["opening_id"] == opening_id and row["why_not"] != "duplicate"]
    return _Asked(max(own, key=lambda row: row["reported_on"], default=None), str(opening_id))


def _recorded(
    con: "duckdb.DuckDBPyConnection", opening_id: str, as_of: date, warranty: Sequence[object]
) -> dict[str, Any]:
    """The opening with its job, its check cards and the work done at it."""
    found = rows(con, "case_opening", {"opening_id": opening_id, "as_of": as_of, "warranty": warranty})
    if not found:
        raise InputError(f"there is no opening '{opening_id}' in the book; `areaway export` lists the openings")
    dated = {"opening_id": opening_id, "as_of": as_of}
    return {
        "opening": found[0],
        "checks": rows(con, "case_checks", dated),
        "work": rows(con, "case_work", {**dated, "job_id": found[0]["job_id"]}),
    }


def _learned(archive: Archive, asked: _Asked) -> dict[str, Any]:
    """What the firm's past says about this opening: patterns present, shares of likely causes, similar cases."""
    found, present = archive.found, archive.present
    here = present.get(asked.opening_id, frozenset())
    complaint = asked.callback["complaint"] if asked.callback else None
    opening = archive.facts_by_id.get(asked.opening_id, {})
    words = complaint or _likeliest_complaint(found)
    return {
        "present": [_present_row(found, name, words) for name in sorted(here)],
        "causes": cast(list[LikelyCause], likely_causes(_leads(archive, here, words), words)),
        "similar": similar_cases(Case(asked.callback or {}, opening, here), archive.visits),
    }


def _patterns_by_opening(records: CallbackRecords, patterns: Sequence["Ready"]) -> dict[str, frozenset[str]]:
    """Names of the patterns present at each opening of the book."""
    from pipeline.callbacks.design import facts_of

    facts = facts_of(records.facts)
    columns = {ready.pattern.name: ready.present(facts, records.facts.height) == 1 for ready in patterns}
    return {
        opening_id: frozenset(name for name, column in columns.items() if column[row])
        for row, opening_id in enumerate(records.facts["opening_id"])
    }


def _likeliest_complaint(found: "Findings") -> str:
    """The complaint with most callbacks so far: what a call from a quiet opening would most likely be about."""
    return max(CAUSES, key=lambda cause: found.study.clocks[cause].events)


def _shrunk_effects(found: "Findings") -> dict[str, Any]:
    """Strongly shrunk effect of every pattern on each complaint, all patterns together."""
    from pipeline.callbacks.forecast import clocks_of, forecast_models

    adjusters = found.study.adjusters
    models = forecast_models(_side_by_side(found), adjusters.penalty, clocks_of(found.study.population))
    return {complaint: model.effects[adjusters.features.shape[1] :] for complaint, model in models.items()}


def _leads(archive: Archive, present: frozenset[str], complaint: str) -> list[Lead]:
    """Patterns present with their effect on the complaint: the flagged ones' ratio, else a shrunk effect."""
    found, shrunk = archive.found, archive.shrunk[complaint]
    leads = []
    for column, ready in enumerate(found.study.patterns):
        finding = _finding(found, ready.pattern.name, complaint)
        if ready.pattern.name not in present or finding is None or finding.stands_in_for:
            continue
        effect = math.log(finding.ratio) if finding.flagged else float(shrunk[column])
        leads.append(Lead(ready.pattern.name, ready.text, effect, finding.flagged))
    return leads


def _side_by_side(found: "Findings") -> Any:
    import numpy as np

    return np.column_stack([found.study.adjusters.features, found.study.filled])


def _finding(found: "Findings", pattern: str, complaint: str) -> "Finding | None":
    return next((one for one in found.findings if one.pattern == pattern and one.cause == complaint), None)


def _present_row(found: "Findings", pattern: str, complaint: str) -> Row:
    """A pattern present at the opening, with what is known of it for the complaint."""
    ready = next(one for one in found.study.patterns if one.pattern.name == pattern)
    finding = _finding(found, pattern, complaint)
    known = finding is not None and math.isfinite(finding.ratio)
    return {
        "pattern": pattern,
        "text": ready.text,
        "causes": list(ready.pattern.causes),
        "level": finding.level if finding else None,
        "hazard_ratio": finding.ratio if known and finding else None,
        "low": finding.low if known and finding else None,
        "high": finding.high if known and finding else None,
    }


def _cost(callback: Row | None, own_reports: Sequence[Row]) -> Row:
    """Cost of the callback's visit, and of all visits at the opening; null parts are not costed yet. [USD]"""
    leader = callback
    if callback is not None:
        leader = next(row for row in own_reports if row["callback_id"] == callback["visit_id"])
    costed = [row["cost"] for row in own_reports if row["cost"] is not None and row["why_not"] != "duplicate"]
    return {
        "labour_cost": leader["labour_cost"] if leader else None,
        "material_cost": leader["material_cost"] if leader else None,
        "recovered": leader["recovered"] if leader else None,
        "net_cost": leader["cost"] if leader else None,
        "marked_standard": leader["marked_standard"] if leader else None,
        "all_callbacks_here": sum(costed) if costed else None,
    }
