import pytest

from startworthy import words
from tests.support.checked import check_words


@pytest.fixture(autouse=True)
def _words_of_the_tests(monkeypatch: pytest.MonkeyPatch) -> None:
    """The results of these tests are made by hand, so the sentences of their findings are too."""
    monkeypatch.setattr(words, "_check", check_words)
