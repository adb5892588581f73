"""Tables of the command line: a loss has a minus sign and stands in line with the gains."""

from pipeline.cli.text import table, usd


def test_losses_and_gains_stand_to_the_right() -> None:
    """Three amounts under one heading end at the same place, whatever their sign."""
    lines = table(["job", "profit"], [["0980", usd(-709)], ["0992", usd(312)], ["0991", usd(5341)]])
    assert lines[2:] == ["0980   \u2212$709", "0992    $312", "0991  $5,341"]
