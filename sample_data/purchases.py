"""What each job bought, in whole packs, at prices that rise; and the price list."""

from __future__ import annotations

import numpy as np

from sample_data.columns import Array, Columns, number_ids, stack, take
from sample_data.truth import FIRST_DAY, PRICE_INDEX, WELLS
from sample_data.weather import year_of
from sample_data.work import WINDOWS, drain_words, take_off, well_width_in

USAGE_NOISE = 0.12
PAID_NOISE = 0.03
RETURN_SHARE = 0.004
LADDER_WELL_IN = 44.0                              # deeper wells get a ladder
WELL_PRICE = {"steel": (140.0, 9.0), "composite": (260.0, 12.0), "masonry": (210.0, 16.0), "timber": (120.0, 10.0)}
WELL_WIDTHS = tuple(range(44, 90, 2))
# item: unit, pack, price per unit in 2018 [USD], use per unit of the basis, basis, by wall
# (poured concrete, block, brick, stone, wood). All invented.
POOLED = {
    "gasket_tape": ("ft", 25.0, 1.15, 1.08, "frame_ft", (1, 1, 1, 1.05, 1)),
    "anchor": ("ea", 20.0, 0.95, 0.75, "frame_ft", (1, 1.1, 1.15, 1.3, 0.8)),
    "shim": ("box", 1.0, 6.5, 0.025, "frame_ft", (1, 1.1, 1.2, 1.7, 1)),
    "foam": ("can", 1.0, 7.2, 0.075, "frame_ft", (1, 1.1, 1.15, 1.6, 1)),
    "sealant": ("tube", 1.0, 8.4, 0.14, "frame_ft", (1, 1.1, 1.1, 1.5, 1)),
    "fastener": ("box", 1.0, 11.5, 0.06, "frame_ft", (1, 1, 1, 1, 1.5)),
    "grout": ("bag", 1.0, 9.8, 0.16, "cut_sqft", (1, 1.4, 1.5, 2.2, 0)),
    "blade": ("ea", 1.0, 58.0, 0.045, "cut_sqft", (1.2, 0.8, 0.9, 1.0, 0.3)),
    "disposal": ("yd3", 0.5, 34.0, 1 / 27 * 1.35, "removed_cuft", (1, 0.9, 1, 1.1, 0.8)),
    "gravel": ("ton", 0.5, 29.0, 0.085, "well_sqft", (1, 1, 1, 1, 1)),
    "drain_pipe": ("ft", 10.0, 1.9, 3.6, "piped_ft", (1, 1, 1, 1, 1)),
    "membrane": ("roll", 1.0, 46.0, 0.03, "well_sqft", (0.6, 1.0, 1.0, 1.3, 0.8)),
    "lumber": ("ft", 2.0, 1.25, 1.5, "frame_ft", (0.6, 0.6, 0.7, 1.0, 1.6)),
}


def price_index(days: Array) -> Array:
    """Material prices against 2018, in half-yearly steps."""
    year = np.clip(year_of(days), 2018, 2026)
    level = np.array([PRICE_INDEX[y] for y in range(2018, 2027)])
    now, before = level[year - 2018], level[np.maximum(year - 2019, 0)]
    second_half = days.astype("datetime64[M]").astype(int) % 12 >= 6
    return np.asarray(np.where(second_half, now, (now + before) / 2))


def window_specs() -> Array:
    """The window sizes as the words of the records, such as casement 36x48."""
    return np.array([f"{kind} {width}x{height}" for kind, width, height, _ in WINDOWS])


def frame_specs() -> Array:
    """The frame sizes, one per window size."""
    return np.array([f"frame {width}x{height}" for _, width, height, _ in WINDOWS])


def window_prices() -> Array:
    """Price of each window size in 2018. [USD]"""
    rate = {"casement": (110.0, 0.165), "slider": (95.0, 0.125), "hopper": (80.0, 0.11)}
    return np.array([rate[kind][0] + rate[kind][1] * width * height for kind, width, height, _ in WINDOWS])


def frame_prices() -> Array:
    """Price of each frame size in 2018. [USD]"""
    return np.array([55.0 + 0.95 * (width + height) for _, width, height, _ in WINDOWS])


def _well_price(well: Array, width_in: Array) -> Array:
    base = np.array([0.0] + [WELL_PRICE[w][0] for w in WELLS[1:]])
    slope = np.array([0.0] + [WELL_PRICE[w][1] for w in WELLS[1:]])
    return np.asarray(base[well] + slope[well] * (width_in - 30))


def well_specs(well: Array, width_in: Array) -> Array:
    """Well kind and width, such as steel 56."""
    return np.array([f"{WELLS[w]} {int(v)}" if w else "" for w, v in zip(well, width_in, strict=True)])


def _single_lines(rng: np.random.Generator, opening: Columns) -> list[Columns]:
    """One of each where the opening needs it: window, frame, well, cover, ladder, lintel."""
    row, window = np.arange(opening["job"].size), opening["window"]
    width = well_width_in(opening)
    specs = well_specs(opening["well"], width)
    blank = np.full(row.size, "", dtype="U16")
    has_well = opening["well"] > 0
    deep = has_well & (np.nan_to_num(opening["depth"]) - 6 > LADDER_WELL_IN)
    lintel = (opening["work"] != 2) & np.isin(opening["wall"], (1, 2, 3))
    always = np.ones(row.size, dtype=bool)
    wanted = [("window", window_specs()[window], window_prices()[window], always),
              ("frame", frame_specs()[window], frame_prices()[window], always),
              ("window_well", specs, _well_price(opening["well"], width), has_well),
              ("well_cover", blank, 118.0 + 0 * width, has_well & (rng.random(row.size) < 0.6)),
              ("ladder", blank, 74.0 + 0 * width, deep),
              ("lintel", blank, 96.0 + 0 * width, lintel)]
    return [_lines(opening["job"][keep], row[keep], item, price[keep]) | {"spec": spec[keep].astype("U20")}
            for item, spec, price, keep in wanted]


def _lines(job: Array, row: Array, item: str, price: Array) -> Columns:
    """One of the item for each job and row, without a spec."""
    count = job.size
    return {"job": job, "row": row, "item": np.full(count, item, dtype="U12"), "spec": np.full(count, "", dtype="U20"),
            "quantity": np.ones(count), "unit": np.full(count, "ea", dtype="U6"), "price": price + 0.0,
            "expected": np.ones(count)}


def _pooled_lines(rng: np.random.Generator, jobs: Columns, opening: Columns) -> list[Columns]:
    """One line per job of each item that is bought for the whole job, in whole packs."""
    q = take_off(opening, jobs["openings"][opening["job"]])
    q["piped_ft"] = np.where(drain_words(opening) == "none", 0.0, q["drain_ft"])
    q["well_sqft"] = np.where(opening["well"] > 0, q["well_sqft"], 0.0)
    parts = []
    for item, (unit, pack, price, rate, basis, by_wall) in POOLED.items():
        need = q[basis] * rate * np.array(by_wall)[opening["wall"]]
        total = np.bincount(opening["job"], weights=need, minlength=jobs["crew"].size)
        job = np.flatnonzero(total > 0)
        used = total[job] * np.exp(rng.normal(0, USAGE_NOISE, job.size))
        line = _lines(job, np.full(job.size, -1), item, np.full(job.size, price))
        line["quantity"], line["expected"] = pack * np.ceil(used / pack), pack * np.ceil(total[job] / pack)
        parts.append(line | {"unit": np.full(job.size, unit, dtype="U6")})
    return parts


def material_lines(rng: np.random.Generator, jobs: Columns, opening: Columns) -> Columns:
    """Every purchase: job, opening row (-1 = for the whole job), item, spec, quantity, unit, price of 2018."""
    lines = stack(_single_lines(rng, opening) + _pooled_lines(rng, jobs, opening))
    order = np.lexsort((lines["row"], lines["job"]))
    return take(lines, order)


def material_records(rng: np.random.Generator, jobs: Columns, lines: Columns, ids: Columns) -> Columns:
    """The materials kind, with prices as paid and a few things taken back."""
    count = lines["job"].size
    bought = jobs["started"][lines["job"]] - rng.integers(0, 9, count)
    bought = np.maximum(bought, FIRST_DAY)
    paid = np.round(lines["price"] * price_index(bought) * np.exp(rng.normal(0, PAID_NOISE, count)), 2)
    opening_id = np.where(lines["row"] >= 0, ids["opening"][lines["row"]], "")
    record = {"line_id": number_ids("M", count, 6), "job_id": ids["job"][lines["job"]], "opening_id": opening_id,
              "item": lines["item"], "spec": lines["spec"], "quantity": lines["quantity"], "unit": lines["unit"],
              "unit_cost": paid, "bought_on": bought}
    back = np.flatnonzero((rng.random(count) < RETURN_SHARE) & np.isin(lines["item"], ("blade", "foam", "sealant")))
    returned = take(record, back)
    returned |= {"line_id": np.char.add(returned["line_id"], "R"), "quantity": -np.ones(back.size)}
    return stack([record, returned])


def price_records() -> Columns:
    """The price list: every item and spec, at the start of each half year."""
    dates = np.array([f"{y}-{m}-01" for y in range(2019, 2027) for m in ("01", "07")], dtype="datetime64[D]")
    dates = np.concatenate([[FIRST_DAY], dates])
    well = np.repeat(np.arange(1, len(WELLS)), len(WELL_WIDTHS))
    width = np.tile(np.array(WELL_WIDTHS, dtype=float), len(WELLS) - 1)
    plain = {"well_cover": 118.0, "ladder": 74.0, "lintel": 96.0}
    rows = [("window", s, "ea", 1.0, p) for s, p in zip(window_specs(), window_prices(), strict=True)]
    rows += [("frame", s, "ea", 1.0, p) for s, p in zip(frame_specs(), frame_prices(), strict=True)]
    rows += [("window_well", s, "ea", 1.0, p)
             for s, p in zip(well_specs(well, width), _well_price(well, width), strict=True)]
    rows += [(item, "", "ea", 1.0, price) for item, price in plain.items()]
    rows += [(item, "", v[0], v[1], v[2]) for item, v in POOLED.items()]
    item, spec, unit, pack, price = (np.array(c) for c in zip(*rows, strict=True))
    each = np.tile(np.arange(item.size), dates.size)
    since = np.repeat(dates, item.size)
    return {"item": item[each], "spec": spec[each], "effective_on": since, "unit": unit[each],
            "pack_size": pack[each], "unit_cost": np.round(price[each] * price_index(since), 2)}


def other_cost_records(rng: np.random.Generator, jobs: Columns, costs: Columns, ids: Columns) -> Columns:
    """The other_costs kind, from the job, category and amount of each."""
    incurred = jobs["started"][costs["job"]] + rng.integers(0, 4, costs["job"].size)
    return {"line_id": number_ids("X", incurred.size, 5), "job_id": ids["job"][costs["job"]],
            "category": costs["category"], "amount": np.round(costs["amount"], 2), "incurred_on": incurred}
