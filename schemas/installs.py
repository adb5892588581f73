"""The check card: what was read at the opening on the day it was set."""

import pandera.polars as pa
import polars as pl

from schemas import fields


class InstallChecks(pa.DataFrameModel):
    """One check card per opening."""

    opening_id: str = fields.identifier("The opening checked.")
    checked_on: pl.Date = fields.day("Day of the check.", optional=False)
    installer: str = fields.text("Who set it.")
    substrate_temp_f: float = fields.temperature_f("Temperature of the wall face.")
    substrate_wet: bool = fields.yes_no("Wall visibly wet.")
    high_spots_removed: bool = fields.yes_no("High spots, soil and old membrane taken off under the frame.")
    gasket_gap_in: float = fields.reading_in("Total length of breaks in the seal.")
    squeeze_out: str = fields.word("squeeze_out", "How far butyl shows round the frame.")
    anchor_count: int = fields.count("Anchors set.")
    anchor_torque_max_lbft: float = fields.torque_lbft("Highest anchor torque.")
    anchor_torque_min_lbft: float = fields.torque_lbft("Lowest anchor torque.")
    frame_bow_in: float = fields.reading_in("Bow of the frame, inward; negative = outward.", signed=True)
    diagonal_difference_in: float = fields.reading_in("Difference of the two diagonals.")
    plumb_error_in: float = fields.reading_in("Out of plumb or level over the frame.")
    reveal_min_in: float = fields.reading_in("Smallest reveal.")
    reveal_max_in: float = fields.reading_in("Largest reveal.")
    head_bearing: str = fields.word("head_bearing", "How the head bears.")
    foam_complete: bool = fields.yes_no("Foam all round.")
    grout_band: bool = fields.yes_no("Grout behind a frame that stands off the wall.")
    drain_flow_ok: bool = fields.yes_no("Water poured into the well ran away.")
