"""What `areaway quote` says beside its figures: contradictions, sums, past quotes, what was read and counted."""

import pytest

from tests.runs.quote_asked import ONE


def test_what_contradicts_itself_stands_before_the_figures(told):
    """A dig that is not dug, a start that is past, and an as-of day before the newest record learned from."""
    said = "\n".join(told.text(*ONE, "--dig_method", "none", "--start", "2019-05-01", "--as-of", "2025-06-30"))
    settle, _ = said.split("\ncost")
    assert "opening 1: No digging is said, yet the dig is to go 60 in below grade" in settle
    assert "The start, 2019-05-01, is past on 2025-06-30" in " ".join(settle.split())
    assert "learned from records up to" in settle


def test_a_list_is_priced_job_by_job_and_without_what_is_to_be_priced_by_hand(told, tmp_path):
    """A 390 in hole beside a usual one: the usual one alone costs what it costs when asked alone."""
    file = tmp_path / "list.csv"
    row = "new_cut,48,steel,machine,60,clay,gravel_pit,8"
    file.write_text(
        "opening_id,job_id,wall_type,rough_width_in,opening_work,rough_height_in,well_type,dig_method,"
        f"depth_below_grade_in,soil,drain,wall_thickness_in\nA,J1,poured_concrete,48,{row}\nB,J2,poured_concrete,390,{row}\n"
    )
    answer, alone = told.answer("--opening", str(file)), told.answer(*ONE)["total"]
    assert [job["price_at_margin"] is None for job in answer["jobs"]] == [False, True]
    assert sum(job["expected_cost"] for job in answer["jobs"]) == pytest.approx(answer["total"]["expected_cost"])
    assert answer["within_experience"]["openings"] == ["A"]
    for price in (answer["within_experience"], answer["jobs"][0]):
        assert price["price_at_margin"] == pytest.approx(alone["price_at_margin"])
    first = told.text("--opening", str(file))[:4]
    assert "Do not rely on the hours and costs below" in first[1] and first[2].startswith("Without it, A: $")
    assert any(line.startswith("J2 ") and line.endswith("by hand") for line in told.text("--opening", str(file)))


def test_the_order_has_a_sum_and_the_price_says_what_it_counts_of_it(told):
    """All lines of the order add up to the line that says so; a model nobody bought is named."""
    answer, lines = told.answer(*ONE), told.text(*ONE, "--window_spec", "nope")
    [job] = answer["jobs"]
    bought = f"${sum(line['cost'] or 0 for line in job['order']):,.0f}"
    said = "\n".join(told.text(*ONE))
    assert f"the order of {bought} buys whole packs" in said
    assert job["material_cost"] == pytest.approx(answer["total"]["material_cost"])
    assert "No window nope was ever bought or listed: priced as any window" in " ".join(" ".join(lines).split())


def test_the_quote_says_where_its_price_stands_among_past_ones(told):
    """Won and lost by price over cost: exactly one band holds this price."""
    lines = told.text(*ONE, "--price", "9000")
    cost = told.answer(*ONE)["total"]["expected_cost"]
    [here] = [line for line in lines if "is here" in line]
    assert f"this price, {9000 / cost:.2f} times cost" in here
    assert "all hands together" in lines[2]


def test_everyday_headings_of_a_list_are_read_as_inspect_understands_them(told, tmp_path):
    """The same opening under an office's own words and under ours; the reading is said on standard error."""
    ours, theirs = tmp_path / "ours.csv", tmp_path / "theirs.csv"
    ours.write_text("opening_id,wall_type,opening_work,rough_width_in,rough_height_in,well_type\nA,brick,new_cut,40,48,steel\n")
    theirs.write_text("opening,wall,type of work,RO width,RO height,well\nA,brick,new cut,40,48,steel\n")
    asked = [told.answer("--opening", str(file))["openings"][0]["asked"] for file in (ours, theirs)]
    assert asked[0] == asked[1]
    code, _, notes = told.run(["--opening", str(theirs)])
    assert code == 0 and "wall as wall_type" in notes
    theirs.write_text("opening,front,type of work,RO width,RO height,well\nA,red,new cut,40,48,steel\n")
    code, fault = told.fault("--opening", str(theirs))
    assert code == 3 and "wall_type needed for a quote, not found" in fault and "[headers.openings]" in fault


def test_an_enlargement_without_the_old_size_says_what_it_counts(told):
    """All of the hole is wall to take out; with the old size there is nothing to say."""
    asked = [*ONE, "--opening_work", "enlarge", "--well_type", "none", "--drain", "none"]
    old = ["--existing_width_in", "30", "--existing_height_in", "20"]
    without, given = (told.answer(*asked, *more)["openings"][0]["assumed"] for more in ([], old))
    said = "no size of the old window given: all of the hole is counted as wall to cut and take out"
    assert said in without and said not in given
