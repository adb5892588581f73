"""The month on the owner's page: what to do first, every sentence once, a new topic never lost."""

from dashboards.owner import owner
from tests.pages.sample import parts


def test_what_to_do_comes_before_the_reasons() -> None:
    """Told last, shown first; a topic the page does not know stands under money."""
    given = parts()
    topics = ("result", "callbacks", "something new", "prices")
    given["month"]["sentences"] = [{"topic": name, "text": f"Said of {name}.", "numbers": {}} for name in topics]
    body = owner(given).body
    wanted = ["What to do", "Said of prices.", "Said of result.", "Said of something new.", "Said of callbacks."]
    places = [body.index(text) for text in wanted]
    assert places == sorted(places)
    assert all(body.count(text) == 1 for text in wanted[1:])
    assert "What we paid" not in body
