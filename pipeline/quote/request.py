"""What a quote is made from: the openings asked for, and everything the book and the settings hold."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, TypedDict

from pipeline.callbacks.risk import RiskModel
from pipeline.estimators.hours_model import HoursModel
from pipeline.estimators.materials import MaterialsModel
from pipeline.quote.draws import DrawTable
from pipeline.quote.other_costs import OtherCostRates
from pipeline.quote.similar import OpeningsDone
from pipeline.takeoff.openings import Openings
from schemas.results_quote import WinBand


class FirmRates(TypedDict):
    """What `fit` stores for quotes beside the models.

    visit_usd: complaint -> mean net cost of one visit; visit_log_sd of that cost; visits_per_first: visits for each
    first one; crew_hours_per_day: median crew-hours of a working day. [USD, h]
    """

    draws: DrawTable
    other_costs: OtherCostRates
    visit_usd: dict[str, float]
    visit_log_sd: float
    visits_per_first: float
    crew_hours_per_day: float
    price_guidance: list[WinBand]
    openings_done: OpeningsDone


@dataclass(frozen=True)
class QuoteParts:
    """Models, rates and settings in force, and the day of the newest record learned from. [USD/h, months]"""

    hours: HoursModel
    materials: MaterialsModel | None
    risk: RiskModel | None
    rates: FirmRates
    fitted_at: Mapping[str, str]
    as_of: date
    learned_until: date
    hourly_cost: float
    overhead_per_hour: float
    overhead_set: bool
    warranty_months: float
    edition: str
    local_code: Mapping[str, float] = field(default_factory=dict)
    held: tuple[float | None, int] = (None, 0)  # share of 80 % ranges that held on so many openings kept back


@dataclass(frozen=True)
class QuoteRequest:
    """The openings to quote, as columns; ids, job, crew, start month and ISO day of each ("" and 0 = not known).

    margin: share of the price that is to be profit, 0 to below 1; price: what the customer wants to pay, if said
    """

    openings: Openings
    opening_ids: list[str]
    job_ids: list[str]
    crews: list[str]
    months: list[int]
    starts: list[str]
    margin: float
    price: float | None = None

    def jobs(self) -> dict[str, list[int]]:
        """The places of each job's openings, in the order the jobs first appear."""
        places: dict[str, list[int]] = {}
        for at, job in enumerate(self.job_ids):
            places.setdefault(job, []).append(at)
        return places

    def only(self, places: list[int]) -> "QuoteRequest":
        """The same request for some of its openings."""
        return replace(
            self,
            openings={name: values[places] for name, values in self.openings.items()},
            opening_ids=[self.opening_ids[at] for at in places],
            job_ids=[self.job_ids[at] for at in places],
            crews=[self.crews[at] for at in places],
            months=[self.months[at] for at in places],
            starts=[self.starts[at] for at in places],
        )

    def opening(self, at: int) -> dict[str, Any]:
        """One opening as plain values; what was not recorded is None."""
        return {name: _plain(values[at]) for name, values in self.openings.items()}


def _plain(value: Any) -> Any:
    found = value.item() if hasattr(value, "item") else value
    return None if found is None or found != found or found == "" else found
