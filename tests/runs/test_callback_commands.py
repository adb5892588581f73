"""checks, patterns and revisit from the command line to JSON and to words, on a small book."""

import json

import pytest

from pipeline.cli.main import main
from pipeline.store.book import frame, newest_date, open_book
from schemas.results_callbacks import CheckRow, PatternRow, RevisitRow
from schemas.vocab import CAUSES, COMPLAINT
from tests.runs.fitted_book import sample_book

CONTRACT_PATTERN_KEYS = {
    "pattern", "cause", "text", "level", "openings_with", "openings_without", "callbacks_with", "callbacks_without",
    "recorded_share", "hazard_ratio", "low", "high", "p", "q", "flagged", "enough_data", "smallest_hr_seen",
    "stands_in_for", "threshold", "threshold_low", "threshold_high", "attributable_callbacks", "attributable_cost",
}  # fmt: skip


@pytest.fixture(scope="module")
def firm(tmp_path_factory):
    """160 jobs of the sample firm."""
    return sample_book(tmp_path_factory.mktemp("firm"))


@pytest.fixture
def ask(firm, capsys):
    """Run a command; give the JSON document or the printed text."""
    book, settings = firm

    def run(*words, use=settings):
        with pytest.raises(SystemExit) as stop:
            main(["--book", str(book), "--settings", str(use), *words])
        assert not stop.value.code
        printed = capsys.readouterr().out
        return json.loads(printed) if "--json" in words else printed

    return run


def refused(arguments, capsys):
    """Exit code and sentence of a command that cannot answer; nothing on standard output."""
    with pytest.raises(SystemExit) as stop:
        main(arguments)
    shown = capsys.readouterr()
    assert shown.out == ""
    return stop.value.code, shown.err


def test_patterns_have_every_promised_key_and_a_row_per_plausible_cause(ask):
    found = ask("patterns", "--json")
    assert set(found) >= {"as_of", "openings", "patterns"}
    for row in found["patterns"]:
        assert set(row) == set(PatternRow.__annotations__) >= CONTRACT_PATTERN_KEYS
        assert row["level"] in ("strong", "likely", "too_early", "not_enough_data")
        assert row["enough_data"] == (row["p"] is not None)
    pairs = [(row["pattern"], row["cause"]) for row in found["patterns"]]
    assert len(set(pairs)) == len(pairs)
    assert {("over_torque", "fit"), ("gasket_gap", "leak"), ("drain_slow", "drainage")} <= set(pairs)


def test_causes_are_searched_together_whichever_is_shown(ask):
    """The leak rows of the whole search are the rows of --cause leak."""
    whole = [row for row in ask("patterns", "--json")["patterns"] if row["cause"] == "leak"]
    assert ask("patterns", "--cause", "leak", "--json")["patterns"] == whole


def test_callbacks_with_and_without_a_pattern_never_exceed_those_of_the_cause(ask):
    found = ask("patterns", "--json")
    events = {total["cause"]: total["callbacks"] for total in found["causes"]}
    assert set(events) == set(CAUSES)
    for row in found["patterns"]:
        assert row["callbacks_with"] + row["callbacks_without"] <= events[row["cause"]]
        assert row["openings_with"] + row["openings_without"] <= found["openings"]


def test_what_a_cause_cost_is_what_its_callbacks_cost_in_the_list(ask):
    """Added up again from the list of callbacks: those that count, by complaint; the patterns' parts are in it."""
    listed, found = ask("callbacks", "--json")["rows"], ask("patterns", "--json")
    for total in found["causes"]:
        costs = [row["cost"] for row in listed if row["counts"] and row["complaint"] == total["cause"]]
        assert total["cost"] == pytest.approx(sum(cost for cost in costs if cost is not None))
        assert total["not_costed"] == costs.count(None)
        parts = [row["attributable_cost"] or 0 for row in found["patterns"] if row["cause"] == total["cause"]]
        assert total["cost_explained"] == pytest.approx(sum(parts))
    text = ask("patterns")
    assert "if the link is causal" in text
    assert text.count("all together") == len(found["causes"])


def test_first_complaints_of_the_causes_never_exceed_each_causes_own_share(ask):
    """An opening whose first callback was a leak is an opening called back for a leak."""
    for total in ask("patterns", "--json")["causes"]:
        assert 0 <= total["first_by_24_months"] <= total["by_24_months"] + 1e-12
        assert total["rate_low"] <= total["rate_per_100_years"] <= total["rate_high"]


def test_reports_left_out_are_counted_by_reason(ask):
    """Counted again from the list of callbacks."""
    listed = [row["why_not"] for row in ask("callbacks", "--json")["rows"] if row["why_not"]]
    found = ask("patterns", "--json")
    assert found["left_out"] == {reason: listed.count(reason) for reason in set(listed)}
    by_words = found["left_out_by_words"]
    assert 0 < len(by_words) <= listed.count("not ours to pay")
    assert f"alone: {by_words[0]}" in ask("patterns")


def test_any_numeric_reading_can_be_searched_for_its_threshold(ask):
    """160 jobs hold too few leaks with a gap recorded, or no clear cut: a sentence, never a made-up number."""
    found = ask("patterns", "--threshold", "gasket_gap_in", "--cause", "leak", "--json")
    (search,) = found["thresholds"]
    assert (search["reading"], search["cause"]) == ("gasket_gap_in", "leak")
    assert (search["threshold"], search["low"], search["high"]) == (None, None, None)
    assert search["text"].startswith("No threshold can be placed on the gap in the gasket yet: ")
    assert f"{search['callbacks']} callback" in search["text"]


def test_the_words_never_say_no_effect(ask):
    text = ask("patterns").lower()
    assert "no effect" not in text.replace("never the same as no effect", "")
    assert "because of" not in text


def test_an_own_pattern_of_the_settings_is_searched_too(ask, tmp_path):
    settings = tmp_path / "own.toml"
    settings.write_text(
        '[patterns.set_in_rain_and_cold]\ntext = "it was set in rain and cold"\ncauses = ["leak"]\n'
        'when = "precipitation_in > 0 and temp_min_f < 45"\n'
    )
    rows = ask("patterns", "--json", use=settings)["patterns"]
    (mine,) = [row for row in rows if row["pattern"] == "set_in_rain_and_cold"]
    assert mine["cause"] == "leak"
    assert mine["openings_with"] > 0


def test_an_own_pattern_beyond_the_grammar_is_named_and_nothing_is_printed(firm, tmp_path, capsys):
    settings = tmp_path / "own.toml"
    settings.write_text('[patterns.mine]\ntext = "x"\ncauses = ["leak"]\nwhen = "rain_fell > 3"\n')
    code, sentence = refused(["--book", str(firm[0]), "--settings", str(settings), "patterns", "--json"], capsys)
    assert code == 3
    assert "mine" in sentence
    assert "rain_fell" in sentence


@pytest.mark.parametrize("words", [["--cause", "rust"], ["--threshold", "soil"], ["--threshold", "setting_month"]])
def test_an_unknown_cause_or_reading_is_wrong_usage(firm, words, capsys):
    code, sentence = refused(["--book", str(firm[0]), "patterns", *words], capsys)
    assert code == 2
    assert words[1] in sentence


def test_checks_lists_every_reading_beyond_a_limit(ask, firm):
    """Recounted from the written cards: the sample firm allows 25 lbft and no break in the gasket."""
    import csv

    rows = ask("checks", "--json")["rows"]
    for row in rows:
        assert set(row) == set(CheckRow.__annotations__)
    with (firm[1].parent / "install_checks.csv").open(newline="") as file:
        cards = list(csv.DictReader(file))
    for reading, limit in (("anchor_torque_max_lbft", 25.0), ("gasket_gap_in", 0.0)):
        expected = {card["opening_id"] for card in cards if card[reading] and float(card[reading]) > limit}
        assert {row["opening_id"] for row in rows if row["reading"] == reading} == expected


def test_checks_shows_first_what_has_not_called_back_and_is_under_warranty(ask):
    """Words against the answer's own rows; openings out of warranty are those finished 24 months or more before."""
    rows = ask("checks", "--json")["rows"]
    to_see = [row for row in rows if row["under_warranty"] and not row["called_back"]]
    told = ask("checks")
    assert f"To look at first: {len(to_see)}, " in told
    assert "areaway checks --all" in told
    assert 0 < len(to_see) < len(rows)
    assert "over" not in [line.split()[-1] for line in told.splitlines() if line[:1].isalnum() and "  " in line]
    assert ask("checks", "--all").count("\n") > len(rows)


def test_a_limit_on_the_weather_is_held_against_the_setting_day(ask, firm, tmp_path):
    """At most 0.5 in of rain: the openings whose setting day had more, and `revisit` names the same ones."""
    limits = tmp_path / "rain.toml"
    limits.write_text("[limits]\nprecipitation_in = { max = 0.5 }\ntemp_min_f = { min = 15 }\n")
    with open_book(firm[0]) as con:
        facts = frame(con, "opening_facts", {"as_of": newest_date(con)}).to_dicts()
    wet = {row["opening_id"] for row in facts if (row["precipitation_in"] or 0) > 0.5}
    cold = {row["opening_id"] for row in facts if row["temp_min_f"] is not None and row["temp_min_f"] < 15}
    assert wet
    rows = ask("checks", "--json", use=limits)["rows"]
    assert {row["opening_id"] for row in rows if row["reading"] == "precipitation_in"} == wet
    assert {row["opening_id"] for row in rows if row["reading"] == "temp_min_f"} == cold
    for row in ask("revisit", "--top", "100000", "--json", use=limits)["rows"]:
        named = any("outside our own limit" in reason for reason in row["reasons"])
        assert named == (row["opening_id"] in wet | cold)


def test_checks_without_limits_says_how_to_set_them(ask, tmp_path):
    empty = tmp_path / "empty.toml"
    empty.write_text("")
    assert "[limits]" in ask("checks", use=empty)


def test_revisit_names_the_worst_first_with_reasons(ask):
    found = ask("revisit", "--top", "5", "--json")
    assert len(found["rows"]) == 5
    chances = [row["probability"] for row in found["rows"]]
    assert chances == sorted(chances, reverse=True)
    for row in found["rows"]:
        assert set(row) == set(RevisitRow.__annotations__)
        assert set(row["by_cause"]) == set(COMPLAINT)
        assert max(row["by_cause"].values()) <= row["probability"] <= sum(row["by_cause"].values())
        assert row["reasons"]
        assert all(("times as often" in reason) == ("(range " in reason) for reason in row["reasons"])
        assert row["warranty_ends_on"] > found["as_of"]


def test_the_expected_costs_of_all_openings_under_warranty_add_up_to_the_reserve(ask):
    found, reserve = ask("revisit", "--top", "100000", "--json"), ask("reserve", "--json")
    assert len(found["rows"]) == found["openings_under_warranty"] == reserve["openings_under_warranty"]
    assert sum(row["expected_cost"] for row in found["rows"]) == pytest.approx(reserve["expected_cost"])


def test_only_openings_under_warranty_on_the_as_of_date_are_to_be_visited(ask):
    """A top larger than the firm lists each opening under warranty once."""
    found = ask("revisit", "--top", "100000", "--json")
    assert len(found["rows"]) == found["openings_under_warranty"]
    assert len({row["opening_id"] for row in found["rows"]}) == len(found["rows"])


def test_a_reading_beyond_the_firms_own_limit_is_a_reason(ask):
    beyond = {row["opening_id"] for row in ask("checks", "--json")["rows"]}
    listed = ask("revisit", "--top", "100000", "--json")["rows"]
    for row in listed:
        named = any(reason.startswith("outside our own limit") for reason in row["reasons"])
        assert named == (row["opening_id"] in beyond)


@pytest.mark.parametrize("command", ["patterns", "revisit"])
def test_before_any_job_is_finished_there_is_nothing_to_judge(firm, command, capsys):
    code, sentence = refused(["--book", str(firm[0]), command, "--as-of", "2001-01-01"], capsys)
    assert code == 4
    assert "0 finished openings" in sentence


def test_no_book_yet_says_how_to_make_one(tmp_path, capsys):
    code, sentence = refused(["--book", str(tmp_path / "none.duckdb"), "patterns"], capsys)
    assert code == 4
    assert "ingest" in sentence
