"""Results are written whole or not at all, and never over the score."""

from __future__ import annotations

from pathlib import Path

import pytest

from pedalsetter.analysis.errors import OutputError
from pedalsetter.engrave.output import files
from pedalsetter.engrave.output.files import write_files


def test_all_files_are_written_and_nothing_else(tmp_path: Path) -> None:
    """Every result stands in the folder with its bytes, and no half file beside it."""
    written = write_files(tmp_path / "out", {"a.ly": b"a", "a.pdf": b"b"}, tmp_path / "a.xml")

    assert [path.name for path in written] == ["a.ly", "a.pdf"]
    assert {p.name: p.read_bytes() for p in (tmp_path / "out").iterdir()} == {
        "a.ly": b"a",
        "a.pdf": b"b",
    }


def test_the_score_is_never_overwritten(tmp_path: Path) -> None:
    """A result that would land on the score stops the run, and the score stays."""
    score = tmp_path / "a.ly"
    score.write_bytes(b"the user's own")

    with pytest.raises(OutputError) as caught:
        write_files(tmp_path, {"a.ly": b"ours"}, score)

    assert str(caught.value) == (
        "a.ly: writing a.ly would overwrite the score itself. Choose another folder with -o."
    )
    assert score.read_bytes() == b"the user's own"


def test_the_score_is_known_through_a_link(tmp_path: Path) -> None:
    """A link to the score is the score."""
    score = tmp_path / "real.xml"
    score.write_bytes(b"music")
    (tmp_path / "a.ly").symlink_to(score)

    with pytest.raises(OutputError):
        write_files(tmp_path, {"a.ly": b"ours"}, score)

    assert score.read_bytes() == b"music"


def test_a_failure_leaves_the_old_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the second of two files cannot be written, the first keeps its old content."""
    (tmp_path / "a.ly").write_bytes(b"old")
    real = files.tempfile.mkstemp
    calls: list[str] = []

    def full_disk(prefix: str, dir: Path) -> tuple[int, str]:  # noqa: A002
        calls.append(prefix)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        return real(prefix=prefix, dir=dir)

    monkeypatch.setattr(files.tempfile, "mkstemp", full_disk)

    with pytest.raises(OutputError, match="No space left on device"):
        write_files(tmp_path, {"a.ly": b"new", "b.ly": b"new"}, tmp_path / "s.xml")

    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {"a.ly": b"old"}


def test_a_folder_that_is_a_file_is_one_clear_line(tmp_path: Path) -> None:
    """Naming a file as the folder is a user's mistake, told in one line."""
    (tmp_path / "out").write_bytes(b"")

    with pytest.raises(OutputError, match="cannot write into"):
        write_files(tmp_path / "out", {"a.ly": b"a"}, tmp_path / "s.xml")


def test_results_are_readable_by_others(tmp_path: Path) -> None:
    """Results carry the permissions of ordinary new files, not those of private ones."""
    plain = tmp_path / "plain"
    plain.write_bytes(b"")

    (written,) = write_files(tmp_path, {"a.ly": b"a"}, tmp_path / "s.xml")

    assert written.stat().st_mode == plain.stat().st_mode
