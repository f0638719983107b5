from collections.abc import Iterator

import pytest

from startworthy import words
from tests.support.browser import open_browser
from tests.support.checked import check_words


@pytest.fixture(autouse=True)
def _words_of_the_tests(monkeypatch: pytest.MonkeyPatch) -> None:
    """The results of these tests are made by hand, so the sentences of their findings are too."""
    monkeypatch.setattr(words, "_check", check_words)


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    with open_browser() as opened:
        yield opened
