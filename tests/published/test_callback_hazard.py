"""The hazard model, the mid-p and the false discovery rule against published figures and reference libraries."""

import numpy as np
import pytest

from pipeline.callbacks.hazard import Clock, clock, fit_hazard
from pipeline.callbacks.selection import Rules, mid_p, q_values

# Weeks of remission (Freireich and others 1963): 6-MP, then placebo; 1 = relapsed
WEEKS = np.array(
    [
        *[6, 6, 6, 7, 10, 13, 16, 22, 23, 6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35],
        *[1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23],
    ],
    float,
)
RELAPSED = np.array([1] * 9 + [0] * 12 + [1] * 21, bool)
PLACEBO = np.array([[0.0]] * 21 + [[1.0]] * 21)
NO_PENALTY = np.array([1e-12])


def risk_sets(days, came):
    """One band per day with an event, 'exposure' 1 for those still watched: Cox's model with Breslow ties."""
    steps = np.unique(days[came])
    events = np.array([(days[came] == step).sum() for step in steps], float)
    return Clock((days[:, None] >= steps).astype(float), came, events)


def test_with_risk_sets_for_bands_the_model_is_coxs():
    """R coxph, Breslow ties: 1.50919141, standard error 0.409564406."""
    fit = fit_hazard(PLACEBO, risk_sets(WEEKS, RELAPSED), NO_PENALTY)
    assert fit.effects[0] == pytest.approx(1.50919141, rel=1e-6)
    assert np.sqrt(fit.covariance()[0, 0]) == pytest.approx(0.409564406, rel=1e-6)


def test_close_to_coxs_model_with_efron_ties():
    """R coxph, Efron ties: 1.57212515; ties are treated otherwise, so within a fifth of a standard error."""
    fit = fit_hazard(PLACEBO, risk_sets(WEEKS, RELAPSED), NO_PENALTY)
    assert fit.effects[0] == pytest.approx(1.57212515, abs=0.2 * 0.4124)


def test_several_covariates_agree_with_the_reference_library():
    """Lung cancer data shipped with lifelines; statsmodels PHReg with Breslow ties."""
    datasets = pytest.importorskip("lifelines.datasets")
    reference = pytest.importorskip("statsmodels.duration.hazard_regression")
    lung = datasets.load_lung().dropna(subset=["ph.ecog"])
    features = lung[["age", "sex", "ph.ecog"]].to_numpy(float)
    days, died = lung["time"].to_numpy(float), lung["status"].to_numpy(bool)
    theirs = reference.PHReg(days, features, status=died).fit()
    ours = fit_hazard(features - features.mean(axis=0), risk_sets(days, died), np.full(3, 1e-12))
    assert ours.effects == pytest.approx(theirs.params, rel=1e-5)


def risk_sets_within(strata, days, came):
    """Bands as above for each stratum on its own: Cox's stratified model with Breslow ties."""
    parts = []
    for name in np.unique(strata):
        here = strata == name
        time = risk_sets(days[here], came[here])
        years = np.zeros((len(days), len(time.band_events)))
        years[here] = time.years
        parts.append((years, time.band_events))
    return Clock(np.hstack([years for years, _ in parts]), came, np.concatenate([events for _, events in parts]))


def test_stratified_by_sex_the_model_is_coxs():
    """Lung data, age and ECOG score within sex; R coxph with strata: Breslow ties 0.0105520228 and 0.4620022358; with
    Efron ties 0.0105662544 and 0.4624244344, less than a hundredth of a standard error away."""
    datasets = pytest.importorskip("lifelines.datasets")
    lung = datasets.load_lung().dropna(subset=["ph.ecog"])
    features = lung[["age", "ph.ecog"]].to_numpy(float)
    time = risk_sets_within(lung["sex"].to_numpy(), lung["time"].to_numpy(float), lung["status"].to_numpy(bool))
    fit = fit_hazard(features - features.mean(axis=0), time, np.full(2, 1e-12))
    assert fit.effects == pytest.approx([0.0105520228, 0.4620022358], rel=1e-6)
    errors = np.sqrt(np.diag(fit.covariance()))
    assert (np.abs(fit.effects - [0.0105662544, 0.4624244344]) < errors / 100).all()


def test_expected_relapses_and_the_verdict_are_those_of_the_log_rank_test():
    """6-MP data, no effect fitted: 19.251 and 10.749 expected where 9 and 21 came (R survdiff), chi-square 16.793, p
    0.000042; our one-sided mid-p of the same counts says as much: below 0.0001, and half of that below twice p."""
    fit = fit_hazard(PLACEBO, risk_sets(WEEKS, RELAPSED), np.array([1e12]))
    assert (fit.expected[:21].sum(), fit.expected[21:].sum()) == pytest.approx((19.251, 10.749), abs=5e-4)
    p, testable, _ = mid_p(PLACEBO, fit.expected, RELAPSED)
    assert testable[0]
    assert 1e-5 < p[0] < 1e-4


def test_with_counts_for_events_the_model_is_poisson_regression():
    """British doctors (Doll and Hill 1966), five age bands: log rate ratio of smokers 0.354535637, standard error
    0.107374044 (R glm and statsmodels); beside the Mantel-Haenszel ratio 1.424682."""
    deaths = np.array([32, 104, 206, 186, 102, 2, 12, 28, 28, 31.0])
    years = np.array([52_407, 43_248, 28_612, 12_663, 5_317, 18_790, 10_673, 5_710, 2_585, 1_462.0])
    by_band = np.vstack([np.diag(years[:5]), np.diag(years[5:])])
    smokes = np.array([[1.0]] * 5 + [[0.0]] * 5)
    fit = fit_hazard(smokes, Clock(by_band, deaths, deaths[:5] + deaths[5:]), NO_PENALTY)
    assert fit.effects[0] == pytest.approx(0.354535637, rel=1e-6)
    assert np.sqrt(fit.covariance()[0, 0]) == pytest.approx(0.107374044, rel=1e-6)
    assert np.exp(fit.effects[0]) == pytest.approx(1.424682, rel=1e-3)


def test_age_bands_cost_little_against_coxs_model():
    """Lung data: with our six age bands each effect lies within a quarter of its standard error of R coxph (Efron):
    0.0110667646, -0.5526123957, 0.4637284754."""
    datasets = pytest.importorskip("lifelines.datasets")
    lung = datasets.load_lung().dropna(subset=["ph.ecog"])
    features = lung[["age", "sex", "ph.ecog"]].to_numpy(float)
    features -= features.mean(axis=0)
    fit = fit_hazard(features, clock(lung["time"].to_numpy(float), lung["status"].to_numpy(bool)), np.full(3, 1e-12))
    errors = np.sqrt(np.diag(fit.covariance()))
    assert (np.abs(fit.effects - [0.0110667646, -0.5526123957, 0.4637284754]) < errors / 4).all()


def test_the_penalty_keeps_a_separated_effect_finite():
    """All events on one side: Cox's estimate is infinite; N(0, 0.7^2) holds it within two prior sd."""
    days, came = np.full(40, 100.0), np.arange(40) < 6
    fit = fit_hazard((np.arange(40) < 20).astype(float)[:, None], clock(days, came), np.array([1 / 0.7**2]))
    assert 0.5 < fit.effects[0] < 1.4


def test_mid_p_of_a_published_pair_of_rates():
    """41 and 15 events, 28,010 of 47,027 woman-years exposed (Boice and Monson 1977): two-sided mid-p 0.0354574218 is
    twice our one-sided one (Rothman's definition; OpenEpi and R epitools agree, from memory)."""
    exposed = np.array([1.0] * 41 + [0.0] * 15)
    share = 28_010 / 47_027
    expected = np.where(exposed == 1, share / 41, (1 - share) / 15)
    p, testable, _ = mid_p(exposed[:, None], expected, np.ones(56, bool))
    assert p[0] == pytest.approx(0.0354574218 / 2, rel=1e-7)
    assert testable[0]


def test_openings_without_a_record_are_left_out_of_the_test():
    """Two more events where the pattern was not recorded change nothing."""
    exposed = np.array([1.0] * 41 + [0.0] * 15 + [np.nan] * 2)
    share = 28_010 / 47_027
    expected = np.concatenate([np.where(exposed[:56] == 1, share / 41, (1 - share) / 15), [0.4, 0.9]])
    assert mid_p(exposed[:, None], expected, np.ones(58, bool))[0][0] == pytest.approx(0.0177287109, rel=1e-7)


@pytest.mark.parametrize(("events", "with_it", "testable"), [(4, 2, False), (5, 3, True), (60, 0, True)])
def test_a_pattern_is_testable_from_five_events_on(events, with_it, testable):
    """House rule: at least 5 events, and 0.75 expected on each side; half of the expected events have the pattern."""
    exposed = np.tile([1.0, 0.0], 100)
    event = np.zeros(200, bool)
    event[np.flatnonzero(exposed == 1)[:with_it]] = True
    event[np.flatnonzero(exposed == 0)[: events - with_it]] = True
    assert mid_p(exposed[:, None], np.full(200, 0.1), event)[1].tolist() == [testable]


def test_what_is_testable_follows_the_rules_the_search_carries():
    """House rule: 4 events are too few by the usual rules, and enough by rules that ask for 3."""
    exposed, event = np.tile([1.0, 0.0], 100), np.arange(200) < 4
    given = (exposed[:, None], np.full(200, 0.1), event)
    assert mid_p(*given)[1].tolist() == [False]
    assert mid_p(*given, Rules(least_events=3))[1].tolist() == [True]


BH_1995 = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459]


def test_false_discovery_rule_on_the_thrombolysis_trial():
    """Benjamini and Hochberg 1995, section 4.2, 15 tests: 4 pass at 5 %; q 0.0015, 0.003, 0.0095, 0.035625, 0.0603."""
    rules = Rules(false_share=0.05, cap=1.0)
    q = [q_values(np.array(p), rank, 15, rules) for rank, p in enumerate(BH_1995, start=1)]
    assert q[:5] == pytest.approx([0.0015, 0.003, 0.0095, 0.035625, 0.0603], rel=1e-6)
    assert sum(value <= 0.05 for value in q[:5]) == 4


def test_the_cap_holds_however_many_patterns_pass():
    """Rank 30 of 40 would pass p = 0.02 at 10 %; the cap of 0.01 does not, and q says so."""
    rules = Rules()
    assert q_values(np.array(0.02), 30, 40, rules) > rules.false_share
    assert q_values(np.array(0.009), 30, 40, rules) <= rules.false_share
