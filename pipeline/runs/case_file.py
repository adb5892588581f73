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
    Shelf,
    days_of_weather,
    likely_causes,
    shelf_of,
    similar_cases,
    timeline,
    weather_rows,
)
from pipeline.errors import InputError
from pipeline.runs.callback_records import CallbackRecords, callback_records
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
class Asked:
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
        return cases_from(con, archive, [asked_about(archive, callback_id, opening_id)])[0]


@dataclass(frozen=True)
class Archive:
    """What every case file of a book leans on, worked out once; by_opening: its reports, oldest first."""

    records: CallbackRecords
    warranty: Sequence[object]
    by_id: dict[str, Row]
    by_opening: dict[str, list[Row]]
    shelf: Shelf
    found: "Findings"
    present: dict[str, frozenset[str]]
    facts_by_id: dict[str, Row]


def archive_of(
    con: "duckdb.DuckDBPyConnection", settings: Settings, records: CallbackRecords, found: "Findings | None" = None
) -> Archive:
    """The archive of a book's callbacks; found: a search over these records, when one was made already."""
    terms = standards(con, settings, records.as_of)
    dated = {"as_of": records.as_of, "standard": terms["standard"], "warranty": terms["warranty"]}
    found = found or findings_of(records, settings)
    reports = rows(con, "callback_list", dated)
    present = _patterns_by_opening(records, found.study.patterns)
    facts_by_id = {row["opening_id"]: row for row in records.facts.to_dicts()}
    visits = [
        Case(row, facts_by_id.get(row["opening_id"], {}), present.get(row["opening_id"], frozenset()))
        for row in reports
        if row["why_not"] != "duplicate"
    ]
    by_opening: dict[str, list[Row]] = {}
    for row in sorted(reports, key=lambda row: row["reported_on"]):
        by_opening.setdefault(row["opening_id"], []).append(row)
    by_id = {row["callback_id"]: row for row in reports}
    return Archive(records, terms["warranty"], by_id, by_opening, shelf_of(visits), found, present, facts_by_id)


@dataclass(frozen=True)
class _Recorded:
    """What the book holds of the openings asked for: one row, its cards and its work by opening, weather by station."""

    openings: dict[str, Row]
    checks: dict[str, list[Row]]
    work: dict[str, list[Row]]
    weather: dict[str, list[Row]]


def cases_from(con: "duckdb.DuckDBPyConnection", archive: Archive, asked: Sequence[Asked]) -> list[CaseFile]:
    """Case files from an archive already read, in the order asked for.

    errors: InputError when the book has no such opening
    """
    recorded = _recorded(con, archive, [one.opening_id for one in asked])
    return [_case_file(archive, recorded, one) for one in asked]


def _case_file(archive: Archive, recorded: _Recorded, asked: Asked) -> CaseFile:
    opening_id = asked.opening_id
    opening, checks = recorded.openings[opening_id], recorded.checks.get(opening_id, [])
    own_reports = archive.by_opening.get(opening_id, [])
    weather = recorded.weather.get(opening["weather_station"], [])
    learned = _learned(archive, asked)
    return CaseFile(
        callback=asked.callback,
        opening=opening,
        checks=checks,
        weather=weather_rows(weather, _days(archive, opening_id)),
        patterns_present=learned["present"],
        likely_causes=learned["causes"],
        similar=learned["similar"],
        cost=_cost(archive, asked),
        timeline=cast(list[TimelineEntry], timeline(opening, recorded.work.get(opening_id, []), checks, own_reports)),
    )


def _days(archive: Archive, opening_id: str) -> dict[date, str]:
    """The days whose weather belongs in the file of an opening, and why."""
    facts = archive.facts_by_id.get(opening_id, {})
    reports = archive.by_opening.get(opening_id, [])
    return days_of_weather(facts.get("setting_day"), [row["reported_on"] for row in reports])


def asked_about(archive: Archive, callback_id: str | None = None, opening_id: str | None = None) -> Asked:
    """What a case file is about: a callback, or an opening with its newest callback if it has one.

    errors: InputError when the book has no such callback
    """
    if callback_id is not None:
        found = archive.by_id.get(callback_id)
        if found is None:
            raise InputError(f"there is no callback '{callback_id}' in the book; `areaway callbacks` lists them")
        return Asked(found, found["opening_id"])
    here = archive.by_opening.get(str(opening_id), [])
    ids = {row["callback_id"] for row in here}
    own = [row for row in here if row["why_not"] != "duplicate" or row["visit_id"] not in ids]
    return Asked(max(own, key=lambda row: row["reported_on"], default=None), str(opening_id))


def _recorded(con: "duckdb.DuckDBPyConnection", archive: Archive, opening_ids: Sequence[str]) -> _Recorded:
    """The openings with their jobs, check cards, the work done at them and the weather of their days."""
    dated = {"opening_ids": list(opening_ids), "as_of": archive.records.as_of}
    openings = {row["opening_id"]: row for row in rows(con, "case_opening", {**dated, "warranty": archive.warranty})}
    for opening_id in opening_ids:
        if opening_id not in openings:
            raise InputError(f"there is no opening '{opening_id}' in the book; `areaway export` lists the openings")
    stations = {row["weather_station"] for row in openings.values() if row["weather_station"] is not None}
    days = {day for opening_id in openings for day in _days(archive, opening_id)}
    weather = {"stations": sorted(stations), "days": sorted(days)}
    return _Recorded(
        openings,
        checks=_grouped(rows(con, "case_checks", dated), "opening_id"),
        work=_grouped(rows(con, "case_work", dated), "opening_id"),
        weather=_grouped(rows(con, "case_weather", weather), "station_id"),
    )


def _grouped(found: Sequence[Row], name: str) -> dict[str, list[Row]]:
    groups: dict[str, list[Row]] = {}
    for row in found:
        groups.setdefault(row[name], []).append(row)
    return groups


def _learned(archive: Archive, asked: Asked) -> dict[str, Any]:
    """What the firm's past says about this opening: patterns present, shares of likely causes, similar cases."""
    found, present = archive.found, archive.present
    here = present.get(asked.opening_id, frozenset())
    complaint = asked.callback["complaint"] if asked.callback else None
    opening = archive.facts_by_id.get(asked.opening_id, {})
    words = complaint or _likeliest_complaint(found)
    return {
        "present": [_present_row(found, name, words) for name in sorted(here)],
        "causes": cast(list[LikelyCause], likely_causes(_leads(found, here, words), words)),
        "similar": similar_cases(Case(asked.callback or {}, opening, here), archive.shelf),
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


def _leads(found: "Findings", present: frozenset[str], complaint: str) -> list[Lead]:
    """Patterns present that may bring the complaint; only those flagged carry an effect, their shrunk ratio."""
    leads = []
    for ready in found.study.patterns:
        finding = _finding(found, ready.pattern.name, complaint)
        if ready.pattern.name not in present or finding is None or finding.stands_in_for:
            continue
        effect = math.log(finding.ratio) if finding.flagged else None
        leads.append(Lead(ready.pattern.name, ready.text, effect, finding.low, finding.high))
    return leads


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


def _cost(archive: Archive, asked: Asked) -> Row:
    """Cost of the callback's visit, and of all visits at the opening; null parts are not costed yet. [USD]

    visit_opening_id: where the visit is on the books, which a marked duplicate may name at another opening
    """
    own_reports = archive.by_opening.get(asked.opening_id, [])
    leader = asked.callback and archive.by_id[asked.callback["visit_id"]]
    costed = [row["cost"] for row in own_reports if row["cost"] is not None and row["why_not"] != "duplicate"]
    return {
        "labour_cost": leader["labour_cost"] if leader else None,
        "material_cost": leader["material_cost"] if leader else None,
        "recovered": leader["recovered"] if leader else None,
        "net_cost": leader["cost"] if leader else None,
        "marked_standard": leader["marked_standard"] if leader else None,
        "visit_opening_id": leader["opening_id"] if leader else None,
        "all_callbacks_here": sum(costed) if costed else None,
    }
