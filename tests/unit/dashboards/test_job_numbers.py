"""A month's point in a chart names the jobs behind it."""

from dashboards.owner_charts import few, margin_by_month
from tests.pages.sample import job_rows, parts


def test_a_few_jobs_are_named_and_the_others_counted() -> None:
    """Four numbers at most."""
    assert few(["J1", "J2"]) == "J1, J2"
    assert few(["J1", "J2", "J3", "J4"]) == "J1, J2, J3, J4"
    assert few(["J1", "J2", "J3", "J4", "J5", "J6"]) == "J1, J2, J3, J4 and 2 more"


def test_every_month_names_only_jobs_finished_in_it() -> None:
    """The hover of each month with jobs ends in their numbers."""
    given = parts()
    finished = {row["job_id"]: row["completed_on"].strftime("%Y-%m") for row in job_rows().iter_rows(named=True)}
    figure = margin_by_month(given).figure
    assert figure is not None
    points = figure.data[0]
    checked = 0
    for month, text in zip(points["x"], points["hovertext"], strict=True):
        if month not in finished.values():
            continue
        named = text.split("; jobs ")[1].split(" and ")[0].split(", ")
        assert {finished[job] for job in named} == {month}
        assert points["customdata"][list(points["x"]).index(month)] in ("", f"job-{named[0]}")
        checked += 1
    assert checked > 0
