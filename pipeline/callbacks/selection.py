"""Which patterns stand out: observed against expected, one at a time, each given those already found.

One-sided mid-p of a binomial count (Lancaster 1961), false discovery rate with weights (Benjamini and Hochberg 1995;
Genovese, Roeder and Wasserman 2006), forward and then backward; citations from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.design import Study
from pipeline.callbacks.hazard import Array, Fit, fit_hazard
from schemas.vocab import CAUSES


@dataclass(frozen=True)
class Rules:
    """Constants of the search; simulation study, fresh seeds, unless a comment says otherwise."""

    false_share: float = 0.10  # house rule: at most one in ten flags is wrong on average
    cap: float = 0.01  # a run with many strong patterns does not let weak ones in
    weight_plausible: float = 2.0
    weight_other: float = 0.1  # a link that makes no sense in the trade needs far clearer numbers
    related: float = 0.15  # correlation from which one pattern may be the other's proxy
    least_events: int = 5
    least_expected: float = 0.75  # expected events on each side of a testable pattern
    sd_search: float = 0.7  # log hazard ratio; prior of a selected pattern while the search goes on
    sd_backward: float = 1.0
    keep_p: float = 0.05
    proxy_p: float = 0.01  # a pattern stands in for another when it was this clear before ...
    proxy_gone_p: float = 0.05  # ... and no longer this clear after


RULES = Rules()


@dataclass(frozen=True)
class Chosen:
    """Outcome of the search.

    selected:  per cause the patterns found, in the order found
    p, q:      patterns x causes, nan where not testable; p given the patterns found (for one found: those before it)
    stands_in: pattern that explains another one, by (pattern, cause)
    tests:     number of testable pairs
    """

    selected: dict[str, list[int]]
    p: Array
    q: Array
    testable: NDArray[np.bool_]
    stands_in: dict[tuple[int, str], int]
    tests: int


@dataclass
class _Search:
    """The search while it runs: fits and p-values change with every pattern found."""

    study: Study
    rules: Rules
    selected: dict[str, list[int]]
    p: Array
    testable: NDArray[np.bool_]
    weights: Array
    q: Array
    lift: Array
    trail: dict[str, list[tuple[int, Array]]] = field(default_factory=dict)
    found: int = 0
    q_so_far: float = 0.0


def choose(study: Study, rules: Rules = RULES) -> Chosen:
    """Find the patterns that stand out, for all causes together."""
    search = _begin(study, rules)
    _forward(search, _not_a_consequence(search))
    _backward(search)
    _finish_q(search)
    return Chosen(
        search.selected, search.p, search.q, search.testable, _stand_ins(search), int(search.testable.sum())
    )


def mid_p(
    present: Array, expected: Array, events: NDArray[np.bool_], rules: Rules = RULES
) -> tuple[Array, NDArray[np.bool_], Array]:
    """One-sided mid-p that a pattern has more events than its share of the expected ones.

    in:     present: rows x patterns (1/0/nan); expected: events per row; events: yes/no per row
    out:    P(B > a) + P(B = a)/2 for B ~ Binomial(events where recorded, share of expected); whether the pattern is
            testable; its lift: odds of an event having it over the odds expected (half an event added to each side)
    """
    from scipy.special import betainc, gammaln, xlogy

    recorded = (~np.isnan(present)).astype(float)
    with_it = np.nan_to_num(present)
    n = recorded.T @ events.astype(float)
    a = with_it.T @ events.astype(float)
    total = recorded.T @ expected
    share = np.clip((with_it.T @ expected) / np.maximum(total, 1e-300), 0.0, 1.0)
    least = np.minimum(share, 1 - share) * n
    testable = (n >= rules.least_events) & (least >= rules.least_expected)
    above = np.where(a < n, betainc(a + 1, np.maximum(n - a, 1), share), 0.0)
    point = np.exp(gammaln(n + 1) - gammaln(a + 1) - gammaln(n - a + 1) + xlogy(a, share) + xlogy(n - a, 1 - share))
    lift = (a + 0.5) * (1 - share) / np.maximum((n - a + 0.5) * share, 1e-12)
    return above + point / 2, testable, lift


def model(study: Study, cause: str, chosen: Sequence[int], sd: float) -> Fit:
    """Hazard model of one cause with the adjusters and some patterns, their log hazard ratios N(0, sd^2)."""
    features = np.column_stack([study.adjusters.features, study.filled[:, list(chosen)]])
    penalty = np.concatenate([study.adjusters.penalty, np.full(len(chosen), 1 / sd**2)])
    return fit_hazard(features, study.clocks[cause], penalty)


def _begin(study: Study, rules: Rules) -> _Search:
    size = (len(study.patterns), len(CAUSES))
    search = _Search(
        study,
        rules,
        {cause: [] for cause in CAUSES},
        np.full(size, np.nan),
        np.zeros(size, bool),
        np.where(study.plausible, rules.weight_plausible, rules.weight_other),
        np.full(size, np.nan),
        np.zeros(size),
        {cause: [] for cause in CAUSES},
    )
    for c, cause in enumerate(CAUSES):
        fit = model(study, cause, [], rules.sd_search)
        p, search.testable[:, c], search.lift[:, c] = mid_p(
            study.present, fit.expected, study.clocks[cause].event, rules
        )
        search.p[:, c] = np.where(search.testable[:, c], p, np.nan)
        search.trail[cause].append((-1, search.p[:, c].copy()))
    for k, cause in study.same_as:
        search.testable[k, CAUSES.index(cause)] = False
        search.p[k, CAUSES.index(cause)] = np.nan
    if search.testable.any():
        search.weights = search.weights / search.weights[search.testable].mean()
    return search


def _forward(search: _Search, allowed: NDArray[np.bool_]) -> None:
    """Take the clearest pair while it passes, and look at its cause again given the new pattern."""
    rules, tests = search.rules, int(search.testable.sum())
    open_pairs = search.testable & allowed
    while open_pairs.any():
        weighted = np.where(open_pairs, search.p / search.weights, np.inf)
        q = q_values(weighted, search.found + 1, tests, rules)
        if q.min() > rules.false_share:
            return
        k, c = _nearest_to_the_cause(search, q)
        search.found += 1
        search.q_so_far = max(search.q_so_far, float(q[k, c]))
        search.q[k, c] = search.q_so_far
        open_pairs[k, c] = False
        _include(search, int(k), CAUSES[int(c)])


def _nearest_to_the_cause(search: _Search, q: Array) -> tuple[int, int]:
    """The clearest pair, or a related pattern of that cause that passes too and lifts callbacks more.

    A proxy shares only part of what it stands for, so its own lift is diluted.
    """
    k, c = np.unravel_index(int(q.argmin()), q.shape)
    passing = q[:, c] <= search.rules.false_share
    rivals = [j for j in np.flatnonzero(passing) if j == k or _related(search, int(j), int(k))]
    return int(max(rivals, key=lambda j: search.lift[j, c])), int(c)


def _related(search: _Search, one: int, two: int) -> bool:
    """Whether two patterns go together on the openings where both are recorded."""
    pair = search.study.present[:, [one, two]]
    both = pair[~np.isnan(pair).any(axis=1)]
    if len(both) == 0:
        return False
    apart = both - both.mean(axis=0)
    spread = np.sqrt((apart**2).sum(axis=0).prod())
    return bool(apart[:, 0] @ apart[:, 1] > search.rules.related * spread)


def q_values(weighted_p: Array, rank: int, tests: int, rules: Rules) -> Array:
    """Weighted p times tests over rank, never less than the cap allows: flagged exactly when q <= the false share."""
    q: Array = np.minimum(1.0, weighted_p * max(tests / rank, rules.false_share / rules.cap))
    return q


def _include(search: _Search, k: int, cause: str) -> None:
    search.selected[cause].append(k)
    study, c = search.study, CAUSES.index(cause)
    fit = model(study, cause, search.selected[cause], search.rules.sd_search)
    p, _, search.lift[:, c] = mid_p(study.present, fit.expected, study.clocks[cause].event, search.rules)
    again = search.testable[:, c].copy()
    again[search.selected[cause]] = False
    search.p[again, c] = p[again]
    search.trail[cause].append((k, search.p[:, c].copy()))


def _not_a_consequence(search: _Search) -> NDArray[np.bool_]:
    """Pairs that may be found: all but what another testable pattern brings about, which is the same finding."""
    allowed = np.ones_like(search.testable)
    for k in range(len(search.study.patterns)):
        for c, cause in enumerate(CAUSES):
            origin = _origin(search.study, k, cause)
            allowed[k, c] = origin is None or not search.testable[origin, c]
    return allowed


def _origin(study: Study, k: int, cause: str) -> int | None:
    """The pattern that brings this one about, or the firm's own in its place."""
    names = [ready.pattern.name for ready in study.patterns]
    parent = study.patterns[k].pattern.consequence_of
    if parent not in names:
        return None
    at = names.index(parent)
    return study.same_as.get((at, cause), at)


def _backward(search: _Search) -> None:
    """Drop patterns that the others have made superfluous, worst first."""
    for c, cause in enumerate(CAUSES):
        while search.selected[cause]:
            picks = search.selected[cause]
            fit = model(search.study, cause, picks, search.rules.sd_backward)
            sd = np.sqrt(np.diag(fit.covariance()))[-len(picks) :]
            p = _upper_tail(fit.effects[-len(picks) :] / sd)
            worst = int(p.argmax())
            if p[worst] <= search.rules.keep_p:
                break
            search.p[picks[worst], c], search.q[picks[worst], c] = p[worst], np.nan
            del picks[worst]


def _upper_tail(z: Array) -> Array:
    from scipy.special import ndtr

    tail: Array = ndtr(-z)
    return tail


def _finish_q(search: _Search) -> None:
    """q of the pairs not found: the running maximum goes on in the order of their weighted p, above the line."""
    rules, tests = search.rules, int(search.testable.sum())
    weighted = np.where(search.testable & np.isnan(search.q), search.p / search.weights, np.inf)
    running, floor = search.q_so_far, np.nextafter(rules.false_share, 1)
    for rank, flat in enumerate(np.argsort(weighted, axis=None), start=search.found + 1):
        k, c = np.unravel_index(int(flat), weighted.shape)
        if not np.isfinite(weighted[k, c]):
            return
        running = max(running, float(q_values(weighted, rank, tests, rules)[k, c]), floor)
        search.q[k, c] = running


def _stand_ins(search: _Search) -> dict[tuple[int, str], int]:
    """For each pair that was clear until another pattern came in: that pattern."""
    found = dict(search.study.same_as)
    for cause in CAUSES:
        trail, picks = search.trail[cause], search.selected[cause]
        for k in range(len(search.study.patterns)):
            if k in picks or len(trail) < 2:
                continue
            by = _explained_by(search, k, cause)
            if by is not None and by in picks:
                found[k, cause] = by
    return found


def _explained_by(search: _Search, k: int, cause: str) -> int | None:
    """The pattern that brings this one about, if found; else the one whose coming in took its clarity away."""
    trail = search.trail[cause]
    origin = _origin(search.study, k, cause)
    if origin is not None and origin in search.selected[cause]:
        return origin
    p = np.array([values[k] for _, values in trail])
    rules = search.rules
    if not p[0] <= rules.proxy_p or not p[-1] > rules.proxy_gone_p:
        return None
    rise = np.diff(np.log(np.maximum(p, 1e-300)))
    return trail[1 + int(rise.argmax())][0]


