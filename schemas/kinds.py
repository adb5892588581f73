"""The ten record kinds: model, key and natural key of each."""

from dataclasses import dataclass
from typing import Any

from schemas.callbacks import Callbacks
from schemas.cost_lines import Labour, Materials, OtherCosts
from schemas.installs import InstallChecks
from schemas.jobs import Jobs, Openings
from schemas.prices import Prices
from schemas.quotes import Quotes
from schemas.weather import Weather


@dataclass(frozen=True)
class Kind:
    """A record kind.

    key:      columns that name a row; where the only key column may be empty, `natural` names rows without it
    natural:  columns that, with an occurrence number in their file, name a row without an id
    """

    name: str
    model: Any
    key: tuple[str, ...]
    natural: tuple[str, ...] = ()

    def columns(self) -> dict[str, Any]:
        """Columns of the model in order: name -> pandera column."""
        return dict(self.model.to_schema().columns)


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("jobs", Jobs, ("job_id",)),
        Kind("openings", Openings, ("opening_id",)),
        Kind("labour", Labour, ("entry_id",), ("job_id", "opening_id", "worked_on", "worker_id", "phase")),
        Kind("materials", Materials, ("line_id",), ("job_id", "opening_id", "bought_on", "item", "spec")),
        Kind("other_costs", OtherCosts, ("line_id",), ("job_id", "incurred_on", "category")),
        Kind("install_checks", InstallChecks, ("opening_id",)),
        Kind("weather", Weather, ("station_id", "observed_on")),
        Kind("callbacks", Callbacks, ("callback_id",)),
        Kind("prices", Prices, ("item", "spec", "effective_on")),
        Kind("quotes", Quotes, ("quote_id",)),
    )
}

# How the names of files begin that an export writes beside the records; a search for records passes them over.
HISTORY, VIEW = "history_", "view_"
