"""What all tests share: where the open data lie, and one browser."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.browser import open_browser

REPOSITORY = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def open_data() -> Path:
    """Folder of the open data sets (see tests/README.md): skipped where it is missing, but never in CI."""
    stated = os.environ.get("STARTWORTHY_OPEN_DATA")
    folder = Path(stated) if stated else REPOSITORY.parent / "shared" / "data"
    if folder.is_dir():
        return folder
    why = f"the open data are not at {folder}; see tests/README.md"
    if os.environ.get("CI"):
        pytest.fail(why)
    pytest.skip(why)


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    """One browser for all: a second beside it cannot be driven from the same program."""
    with open_browser() as opened:
        yield opened
