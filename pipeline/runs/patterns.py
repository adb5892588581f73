"""`areaway patterns`: install patterns, what they do to callbacks, and where a reading's threshold lies."""

import math
from dataclasses import astuple
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.errors import WrongUsage
from pipeline.runs.callback_records import CallbackRecords, callback_records, patterns_of
from pipeline.settings import Settings
from pipeline.store.book import open_book
from schemas.results_callbacks import CauseTotal, PatternRow, PatternsResult, ThresholdSearch, YearPart
from schemas.vocab import CAUSES

if TYPE_CHECKING:
    import numpy as np
    import polars as pl
    from numpy.typing import NDArray

    from pipeline.callbacks.attributable import Part
    from pipeline.callbacks.curves import SurvivalCurve
    from pipeline.callbacks.patterns import Finding, Findings
    from pipeline.callbacks.threshold import Threshold

ALWAYS_SEARCHED = ("fit", "anchor_torque_max_lbft")  # the question every warranty manager asks


def patterns_(
    book: Path,
    settings: Settings,
    *,
    as_of: date | None = None,
    cause: str | None = None,
    threshold: str | None = None,
) -> PatternsResult:
    """All patterns of the catalogue and the firm's own, testable or not.

    in:     cause: only rows of that cause; threshold: a numeric reading whose threshold is searched
    errors: NotEnoughRecords while no opening is finished; WrongUsage for an unknown cause or reading
    """
    _check_words(cause, threshold)
    with open_book(book) as con:
        records = callback_records(con, settings, as_of)
    return patterns_found(records, settings, cause=cause, threshold=threshold)


def patterns_found(
    records: CallbackRecords, settings: Settings, *, cause: str | None = None, threshold: str | None = None
) -> PatternsResult:
    """The same from records already read. Causes are searched together, whichever is shown."""
    return patterns_told(records, findings_of(records, settings), cause=cause, threshold=threshold)


def findings_of(records: CallbackRecords, settings: Settings) -> "Findings":
    """What the search over all patterns and causes found; the dear part of every answer about patterns."""
    from pipeline.callbacks.patterns import find_patterns

    return find_patterns(records.population, patterns_of(settings, records.population))


def patterns_told(
    records: CallbackRecords, found: "Findings", *, cause: str | None = None, threshold: str | None = None
) -> PatternsResult:
    """The same from a search already made over these records."""
    from pipeline.callbacks.attributable import attributable, first_costs, severity_of
    from pipeline.callbacks.plain_count import strata_of

    shown = [name for name in CAUSES if cause in (None, name)]
    costs = {name: severity_of(first_costs(records.population, records.visits, name)) for name in shown}
    parts = {
        (part.pattern, name): part
        for name in shown
        for part in attributable(found, name, costs[name], records.as_of)
    }
    searches = _searches(found, shown, threshold)
    strata = strata_of(found.study)
    rows = [
        _row(found, finding, (parts.get((finding.pattern, finding.cause)), strata), searches)
        for finding in found.findings
        if finding.cause in shown
    ]
    return PatternsResult(
        as_of=records.as_of,
        openings=records.population.height,
        patterns=sorted(rows, key=_clearest_first),
        causes=[
            _total(found, records, name, [part for part in parts.values() if part.cause == name]) for name in shown
        ],
        left_out=_left_out(records.visits),
        left_out_by_words=_left_out_by_words(records.visits),
        thresholds=[_search_row(search) for search in searches],
    )


def _check_words(cause: str | None, threshold: str | None) -> None:
    from pipeline.callbacks.facts import numeric_facts

    if cause is not None and cause not in CAUSES:
        raise WrongUsage(f"--cause is '{cause}'; it must be one of {', '.join(CAUSES)}")
    if threshold is not None and threshold not in numeric_facts():
        raise WrongUsage(f"--threshold is '{threshold}'; it must be a numeric reading: {', '.join(numeric_facts())}")


def _left_out(visits: "pl.DataFrame") -> dict[str, int]:
    reasons = visits["why_not"].drop_nulls()
    return {str(reason): int((reasons == reason).sum()) for reason in sorted(reasons.unique().to_list())}


def _left_out_by_words(visits: "pl.DataFrame") -> list[str]:
    if "by_words" not in visits.columns:
        return []
    return sorted(visits.filter(visits["by_words"])["callback_id"].to_list())


def _searches(found: "Findings", shown: list[str], threshold: str | None) -> list["Threshold"]:
    """The torque threshold for fit always; another reading's when asked for, the causes searched counting as so many
    tries."""
    from pipeline.callbacks.threshold import among, find_threshold, held_patterns

    def searched(cause: str, reading: str) -> "Threshold":
        return find_threshold(found.study, cause, reading, held_patterns(found.study, cause, reading))

    columns = found.study.population.columns
    asked = [(name, threshold) for name in shown if threshold in columns and (name, threshold) != ALWAYS_SEARCHED]
    always = [ALWAYS_SEARCHED] if ALWAYS_SEARCHED[0] in shown and ALWAYS_SEARCHED[1] in columns else []
    return [searched(*pair) for pair in always] + [
        among(searched(name, str(reading)), len(asked)) for name, reading in asked
    ]


def _row(
    found: "Findings",
    finding: "Finding",
    counted: "tuple[Part | None, NDArray[np.int64]]",
    searches: list["Threshold"],
) -> PatternRow:
    from pipeline.callbacks.plain_count import counted_plainly
    from pipeline.callbacks.wording import attributed, plainly, sentence

    part, strata = counted
    k = next(k for k, ready in enumerate(found.study.patterns) if ready.pattern.name == finding.pattern)
    text = sentence(finding, uneven=_uneven(found, k))
    if part is not None:
        text += " " + attributed(part, found.study.clocks[finding.cause].events)
    plain = counted_plainly(found.study, strata, k, finding.cause)
    if finding.flagged and math.isfinite(plain.value):
        text += " " + plainly(plain)
    reading = found.study.patterns[k].pattern.reading
    search = next((s for s in searches if s.reading == reading and s.cause == finding.cause), None)
    if finding.pattern == "torque_uneven":
        search = None  # its limit is on the difference of two readings, not on the reading itself
    row = _plain_row(finding, text)
    row["plain_ratio"], row["plain_low"], row["plain_high"] = (_known(end) for end in astuple(plain))
    return _with_parts(row, part, search)


def _uneven(found: "Findings", k: int) -> bool:
    from pipeline.callbacks.patterns import uneven_recording
    from pipeline.callbacks.wording import UNEVEN

    shares = uneven_recording(found.study, k)
    return len(shares) > 1 and float(shares.max() - shares.min()) > UNEVEN


def _plain_row(finding: "Finding", text: str) -> PatternRow:
    return PatternRow(
        pattern=finding.pattern,
        cause=finding.cause,
        fact=finding.text,
        text=text,
        level=finding.level,
        openings_with=finding.openings_with,
        openings_without=finding.openings_without,
        callbacks_with=finding.callbacks_with,
        callbacks_without=finding.callbacks_without,
        recorded_share=_known(finding.recorded_share),
        hazard_ratio=_known(finding.ratio),
        low=_known(finding.low),
        high=_known(finding.high),
        p=_known(finding.p),
        q=_known(finding.q),
        flagged=finding.flagged,
        enough_data=finding.enough_data,
        smallest_hr_seen=_known(finding.smallest_ratio_seen),
        plain_ratio=None,
        plain_low=None,
        plain_high=None,
        stands_in_for=finding.stands_in_for,
        threshold=None,
        threshold_low=None,
        threshold_high=None,
        attributable_callbacks=None,
        attributable_callbacks_low=None,
        attributable_callbacks_high=None,
        attributable_cost=None,
        attributable_cost_low=None,
        attributable_cost_high=None,
        by_year=[],
    )


def _with_parts(row: PatternRow, part: "Part | None", search: "Threshold | None") -> PatternRow:
    if search is not None and search.declared:
        row["threshold"], row["threshold_low"] = search.threshold, search.low
        row["threshold_high"] = search.high
    if part is None:
        return row
    row["attributable_callbacks"] = part.callbacks
    row["attributable_callbacks_low"] = part.callbacks_low
    row["attributable_callbacks_high"] = part.callbacks_high
    row["attributable_cost"] = _known(part.cost)
    row["attributable_cost_low"] = _known(part.cost_low)
    row["attributable_cost_high"] = _known(part.cost_high)
    row["by_year"] = [
        YearPart(year=year, callbacks=callbacks, cost=_known(cost))
        for year, (callbacks, cost) in sorted(part.by_year.items())
    ]
    return row


def _known(number: float) -> float | None:
    """A number for the answer; not a number or infinite = cannot be told."""
    return float(number) if math.isfinite(number) else None


def _clearest_first(row: PatternRow) -> tuple[bool, float, float, str]:
    q, p = row["q"], row["p"]
    return not row["flagged"], 2.0 if q is None else q, 2.0 if p is None else p, row["pattern"]


def _total(found: "Findings", records: CallbackRecords, cause: str, parts: list["Part"]) -> CauseTotal:
    from pipeline.callbacks.attributable import money_by_year, money_of, placed_visits
    from pipeline.callbacks.curves import kaplan_meier
    from pipeline.callbacks.exposure import first_event
    from pipeline.callbacks.rates import rate_per_100_years

    time = found.study.clocks[cause]
    years = float(time.years.sum())
    rate, days = rate_per_100_years(time.events, years), first_event(found.study.population, cause)
    curve = kaplan_meier(*days)
    placed = placed_visits(records.population, records.visits, cause)
    return CauseTotal(
        **money_of(placed, parts),
        cause=cause,
        by_year=money_by_year(placed, parts),
        opening_years=years,
        rate_per_100_years=_known(rate.value),
        rate_low=_known(rate.low),
        rate_high=_known(rate.high),
        by_12_months=_share_by(curve, days[0], 12),
        by_24_months=_share_by(curve, days[0], 24),
        first_by_24_months=_first_by(found, cause, 24),
    )


def _share_by(curve: "SurvivalCurve", days: "NDArray[np.float64]", months: int) -> float | None:
    """Share called back by a month; null while no opening has been watched that long."""
    day = _day_of(months)
    return curve.share_by(day) if float(days.max(initial=0.0)) >= day else None


def _first_by(found: "Findings", cause: str, months: int) -> float | None:
    """Share whose first callback of all was of this cause; null while no opening has been watched that long."""
    from pipeline.callbacks.curves import aalen_johansen
    from pipeline.callbacks.exposure import first_of_any
    from pipeline.callbacks.history import COMPLAINTS

    days, kind = first_of_any(found.study.population)
    if float(days.max(initial=0.0)) < _day_of(months):
        return None
    steps, share = aalen_johansen(days, kind, 1 + COMPLAINTS.index(cause))
    return float(share[steps <= _day_of(months)].max(initial=0.0))


def _day_of(months: int) -> int:
    from schemas.units import DAYS_PER_MONTH

    return math.floor(months * DAYS_PER_MONTH)


def _search_row(search: "Threshold") -> ThresholdSearch:
    from pipeline.callbacks.wording import threshold_sentence

    return ThresholdSearch(
        reading=search.reading,
        cause=search.cause,
        callbacks=search.events,
        p=_known(search.p),
        threshold=_known(search.threshold),
        low=_known(search.low),
        high=_known(search.high),
        text=threshold_sentence(search),
    )
