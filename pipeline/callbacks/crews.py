"""Callbacks per crew against what its work would give: leads to look into, with how often chance shows as much."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.hazard import clock, fit_hazard
from pipeline.callbacks.history import COMPLAINTS, History
from pipeline.callbacks.rates import standardised_ratio
from pipeline.callbacks.shrinkage import fitted_pull, shrunk_limits, shrunk_ratio

if TYPE_CHECKING:
    import polars as pl

Array = NDArray[np.float64]

NOT_THE_CREWS_CHOICE = ("wall_type", "soil", "drain", "weather_station")  # simulation study; depth comes as bands
DEPTH_BANDS_IN = (36.0, 48.0, 60.0)  # house rule
EFFECT_SPREAD = 0.5  # log rate: prior sd of every effect; simulation study, fresh seeds
FEWEST_EVENTS = 5  # of a complaint; below, every opening has the same rate
WATCH_PROBABILITY = 0.975  # upper 95 % funnel limit (Spiegelhalter 2005, from memory)
ACT_PROBABILITY = 0.999  # upper 99.8 % funnel limit (same)
LEAST_EXPECTED = 5.0  # callbacks; below, no crew is named; simulation study
RANGE = 0.95


@dataclass(frozen=True)
class CrewLine:
    """One crew.

    callbacks: first callbacks of each opening and complaint inside the warranty; expected: what an ordinary crew
    would have had on the same walls, soils, depths, drains and weather; ratio: the one over the other; low, high:
    95 % range of the shrunk ratio; level: None, 'watch' or 'act'; chance_alone: how often chance shows as much of
    this crew; chance_any: of any of the crews of whom at least 5 are expected, were all alike (null for the others).
    """

    crew: str
    openings: int
    callbacks: int
    expected: float
    ratio: float | None
    low: float
    high: float
    shrunk_ratio: float
    level: str | None
    outside_limits: bool
    chance_alone: float
    chance_any: float | None


def crew_lines(openings: "pl.DataFrame", history: History) -> list[CrewLine]:
    """Every crew's callbacks beside its expectation, in the order of names: crews are not ranked.

    in:     openings: the finished openings in the order of `history`, with crew, wall_type, soil, drain,
            depth_below_grade_in and weather_station (null = not recorded, a group of its own)
    """
    names, crew = np.unique(openings["crew"].to_numpy().astype(str), return_inverse=True)
    observed, expected = _by_crew(openings, history, crew, len(names))
    pull = fitted_pull(observed, expected)
    low, high = shrunk_limits(observed, expected, pull, RANGE)
    shrunk = shrunk_ratio(observed, expected, pull, pull)
    levels = levels_of(observed, expected)
    chance = chance_of_as_many(observed, expected)
    judged = expected >= LEAST_EXPECTED
    return [
        CrewLine(
            crew=str(names[i]),
            openings=int((crew == i).sum()),
            callbacks=int(observed[i]),
            expected=float(expected[i]),
            ratio=standardised_ratio(int(observed[i]), float(expected[i])).value if expected[i] > 0 else None,
            low=float(low[i]),
            high=float(high[i]),
            shrunk_ratio=float(shrunk[i]),
            level=levels[i],
            outside_limits=levels[i] is not None,
            chance_alone=float(chance[i]),
            chance_any=float(1 - (1 - chance[i]) ** judged.sum()) if judged[i] else None,
        )
        for i in range(len(names))
    ]


def levels_of(observed: Array, expected: Array) -> list[str | None]:
    """'act' above the 99.8 % funnel limit, 'watch' above the 95 % one where at least 5 are expected, else None."""
    levels: list[str | None] = []
    for seen, due in zip(observed, expected, strict=True):
        if due < LEAST_EXPECTED:
            levels.append(None)
            continue
        watch, act = (poisson_limit(np.array([due]), p)[0] for p in (WATCH_PROBABILITY, ACT_PROBABILITY))
        levels.append("act" if seen / due > act else "watch" if seen / due > watch else None)
    return levels


def poisson_limit(expected: Array, probability: float) -> Array:
    """Ratio of observed to expected that an ordinary group stays under with this probability; never below 0.

    in:     expected counts over 0
    source: interpolated exact Poisson quantile (Spiegelhalter 2005, appendix, from memory)
    """
    from scipy.special import pdtr, pdtrik

    quantile = np.ceil(np.maximum(pdtrik(probability, expected), 0.0))
    below = np.where(quantile > 0, pdtr(np.maximum(quantile - 1, 0.0), expected), 0.0)
    upto = pdtr(quantile, expected)
    excess = (upto - probability) / (upto - below)
    limit: Array = np.maximum((quantile - excess) / expected, 0.0)
    return limit


def chance_of_as_many(observed: Array, expected: Array) -> Array:
    """Probability that a Poisson count with this expectation is at least as high as observed. [0–1]"""
    from scipy.special import pdtrc

    return np.where(observed > 0, pdtrc(np.maximum(observed - 1, 0.0), expected), 1.0)


def _by_crew(openings: "pl.DataFrame", history: History, crew: NDArray[np.intp], crews: int) -> tuple[Array, Array]:
    """First callbacks and their expectation, per crew, summed over the complaints."""
    circumstances = circumstances_of(openings)
    crew_columns = np.eye(crews)[crew]
    observed, expected = np.zeros(crews), np.zeros(crews)
    for cause in range(len(COMPLAINTS)):
        days, came = first_visit(history, cause)
        observed += np.bincount(crew[came], minlength=crews)
        ordinary = expected_from_ordinary_crew(circumstances, crew_columns, days, came)
        expected += np.bincount(crew, weights=ordinary, minlength=crews)
    return observed, expected


def first_visit(history: History, cause: int) -> tuple[Array, NDArray[np.bool_]]:
    """Days at risk of the first visit of a complaint inside the warranty, and whether it came; one per opening."""
    counted = history.in_warranty & (history.cause == cause)
    day = np.full(len(history.completed), np.inf)
    np.minimum.at(day, history.opening[counted], history.visit_age[counted])
    return np.minimum(day, history.end_age + 0.5), np.isfinite(day)


def expected_from_ordinary_crew(
    circumstances: Array, crew_columns: Array, days: Array, came: NDArray[np.bool_]
) -> Array:
    """Expected first visits of each opening, crews fitted beside the circumstances, then given the firm's usual rate.

    The usual rate is the crews' mean (of logs) weighed by the visits expected of each crew's work: a small crew with
    luck does not move it, as it would in a plain mean over the crews.
    source: indirect standardisation on a shrunk hazard model; findings on the check card stay out, they are how a
            crew earns its rate; the weights: simulation study, crews of 50 to 3,000 openings
    """
    time = clock(days, came)
    if time.events < FEWEST_EVENTS:
        circumstances = circumstances[:, :0]
    features = np.hstack([crew_columns, circumstances])
    fit = fit_hazard(features, time, np.full(features.shape[1], EFFECT_SPREAD**-2))
    crews = crew_columns.shape[1]
    without_crew: Array = time.years @ fit.baseline * np.exp(circumstances @ fit.effects[crews:])
    work = without_crew @ crew_columns
    usual = float(work @ fit.effects[:crews] / work.sum()) if work.sum() > 0 else 0.0
    expected: Array = without_crew * np.exp(usual)
    return expected


def circumstances_of(openings: "pl.DataFrame") -> Array:
    """One column per word of what the crew does not choose; not recorded is a word of its own."""
    columns = [np.zeros((openings.height, 0))]
    for name in NOT_THE_CREWS_CHOICE:
        words = openings[name].cast(str).fill_null("").to_numpy().astype(str)
        columns.append(_indicators(words))
    depth = openings["depth_below_grade_in"].cast(float).to_numpy()
    band = np.where(np.isnan(depth), -1, np.searchsorted(DEPTH_BANDS_IN, depth))
    columns.append(_indicators(band.astype(str)))
    return np.hstack(columns)


def _indicators(words: NDArray[np.str_]) -> Array:
    """A column per distinct word; none when all openings share one."""
    distinct, place = np.unique(words, return_inverse=True)
    return np.eye(len(distinct))[place] if len(distinct) > 1 else np.zeros((len(words), 0))
