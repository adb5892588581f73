"""The sums behind a page's choices, as they are written into it."""

import base64
import json
import re

import numpy as np
import polars as pl

from dashboards.sums import as_block


def written(values: dict[str, list[float]]) -> dict[str, bytes]:
    """The bytes of each measure in the page."""
    cells = pl.DataFrame({"period": ["2024", "2025"], "branch": ["north", "south"], **values})
    block = json.loads(re.sub(r"</?script[^>]*>", "", as_block(cells, tuple(values))))
    assert block["rows"] == 2
    return {name: base64.b64decode(text) for name, text in block["measures"].items()}


def test_counts_take_two_bytes_and_amounts_eight() -> None:
    """The largest whole number of two bytes is 32,767; a cent or one more needs a double, told without loss."""
    found = written({"visits": [3.0, 32767.0], "cost": [12.25, 0.1], "hours": [32768.0, 1.0]})
    assert np.frombuffer(found["visits"], "<i2").tolist() == [3, 32767]
    assert np.frombuffer(found["cost"], "<f8").tolist() == [12.25, 0.1]
    assert np.frombuffer(found["hours"], "<f8").tolist() == [32768.0, 1.0]
