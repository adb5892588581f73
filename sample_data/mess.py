"""Write the records as a small firm keeps them: several files, drifting headings, cells in people's own hand."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import date
from fractions import Fraction
from pathlib import Path

import numpy as np

from sample_data.columns import Array, Columns, take, write_csv
from sample_data.firm_settings import LABOUR_HEADINGS, MATERIAL_HEADINGS, PHASE_WORDS, WALL_WORDS, settings_text
from sample_data.truth import STATIONS
from sample_data.weather import write_dly

SOME, MANY = 0.04, 0.15                            # shares of cells written in someone's own hand
FIRM_WORDS_YEARS = ("2021", "2022", "2023")        # files with the firm's own headings
SEMICOLON_YEAR = "2020"
TOTAL_YEARS = ("2019", "2022")
REPEATED_ROWS = 6                                  # per year of labour and of materials
HILL_STATION_FILE_FROM = "2024-01-01"
Writer = Callable[[str], str]


def in_feet(text: str) -> str:
    """54.5 as a tape is read: 4' 6 1/2"."""
    inches = Fraction(text)
    feet, rest = divmod(inches, 12)
    whole, part = divmod(rest, 1)
    return f"{feet}' {whole} {part}\"" if part else f"{feet}' {whole}\""


def in_inches(text: str) -> str:
    """54.5 as 54 1/2"."""
    whole, part = divmod(Fraction(text), 1)
    return f'{whole} {part}"' if part else f'{whole}"'


def as_clock(text: str) -> str:
    """3.5 hours as 3:30."""
    hours, part = divmod(Fraction(text), 1)
    return f"{hours}:{round(part * 60):02d}"


def as_dollars(text: str) -> str:
    """1250.5 as $1,250.50."""
    return f"${float(text):,.2f}"


def as_us_date(text: str) -> str:
    """2025-03-14 as 3/14/2025."""
    day = date.fromisoformat(text)
    return f"{day.month}/{day.day}/{day.year}"


def as_short_date(text: str) -> str:
    """2025-03-14 as 14-Mar-25."""
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    day = date.fromisoformat(text)
    return f"{day.day}-{months[day.month - 1]}-{day.year % 100:02d}"


def as_celsius(text: str) -> str:
    """50 as 10 °C, where that is exact; 51 as 51 F."""
    above = Fraction(text) - 32
    return f"{above * 5 / 9} °C" if above % 9 == 0 else f"{text} F"


def as_words(text: str) -> str:
    """poured_concrete as Poured Concrete."""
    return text.replace("_", " ").title()


def as_letter(text: str) -> str:
    """yes as Y, no as n."""
    return {"yes": "Y", "no": "n"}[text]


def _by_hand(rng: np.random.Generator, columns: Columns, name: str, hand: tuple[float, Writer]) -> None:
    """Rewrite a share of the filled cells of one column, in place."""
    share, write = hand
    values = columns[name]
    rows = np.flatnonzero((values != "") & (rng.random(values.size) < share))
    if rows.size == 0:
        return
    distinct, where = np.unique(values[rows], return_inverse=True)
    written = np.array([write(text) for text in distinct.tolist()])[where]
    width = max(values.dtype.itemsize, written.dtype.itemsize) // 4
    columns[name] = values.astype(f"U{width}")
    columns[name][rows] = written


def _renamed(words: dict[str, str]) -> Writer:
    return lambda text: words.get(text, text)


def _blank_marks(rng: np.random.Generator, columns: Columns, name: str) -> None:
    """N/A in a few of the empty cells."""
    values = columns[name].astype(f"U{max(columns[name].dtype.itemsize // 4, 3)}")
    columns[name] = np.where((values == "") & (rng.random(values.size) < SOME), "N/A", values)


def write_clean(out: Path, records: dict[str, Columns]) -> None:
    """One canonical CSV per kind, and the settings."""
    for kind, columns in records.items():
        write_csv(out / f"{kind}.csv", columns)
    (out / "areaway.toml").write_text(settings_text(), encoding="utf-8")


def write_as_a_firm_does(rng: np.random.Generator, out: Path, records: dict[str, Columns],
                         hill_weather: Columns) -> None:
    """The firm's own folder: files by year, messy cells, and the faults that README.md lists."""
    (out / "areaway.toml").write_text(settings_text(), encoding="utf-8")
    _jobs_and_quotes(rng, out, records)
    _openings(rng, out, records["openings"])
    _cards(rng, out, records["install_checks"])
    _callbacks(rng, out, records["callbacks"])
    _labour(rng, out, records["labour"])
    _materials(rng, out, records["materials"])
    _weather(out, records["weather"], hill_weather)
    write_csv(out / "prices.csv", records["prices"])
    other = records["other_costs"]
    _by_hand(rng, other, "amount", (MANY, as_dollars))
    write_csv(out / "other_costs.csv", other)
    text = (out / "other_costs.csv").read_text(encoding="utf-8")
    (out / "other_costs.csv").write_text(f"Other costs as typed by the office\n\n{text}", encoding="utf-8")


def _jobs_and_quotes(rng: np.random.Generator, out: Path, records: dict[str, Columns]) -> None:
    jobs, quotes = records["jobs"], records["quotes"]
    for name in ("quoted_on", "started_on", "completed_on"):
        _by_hand(rng, jobs, name, (SOME, as_short_date))
    _by_hand(rng, jobs, "contract_price", (MANY, as_dollars))
    _by_hand(rng, jobs, "quoted_cost", (SOME, as_dollars))
    write_csv(out / "Jobs.csv", jobs, [as_words(name) for name in jobs])
    _by_hand(rng, quotes, "quoted_on", (MANY, as_us_date))
    _by_hand(rng, quotes, "price", (MANY, as_dollars))
    quotes["outcome"] = quotes["outcome"].astype("U8")
    quotes["outcome"][_spread(quotes["outcome"].size, 1)] = "maybe"
    write_csv(out / "quotes.csv", quotes)


def _spread(count: int, faults: int) -> Array:
    """Row numbers spread evenly over a file; the same in every run."""
    return (np.arange(1, faults + 1) * count // (faults + 1)).astype(int)


def _openings(rng: np.random.Generator, out: Path, openings: Columns) -> None:
    for name in ("rough_width_in", "rough_height_in"):
        _by_hand(rng, openings, name, (MANY, in_feet))
    for name in ("depth_below_grade_in", "well_depth_in", "sill_below_grade_in"):
        _by_hand(rng, openings, name, (SOME, in_inches))
    _by_hand(rng, openings, "wall_type", (MANY, _renamed(WALL_WORDS)))
    _by_hand(rng, openings, "opening_work", (SOME, as_words))
    _by_hand(rng, openings, "reinforced", (MANY, as_letter))
    _blank_marks(rng, openings, "soil")
    openings["wall_thickness_in"][_spread(openings["job_id"].size, 1)] = "-8"
    headings = [{"rough_width_in": "Rough Width (in)", "rough_height_in": "Rough Height (in)"}.get(n, n)
                for n in openings]
    write_csv(out / "openings.csv", openings, headings)


def _cards(rng: np.random.Generator, out: Path, cards: Columns) -> None:
    for name in ("substrate_wet", "high_spots_removed", "foam_complete", "grout_band", "drain_flow_ok"):
        _by_hand(rng, cards, name, (MANY, as_letter))
    _by_hand(rng, cards, "substrate_temp_f", (SOME, as_celsius))
    _by_hand(rng, cards, "checked_on", (SOME, as_short_date))
    _blank_marks(rng, cards, "anchor_torque_max_lbft")
    cards["anchor_torque_min_lbft"][_spread(cards["opening_id"].size, 1)] = "-1"
    write_csv(out / "install_checks.csv", cards)


def _callbacks(rng: np.random.Generator, out: Path, callbacks: Columns) -> None:
    for name in ("reported_on", "visited_on"):
        _by_hand(rng, callbacks, name, (MANY, as_us_date))
    for name in ("labour_cost", "material_cost"):
        _by_hand(rng, callbacks, name, (MANY, as_dollars))
    _by_hand(rng, callbacks, "complaint", (SOME, as_words))
    _by_hand(rng, callbacks, "fixed", (MANY, as_letter))
    odd, lost = _spread(callbacks["complaint"].size, 2)
    callbacks["complaint"][odd] = "smell"
    callbacks["opening_id"][lost] = callbacks["opening_id"][lost].split("-")[0]
    write_csv(out / "callbacks.csv", callbacks)


def _by_year(columns: Columns, day: str) -> dict[str, Columns]:
    years = columns[day].astype("U4")
    return {year: take(columns, years == year) for year in np.unique(years).tolist()}


def _with_repeats(columns: Columns) -> Columns:
    """The rows, and a few of them typed a second time at the end."""
    count = next(iter(columns.values())).size
    return take(columns, np.concatenate([np.arange(count), _spread(count, min(REPEATED_ROWS, count))]))


def _labour(rng: np.random.Generator, out: Path, labour: Columns) -> None:
    for year, rows in _by_year(labour, "worked_on").items():
        lines = _with_repeats(rows)
        own_words = year in FIRM_WORDS_YEARS
        _by_hand(rng, lines, "hours", (SOME, as_clock))
        _by_hand(rng, lines, "phase", (SOME, as_words))
        if own_words:
            lines = lines | {"phase": lines["phase"].astype("U16")}
            _by_hand(rng, lines, "phase", (0.5, _renamed(PHASE_WORDS)))
            _by_hand(rng, lines, "hourly_cost", (MANY, as_dollars))
        if year == "2021":
            _by_hand(rng, lines, "worked_on", (1.0, as_us_date))
        _labour_faults(lines, year)
        path = out / f"labour {year}.csv"
        write_csv(path, lines, [LABOUR_HEADINGS[name] for name in lines] if own_words else None)
        if year in TOTAL_YEARS:
            _add_total(path, lines, rows)


def _labour_faults(lines: Columns, year: str) -> None:
    """One day of 33 hours in 2020, and two lines for a job that is not in the books in 2024."""
    if year == "2020":
        lines["hours"][_spread(lines["hours"].size, 1)] = "33"
    if year == "2024":
        odd = _spread(lines["hours"].size, 2)
        lines["job_id"][odd], lines["opening_id"][odd] = "9998", ""


def _add_total(path: Path, lines: Columns, rows: Columns) -> None:
    total = f"{rows['hours'].astype(float).sum():.2f}"
    with path.open("a", newline="", encoding="utf-8") as out:
        csv.writer(out, lineterminator="\n").writerow(
            ["TOTAL" if name == "entry_id" else total if name == "hours" else "" for name in lines])


def _materials(rng: np.random.Generator, out: Path, materials: Columns) -> None:
    for year, rows in _by_year(materials, "bought_on").items():
        lines = _with_repeats(rows)
        _by_hand(rng, lines, "unit_cost", (SOME, as_dollars))
        _by_hand(rng, lines, "item", (SOME, as_words))
        if year == "2019":
            lines["quantity"] = lines["quantity"].astype("U8")
            lines["quantity"][_spread(lines["quantity"].size, 1)] = "two"
        if year == "2023":
            lines["unit_cost"][_spread(lines["unit_cost"].size, 1)] = "€14.20"
        own_words = year in FIRM_WORDS_YEARS
        write_csv(out / f"materials-{year}.csv", lines,
                  [MATERIAL_HEADINGS[name] for name in lines] if own_words else None,
                  separator=";" if year == SEMICOLON_YEAR else ",")


def _weather(out: Path, weather: Columns, hill: Columns) -> None:
    """Both stations in one file until the hill station's own file begins."""
    later = (weather["station_id"] == STATIONS[1]) & (weather["observed_on"] >= HILL_STATION_FILE_FROM)
    write_csv(out / "weather.csv", take(weather, ~later))
    recent = (hill["station_id"] == STATIONS[1]) & (hill["observed_on"] >= np.datetime64(HILL_STATION_FILE_FROM))
    write_dly(out / f"{STATIONS[1]}.dly", take(hill, recent))
