"""The page of studies keeps what a partial run did not measure."""

from tests.recovery.study import HEAD, with_section


def test_a_section_takes_the_place_of_its_own_heading_only():
    page = f"{HEAD}\n## A\n\nold a\n\n### part\n\nx\n\n## B\n\nold b\n"
    assert with_section(page, "## A\n\nnew a\n") == f"{HEAD}\n## A\n\nnew a\n\n## B\n\nold b\n"


def test_a_new_section_comes_last_on_a_page_made_for_it():
    first = with_section("", "## B\n\nb\n")
    assert first == f"{HEAD}\n## B\n\nb\n"
    assert with_section(first, "## C\n\nc").endswith("## B\n\nb\n\n## C\n\nc\n")
