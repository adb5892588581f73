"""The materials model fitted on what finished jobs bought."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pipeline.errors import NotEnoughRecords
from pipeline.estimators.item_rules import DRIVERS, ONE_EACH, ONE_OR_NONE, SHARE_CONDITION
from pipeline.estimators.known import Defaults, fill_gaps
from pipeline.estimators.materials import EACH, ItemModel, MaterialsModel
from pipeline.estimators.packs import pack_size
from pipeline.estimators.prices import price_level
from pipeline.estimators.records import arrays_of
from pipeline.estimators.standard_use import condition_of
from pipeline.estimators.usage import Usage, fit_usage
from pipeline.takeoff.list import TakeOff, take_off
from pipeline.takeoff.openings import Numbers, words
from schemas.vocab import WALL_TYPE

if TYPE_CHECKING:
    import polars as pl

# Finished jobs with purchases. With 12, orders of invented firms came within 2 % of all that was bought and 98 % of
# pack sizes were right; with 3 they were 8 % off and every fourth pack size was wrong. Simulation study, fresh seeds.
FEWEST_JOBS = 12
LINES_TO_CHOOSE_BY = 12  # fewer lines than this follow the likeliest quantity
FAVOUR = 5.0  # log likelihood by which another quantity must beat the usual one; house rule
LEAST_SHARE_COVERED = 0.95  # of an item's lines must have some of the quantity it is said to follow
PSEUDO_OPENINGS = 5.0  # how strongly a condition's share leans on the item's overall share; house rule
WALLS = tuple(WALL_TYPE)


@dataclass(frozen=True)
class Purchases:
    """Lines of finished jobs, one per item and job or opening, with their take-off.

    listed_pack: item -> pack size that the price list names, in the item's usual unit;
    lines: polars frame item, unit, place (row of its opening, null = the whole job), job_number, quantity, lines;
    job: job number of each opening; quantities: take-off of the openings; openings: their columns.
    """

    lines: "pl.DataFrame"
    raw: "pl.DataFrame"
    job: NDArray[np.int64]
    jobs: int
    openings: dict[str, Any]
    quantities: TakeOff
    listed_pack: dict[str, float]

    @property
    def jobs_with_lines(self) -> int:
        """Finished jobs that bought anything."""
        return self.lines["job_number"].n_unique()


def fit_materials(
    jobs: "pl.DataFrame",
    openings: "pl.DataFrame",
    materials: "pl.DataFrame",
    prices: "pl.DataFrame",
    *,
    defaults: Defaults,
) -> MaterialsModel:
    """The materials model of a firm.

    in:     frames with the columns of jobs, openings, materials and prices (in force); what to assume for gaps
    out:    MaterialsModel
    errors: NotEnoughRecords under 12 finished jobs with purchases
    source: simulation study, fresh seeds
    """
    bought = purchases_of(jobs, openings, materials, defaults)
    with_lines = bought.jobs_with_lines
    if with_lines < FEWEST_JOBS:
        raise NotEnoughRecords(
            f"no estimate of materials yet: {with_lines} finished jobs with purchases in the book, "
            f"at least {FEWEST_JOBS} are needed"
        )
    bought = replace(bought, listed_pack=_listed_packs(bought.lines, prices))
    fitted = {str(item): fit_item(str(item), bought) for item in sorted(bought.lines["item"].unique())}
    items = {name: item for name, item in fitted.items() if item is not None}
    return MaterialsModel(items, _prices(bought, prices), with_lines)


def purchases_of(
    jobs: "pl.DataFrame", openings: "pl.DataFrame", materials: "pl.DataFrame", defaults: Defaults
) -> Purchases:
    """Lines summed per item and opening (or job, where the line names no opening), in each item's usual unit."""
    import polars as pl

    done = jobs.filter(pl.col("completed_on").is_not_null()).sort("started_on", "job_id").with_row_index("job_number")
    rows = openings.join(done.select("job_id", "job_number"), on="job_id", how="inner", validate="m:1")
    rows = rows.sort("job_number", "opening_id").with_row_index("place")
    filled, _ = fill_gaps(arrays_of(rows), defaults)
    known = materials.join(done.select("job_id", "job_number"), on="job_id", how="inner", validate="m:1")
    known = known.join(rows.select("opening_id", "place"), on="opening_id", how="left", validate="m:1")
    usual = known.group_by("item", "unit").len().sort("len", "unit").group_by("item", maintain_order=True).last()
    known = known.join(usual.select("item", "unit"), on=("item", "unit"), how="semi")
    known = known.with_columns(pl.col("quantity", "unit_cost").cast(pl.Float64))
    lines = (
        known.group_by("item", "unit", "job_number", "place")
        .agg(pl.col("quantity").sum())
        .filter(pl.col("quantity") > 0)
        .sort("item", "job_number", "place")
    )
    return Purchases(
        lines=lines,
        raw=known,
        job=rows["job_number"].cast(pl.Int64).to_numpy(),
        jobs=len(done),
        openings=filled,
        quantities=take_off(filled),
        listed_pack={},
    )


def _listed_packs(lines: "pl.DataFrame", prices: "pl.DataFrame") -> dict[str, float]:
    """Pack size per item where the list names one for the unit the firm buys in; the smallest over its specs."""
    import polars as pl

    if "pack_size" not in prices.columns:
        return {}
    listed = prices.join(lines.select("item", "unit").unique(), on=("item", "unit"), how="semi")
    packs = listed.filter(pl.col("pack_size") > 0).group_by("item").agg(pl.col("pack_size").cast(pl.Float64).min())
    return dict(packs.sort("item").iter_rows())


def fit_item(item: str, bought: Purchases) -> ItemModel | None:
    """The model of one item: one or none per opening, or use per unit of a take-off quantity.

    None: no line of it was for work that needs it, such as drain pipe where no opening has a drain
    """
    import polars as pl

    lines = bought.lines.filter(pl.col("item") == item)
    unit = str(lines["unit"][0])
    has = _openings_with(lines, bought)
    if item in ONE_EACH or (item in ONE_OR_NONE and unit == EACH):
        word = ONE_OR_NONE.get(item, SHARE_CONDITION)
        condition = condition_of(word, bought.openings, bought.quantities)
        return _single(item, unit, _shares(has, condition, np.ones(len(has), dtype=bool)), len(lines))
    driver = choose_driver(item, lines, bought)
    follows = bought.quantities.quantity(driver)
    take, walls = _line_take_off(lines, follows, bought)
    usable = take > 0
    if not usable.any():
        return None
    quantities = lines["quantity"].to_numpy()
    pack = _pack_of(item, bought)
    usage = fit_usage(quantities[usable], pack, take[usable], walls[usable])
    condition = words(bought.openings, SHARE_CONDITION)
    return _followed(item, unit, pack, driver, usage, _shares(has, condition, follows > 0))


def _single(item: str, unit: str, shares: dict[str, float], lines: int) -> ItemModel:
    return ItemModel(item, unit, 1.0, "", 0.0, {}, 0.0, {}, shares, 0.0, lines)


def _followed(
    item: str, unit: str, pack: float, driver: str, usage: Usage, shares: dict[str, float]
) -> ItemModel:
    return ItemModel(
        item=item,
        unit=unit,
        pack_size=pack,
        driver=driver,
        level=usage.level,
        walls=dict(zip(WALLS, usage.wall.tolist(), strict=True)),
        sd=usage.sd,
        wall_sd=dict(zip(WALLS, usage.wall_sd.tolist(), strict=True)),
        shares=shares,
        standard_error=float(np.sqrt(usage.level_variance)),
        lines=usage.lines,
    )


def choose_driver(item: str, lines: "pl.DataFrame", bought: Purchases) -> str:
    """The take-off quantity an item follows: the one that makes its purchases likeliest, the usual one favoured."""
    candidates = DRIVERS.get(item, DRIVERS["other"])
    if len(candidates) == 1 or len(lines) < LINES_TO_CHOOSE_BY:
        return candidates[0]
    quantity, pack = lines["quantity"].to_numpy(), _pack_of(item, bought)
    scores = {}
    for driver in candidates:
        take, walls = _line_take_off(lines, bought.quantities.quantity(driver), bought)
        some = take > 0
        if np.mean(some) >= LEAST_SHARE_COVERED:
            likely = fit_usage(quantity[some], pack, take[some], walls[some]).log_likelihood
            scores[driver] = likely + (FAVOUR if driver == candidates[0] else 0.0)
    return max(scores, key=lambda driver: scores[driver]) if scores else candidates[0]


def _pack_of(item: str, bought: Purchases) -> float:
    import polars as pl

    if item in bought.listed_pack:
        return bought.listed_pack[item]
    raw = bought.raw.filter((pl.col("item") == item) & (pl.col("quantity") != 0))["quantity"].to_numpy()
    return pack_size(np.abs(raw))  # goods taken back tell the pack too


def _line_take_off(lines: "pl.DataFrame", follows: Numbers, bought: Purchases) -> tuple[Numbers, Numbers]:
    """Take-off of each line and its share per wall; a line of the whole job has the sum of its openings
    that have no line of their own."""
    import polars as pl

    own = lines["place"].is_not_null().to_numpy()
    place = lines["place"].fill_null(0).cast(pl.Int64).to_numpy()
    job = lines["job_number"].cast(pl.Int64).to_numpy()
    open_to_job = np.ones(len(follows))
    open_to_job[place[own]] = 0.0
    walls = words(bought.openings, "wall_type")
    indicator = np.column_stack([walls == wall for wall in WALLS]).astype(float)
    of_job = np.column_stack(
        [np.bincount(bought.job, follows * open_to_job * indicator[:, k], bought.jobs) for k in range(len(WALLS))]
    )
    by_wall = np.where(own[:, None], (follows[:, None] * indicator)[place], of_job[job])
    total = by_wall.sum(axis=1)
    return total, by_wall / np.where(total > 0, total, 1.0)[:, None]


def _openings_with(lines: "pl.DataFrame", bought: Purchases) -> Numbers:
    """1 for an opening that has the item, by its own line or its job's."""
    import polars as pl

    has = np.zeros(len(bought.job))
    own = lines.filter(pl.col("place").is_not_null())["place"].cast(pl.Int64).to_numpy()
    whole = lines.filter(pl.col("place").is_null())["job_number"].cast(pl.Int64).to_numpy()
    has[own] = 1.0
    has[np.isin(bought.job, whole)] = 1.0
    return has


def _shares(has: Numbers, condition: Any, can: Any) -> dict[str, float]:
    """Share of openings with the item: overall under "", and per condition leaning on it."""
    overall = float((has[can].sum() + 0.5) / (can.sum() + 1.0))
    shares = {"": overall}
    for word in np.unique(condition[can]):
        here = can & (condition == word)
        if word:
            shares[str(word)] = float((has[here].sum() + PSEUDO_OPENINGS * overall) / (here.sum() + PSEUDO_OPENINGS))
    return shares


def _prices(bought: Purchases, prices: "pl.DataFrame") -> Any:
    """Prices of each item in its usual unit, purchases with the well type and area of what they were for."""
    import polars as pl

    units = bought.lines.select("item", "unit").unique()
    listed = prices.join(units.rename({"unit": "usual"}), on="item", how="left", validate="m:1")
    listed = listed.filter(pl.col("usual").is_null() | (pl.col("usual") == pl.col("unit")))
    facts = pl.DataFrame(
        {
            "place": np.arange(len(bought.job), dtype=np.uint32),
            "well_type": words(bought.openings, "well_type"),
            "area_sqft": bought.quantities.quantity("opening_area"),
        }
    )
    raw = bought.raw.filter(pl.col("quantity") > 0).join(facts, on="place", how="left", validate="m:1")
    return price_level(raw, listed)
