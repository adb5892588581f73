"""Hours so far from what such work takes that somebody should look at the time sheet; nothing is ever deleted."""

from typing import Any

import numpy as np

from pipeline.estimators.hours import HoursFit
from pipeline.estimators.records import Finished

BEYOND_SD = 5.0  # noise sds of the phase; simulation study, fresh seeds
MOST_SHOWN = 50


def odd_entries(data: Finished, fit: HoursFit) -> list[dict[str, Any]]:
    """Hours of an opening's phase beyond five noise sds of the figure that never saw its job, worst first.

    out:    opening_id, job_id, phase, hours as recorded, expected hours, times = one over the other
    """
    found: list[dict[str, Any]] = []
    jobs = data.jobs["job_id"].to_list()
    for phase, fitted in fit.phases.items():
        some = data.possible[phase] & data.split & (data.hours[phase] > 0)
        off = np.zeros(len(some))
        off[some] = np.log(data.hours[phase][some] / fitted.left_out_mean[some])
        for at in np.flatnonzero(np.abs(off) > BEYOND_SD * fitted.model.noise_sd):
            found.append(
                {
                    "opening_id": str(data.opening_ids[at]),
                    "job_id": str(jobs[data.job[at]]),
                    "phase": phase,
                    "hours": float(data.hours[phase][at]),
                    "expected_hours": float(fitted.left_out_mean[at]),
                    "times": float(np.exp(off[at])),
                }
            )
    return sorted(found, key=lambda row: -abs(np.log(row["times"])))[:MOST_SHOWN]
