from pathlib import Path

import pytest

from startworthy.report.write import write_text, write_with


def test_a_failing_write_leaves_the_old_file_and_nothing_else(tmp_path: Path) -> None:
    file = write_text(tmp_path / "deep" / "page.html", "old")

    def breaks(stream: object) -> None:
        stream.write(b"half")  # type: ignore[attr-defined]
        raise RuntimeError("disk")

    with pytest.raises(RuntimeError, match="disk"):
        write_with(file, breaks)
    assert file.read_text() == "old"
    assert [path.name for path in file.parent.iterdir()] == ["page.html"]


def test_a_file_name_with_a_lone_surrogate_can_be_written(tmp_path: Path) -> None:
    assert write_text(tmp_path / "a.txt", "caf\udce9").read_text() == "caf?"
