"""Two small firms' folders as offices keep them, counted by hand: looked at, taken in, corrected, carried elsewhere.

All names, jobs and prices are invented.
"""

import csv
from collections.abc import Mapping
from pathlib import Path

from schemas.kinds import KINDS
from tests.runs.commands import Answer, areaway, content, taken_in, waiting, written

ABBREVIATED = {
    "JOBS.csv": 'JobNum,Lead,StartDt,ComplDt,ContrAmt,COs\n1001,Marty,3/4/24,3/9/24,"7,450.00",250\n'
    '1002,Marty,3/11/24,,6900,\n1003,,13/14/24,,6900,\n',
    "materials PO.csv": "PO Date,Item Desc.,Qty,U/M,Price Ea.,Job,Size,Ln\n3/5/24,Window,1,ea,$412.00,1001,48x48,1\n"
    '3/5/24,Well,1,ea,"$1,105.50",1001,"44"" deep",2\n3/6/24,gravel,2.5,yds,$38.00,1001,,3\n'
    "3/6/24,Butyl tape,3,rolls,12.5,1001,,4\n3/7/24,Misc,1,,25,1001,,5\n3/7/24,caulk,4,tube,USD 6.75,1002,,6\n"
    ",,,,1600.00,,,\n",
    "misc costs.csv": "Job,Type,Amt,Dt\n1001,Permit,85,3/1/24\n1001,dump fee,120,3/8/24\n1002,rental,210,3/12/24\n"
    "1002,Engineering,300,3/12/24\n",
}
CARDS = {
    "jobs.txt": "Job ID\tCrew Name\tDate Started\tDate Done\tSell Price\n0012\tEast\tMarch 4, 2024\tMar 9 2024\t7k\n"
    "0013\tEast\t4-Mar-24\t\t$6,400.00\n",
    "labour/march.csv": "Time card,,,,\nEmp,Job ID,Work Date,Hrs,Cost code\nlb,0012,3/4/24,4 1/2,Excavate\n"
    "lb,0012,3/5/24,½,Layout\n\n\nEmp,Job ID,Work Date,Hrs,Cost code\nlb,12,3/6/24,8,Install window\n"
    "lb,0012,3/6/24,7:30,saw cutting\nlb,0012,3/6/24,7h30,Backfill\nSubtotal,,,28,\n",
    "quotes.csv": "Quote #,Date,# of windows,Bid,Result,Job ID\nQ1,2/1/24,1,7000,Sold,0012\nQ2,2/9/24,2,12500,lost,\n"
    "Q3,2/20/24,1,6400,pending,0013\n",
}


def folder_of(tmp_path: Path, files: Mapping[str, str]) -> Path:
    """A firm's folder."""
    for name, text in files.items():
        written(tmp_path / "firm", name, text)
    return tmp_path / "firm"


def with_settings(tmp_path: Path, *arguments: object) -> Answer:
    """A command under the starting settings."""
    return areaway(tmp_path / "book.duckdb", "--settings", tmp_path / "areaway.toml", *arguments)


def inspected(tmp_path: Path, folder: Path) -> str:
    """What inspect says; the starting settings are written."""
    answer = areaway(tmp_path / "book.duckdb", "inspect", folder, "--out", tmp_path / "areaway.toml")
    assert answer.code == 0, answer.err
    return answer.out


def ingested(tmp_path: Path, path: Path) -> dict[str, tuple[int, ...]]:
    """Rows, new, updated, unchanged and waiting per file."""
    answer = with_settings(tmp_path, "ingest", path, "--received", "2024-12-31", "--json")
    assert answer.code == 0, answer.err
    counts = ("rows", "accepted", "updated", "unchanged", "quarantined")
    return {Path(file["path"]).name: tuple(file[name] for name in counts) for file in answer.document["files"]}


def waits(tmp_path: Path) -> list[tuple[str, int, str]]:
    """File, line and reason of what waits, in the order of lines."""
    found = [(Path(row["file"]).name, row["row"], row["reason"]) for row in waiting(tmp_path / "book.duckdb")]
    return sorted(found)


def corrected(tmp_path: Path, kind: str, cells: Mapping[int, Mapping[str, str]]) -> Path:
    """The rows of one kind that wait, some of their cells put right by line; the other lines are left out."""
    sheet = tmp_path / f"{kind} to correct.csv"
    assert with_settings(tmp_path, "quarantine", "--kind", kind, "--export", sheet).code == 0
    with sheet.open(newline="", encoding="utf-8-sig") as file:
        rows = [row for row in csv.DictReader(file) if int(row["source_row"]) in cells]
    with sheet.open("w", newline="", encoding="utf-8") as file:
        sheet_out = csv.DictWriter(file, list(rows[0]))
        sheet_out.writeheader()
        sheet_out.writerows({**row, **cells[int(row["source_row"])]} for row in rows)
    return sheet


def comes_back_the_same(tmp_path: Path) -> bool:
    """Whether the exported records, taken into a new book, are the same records."""
    out = tmp_path / "out"
    assert areaway(tmp_path / "book.duckdb", "export", "--out", out).code == 0
    taken_in(tmp_path / "new.duckdb", *(out / f"{kind}.csv" for kind in KINDS))
    records = [
        {kind: [row[: len(KINDS[kind].columns())] for row in content(book)[f"main.{kind}"]] for kind in KINDS}
        for book in (tmp_path / "book.duckdb", tmp_path / "new.duckdb")
    ]
    return records[0] == records[1] and any(records[0].values())


def test_abbreviated_headings_of_an_order_book_go_in_and_what_waits_says_why(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, ABBREVIATED)
    said = inspected(tmp_path, folder)
    assert "would stop" not in said
    assert "misc costs.csv: other_costs, 4 rows" in said
    assert ingested(tmp_path, folder) == {
        "JOBS.csv": (3, 2, 0, 0, 1),
        "materials PO.csv": (7, 5, 0, 0, 2),
        "misc costs.csv": (4, 3, 0, 0, 1),
    }
    jobs, no_unit, sum_line, category = waits(tmp_path)
    assert jobs[:2] == ("JOBS.csv", 4)
    assert jobs[2].startswith("crew is empty; it must be filled in; also started_on is '13/14/24'; it must be a date")
    assert no_unit == ("materials PO.csv", 6, "unit is empty; it must be filled in")
    assert sum_line[:2] == ("materials PO.csv", 8)
    assert category[:2] == ("misc costs.csv", 5)
    assert category[2].startswith("category is 'Engineering'; it must be one of permit, subcontract, ")
    back = corrected(tmp_path, "materials", {6: {"unit": "ea"}})
    assert ingested(tmp_path, back) == {back.name: (1, 1, 0, 0, 0)}
    assert [(name, line) for name, line, _ in waits(tmp_path)] == [jobs[:2], sum_line[:2], category[:2]]
    assert comes_back_the_same(tmp_path)


def test_time_cards_with_page_breaks_wait_for_their_job_and_go_in_with_its_correction(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, CARDS)
    said = inspected(tmp_path, folder)
    assert "Bid: perhaps price; right only if it is the price offered, not the number of the bid" in said
    assert "'Cost code' cannot be read" not in said
    assert with_settings(tmp_path, "ingest", folder).code == 3  # the price of a quote is not named yet
    settings = tmp_path / "areaway.toml"
    settings.write_text(settings.read_text(encoding="utf-8").replace('# "Bid"', '"Bid"'), encoding="utf-8")
    assert ingested(tmp_path, folder) == {
        "jobs.txt": (2, 1, 0, 0, 1),
        "march.csv": (7, 0, 0, 0, 7),
        "quotes.csv": (3, 2, 0, 0, 1),
    }
    absent = "job_id is '{}'; that job is not in the book yet; this row goes in by itself when it arrives"
    assert waits(tmp_path) == [
        ("jobs.txt", 2,
         "contract_price is '7k'; it must be an amount in US dollars such as 1250, $1,250.00 or (35.00)"),
        ("march.csv", 3, absent.format("0012")),
        ("march.csv", 4, absent.format("0012")),
        ("march.csv", 7, "this is the header again, not a record; drop it: areaway quarantine --drop ID --reason TEXT"),
        ("march.csv", 8, absent.format("12")),
        ("march.csv", 9, absent.format("0012")),
        ("march.csv", 10, absent.format("0012")),
        ("march.csv", 11, "this is a TOTAL line, not a record; drop it: areaway quarantine --drop ID --reason TEXT"),
        ("quotes.csv", 2, absent.format("0012")),
    ]  # fmt: skip
    back = corrected(tmp_path, "jobs", {2: {"contract_price": "7000"}})
    answer = with_settings(tmp_path, "ingest", back, "--received", "2024-12-31", "--json").document
    assert (answer["accepted"], answer["released"]) == (1, 5)
    again, cut_short, subtotal = waits(tmp_path)
    assert (again[1], cut_short[1], subtotal[1]) == (7, 8, 11)
    assert cut_short[2] == absent.format("12") + "; in the book is '0012': if that is meant, correct this row"
    assert comes_back_the_same(tmp_path)


def test_inspect_shows_a_folder_although_one_weather_file_does_not_say_its_unit(tmp_path: Path) -> None:
    jobs = "job_id,crew,started_on,contract_price\nJ1,n,2024-05-01,5\n"
    daily = "STATION,NAME,DATE,PRCP,TMAX,TMIN\nS1,Field,2024-05-01,0.10,70,50\n"
    folder = folder_of(tmp_path, {"daily.csv": daily, "jobs.csv": jobs})
    said = inspected(tmp_path, folder)
    assert "daily.csv: weather, 1 row\n  ingest would stop here (exit 3)\n  a daily-summaries file does not say" in said
    assert "jobs.csv: jobs, 1 row\n  with the starting settings 1 row can go in, none would wait" in said
    settings = (tmp_path / "areaway.toml").read_text(encoding="utf-8")
    assert '# precipitation_in = "tenths_mm"   # needed for ' in settings


def test_a_file_of_no_known_kind_is_shown_as_the_kind_its_headings_are_most_like(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, {"stuff.csv": ABBREVIATED["materials PO.csv"]})
    said = inspected(tmp_path, folder)
    assert "its headings look most like materials; give --kind" in said
    assert "U/M: perhaps unit; to be settled once the kind is" in said
    assert "cannot be read" not in said
