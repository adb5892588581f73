"""Which day an opening was set, and the weather of it: small tables in, the facts out."""

import datetime as dt

import pytest

from pipeline.store.book import frame, open_book

SETUP = """
insert into jobs (job_id, crew, completed_on, warranty_months, weather_station) values
    ('J1', 'Heron', '2024-03-20', null, 'S1'), ('J2', 'Otter', '2024-03-20', 12, 'S2'),
    ('J3', 'Otter', null, null, null);
insert into openings (opening_id, job_id, wall_type) values
    ('own day', 'J1', 'brick'), ('job day', 'J1', 'brick'), ('card day', 'J2', 'stone'), ('no day', 'J3', 'stone');
insert into labour (job_id, opening_id, worked_on, phase, hours) values
    ('J1', 'own day', '2024-03-12', 'frame_setting', 1), ('J1', 'own day', '2024-03-14', 'frame_setting', 1),
    ('J1', null, '2024-03-11', 'frame_setting', 1), ('J1', 'job day', '2024-03-09', 'excavation', 5),
    ('J2', null, '2024-03-02', 'excavation', 5);
insert into install_checks (opening_id, checked_on, gasket_gap_in) values
    ('own day', '2024-03-15', 0), ('card day', '2024-03-16', 1.5), ('no day', '2025-01-01', 2);
insert into weather (station_id, observed_on, temp_min_f, precipitation_in) values
    ('S1', '2024-03-11', 31, 0), ('S1', '2024-03-12', 35, 0.4), ('S2', '2024-03-16', 28, null),
    ('S1', '2024-03-16', 50, 2);
"""


@pytest.fixture(scope="module")
def facts(tmp_path_factory):
    path = tmp_path_factory.mktemp("book") / "firm.duckdb"
    with open_book(path, write=True, create=True) as con:
        con.execute(SETUP)
        rows = frame(con, "opening_facts", {"as_of": dt.date(2024, 12, 31)})
        terms = [{"valid_from": dt.date(1900, 1, 1), "value": 24}]
        jobs = frame(con, "finished_jobs", {"as_of": dt.date(2024, 12, 31), "warranty": terms})
    return {row["opening_id"]: row for row in rows.to_dicts()}, jobs


@pytest.mark.parametrize(
    ("opening", "day", "low", "rain"),
    [
        ("own day", dt.date(2024, 3, 12), 35, 0.4),
        ("job day", dt.date(2024, 3, 11), 31, 0),
        ("card day", dt.date(2024, 3, 16), 28, None),
        ("no day", None, None, None),
    ],
)
def test_the_setting_day_and_its_weather_at_the_jobs_own_station(facts, opening, day, low, rain):
    """First frame_setting day of the opening, else of its job, else the day of the check; else not recorded."""
    row = facts[0][opening]
    assert (row["setting_day"], row["temp_min_f"], row["precipitation_in"]) == (day, low, rain)


def test_a_card_dated_after_the_as_of_date_is_left_out(facts):
    assert facts[0]["no day"]["gasket_gap_in"] is None
    assert facts[0]["card day"]["gasket_gap_in"] == 1.5


def test_the_warranty_of_a_finished_job_is_its_own_else_the_firms(facts):
    """J1 names none: 24 months; J2 names 12; J3 is open."""
    rows = facts[1].select("job_id", "warranty_months").rows()
    assert rows == [("J1", 24), ("J2", 12)]
