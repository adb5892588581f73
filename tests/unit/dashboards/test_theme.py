"""Colours: contrast of every text colour on every ground, by the published formula."""

import pytest

from dashboards.theme import DARK, GROUNDS, LIGHT, TEXT_ROLES, contrast

LEAST_CONTRAST = 4.5  # WCAG 2.2, success criterion 1.4.3 (AA)


def test_black_on_white_has_the_largest_contrast() -> None:
    """21:1 (WCAG 2.2, definition of contrast ratio)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


def test_the_well_known_grey_just_passes_on_white() -> None:
    """#767676 on white is 4.54:1 (WebAIM contrast checker, from memory)."""
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_every_text_colour_can_be_read_on_every_ground(palette: dict[str, str]) -> None:
    """4.5:1 or more, for charts too, since they use the same roles."""
    ratios = {(role, ground): contrast(palette[role], palette[ground]) for role in TEXT_ROLES for ground in GROUNDS}
    assert {pair: ratio for pair, ratio in ratios.items() if ratio < LEAST_CONTRAST} == {}
