"""The hours model as it is stored: plain numbers, enough for any reader of the book to predict alike."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from pipeline.estimators.drift import change_sentence
from pipeline.estimators.experience import Experience
from pipeline.estimators.intervals import Spread, spread_from_plain
from pipeline.estimators.phase_model import CHANGE, PhaseModel, phase_from_plain
from pipeline.estimators.total_stage import TotalModel, total_from_plain


@dataclass(frozen=True)
class HoursModel:
    """Everything needed to predict hours, as plain numbers.

    other_share: hours under "other" over all hours; other_range: the same of single openings, 10 and 90 % quantile,
    the upper one never under the mean; starter: whether starter rates were leaned on;
    presumed_split: hours were mostly recorded under no phase, so the phases' shares are presumed, the total is not.
    """

    phases: dict[str, PhaseModel]
    total: TotalModel
    spread: Spread
    defaults: dict[str, Any]
    experience: Experience
    other_share: float
    other_range: tuple[float, float]
    jobs: int
    openings: int
    starter: bool
    presumed_split: bool = False

    def to_json(self) -> dict[str, Any]:
        """The model as JSON-able values."""
        return {
            "phases": {phase: model.as_plain() for phase, model in self.phases.items()},
            "total": self.total.as_plain(),
            "spread": self.spread.as_plain(),
            "defaults": self.defaults,
            "experience": self.experience.as_plain(),
            "other_share": self.other_share,
            "other_range": list(self.other_range),
            "jobs": self.jobs,
            "openings": self.openings,
            "starter": self.starter,
            "presumed_split": self.presumed_split,
        }

    @staticmethod
    def from_json(body: Mapping[str, Any]) -> "HoursModel":
        """The model that to_json wrote."""
        return HoursModel(
            phases={phase: phase_from_plain(phase, model) for phase, model in body["phases"].items()},
            total=total_from_plain(body["total"]),
            spread=spread_from_plain(body["spread"]),
            defaults=dict(body["defaults"]),
            experience=Experience(**body["experience"]),
            other_share=body["other_share"],
            other_range=tuple(body.get("other_range", (0.0, body["other_share"]))),
            jobs=body["jobs"],
            openings=body["openings"],
            starter=body["starter"],
            presumed_split=body.get("presumed_split", False),
        )

    def changes(self) -> list[str]:
        """Sentences about phases that have taken more or fewer hours since some month."""
        said = []
        for phase, model in self.phases.items():
            if model.change is not None:
                applied = [e for c, e in zip(model.columns, model.effects, strict=True) if c.group == CHANGE]
                factor = float(np.exp(applied[0])) if applied else model.change.factor
                said.append(change_sentence(phase, model.change, factor))
        return said
