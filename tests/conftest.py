"""What all tests share: where the open data lie."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

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
