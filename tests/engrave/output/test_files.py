"""Results are written whole or not at all, and never over the score."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pedalsetter.analysis.errors import OutputError
from pedalsetter.engrave.output import files
from pedalsetter.engrave.output.files import check_place, write_files
from pedalsetter.engrave.output.own_results import stamped


def test_all_files_are_written_and_nothing_else(tmp_path: Path) -> None:
    """Every result stands in the folder with its bytes and mark, and no half file beside it."""
    written = write_files(tmp_path / "out", {"a.ly": b"a", "a.pdf": b"b"}, tmp_path / "a.xml")

    assert [path.name for path in written] == ["a.ly", "a.pdf"]
    assert {p.name: p.read_bytes() for p in (tmp_path / "out").iterdir()} == {
        "a.ly": stamped("a.ly", b"a"),
        "a.pdf": stamped("a.pdf", b"b"),
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
    old = stamped("a.ly", b"old")
    (tmp_path / "a.ly").write_bytes(old)
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

    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {"a.ly": old}


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


def test_what_is_not_ours_or_was_edited_is_never_replaced(tmp_path: Path) -> None:
    """The user's own file and an edited result stay, both named; --force replaces them."""
    score = tmp_path / "s.xml"
    write_files(tmp_path, {"a.ly": b"one\n", "b.ly": b"one\n", "c.ly": b"one\n"}, score)
    edited = (tmp_path / "b.ly").read_bytes().replace(b"one", b"two")
    (tmp_path / "b.ly").write_bytes(edited)
    new = dict.fromkeys(("a.ly", "b.ly", "c.ly"), b"new\n")

    with pytest.raises(OutputError) as caught:
        write_files(tmp_path, new, score)

    assert str(caught.value) == (
        f"{tmp_path}: b.ly was edited since it was made by Pedalsetter. "
        "Choose another place with -o, or give --force to replace it."
    )
    (tmp_path / "a.ly").write_bytes(b"the user's own")
    with pytest.raises(OutputError) as caught:
        write_files(tmp_path, new, score)
    assert str(caught.value) == (
        f"{tmp_path}: a.ly is there already and was not made by Pedalsetter. "
        "Choose another place with -o, or give --force to replace it."
    )
    assert (tmp_path / "b.ly").read_bytes() == edited
    write_files(tmp_path, new, score, force=True)
    assert (tmp_path / "a.ly").read_bytes().startswith(b"new\n")
    write_files(tmp_path, {"a.ly": b"newer\n"}, score)


def test_a_place_is_checked_before_the_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is in the way and a full disk are told at once; no file and no folder is made."""
    names = re.compile(r"a(-\d+)?\.png")
    score = tmp_path / "a-2.png"
    (tmp_path / "a-10.png").write_bytes(b"the user's own")

    with pytest.raises(OutputError, match=r"a-10\.png is there already"):
        check_place(tmp_path, names)
    check_place(tmp_path, names, force=True)
    score.write_bytes(b"")
    with pytest.raises(OutputError, match="would overwrite the score itself"):
        check_place(tmp_path, names, score, force=True)
    with pytest.raises(OutputError, match="cannot write into"):
        check_place(score / "out", names)
    check_place(tmp_path / "new" / "out", names)

    def full_disk(dir: Path) -> object:  # noqa: A002
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.tempfile, "TemporaryFile", full_disk)
    with pytest.raises(OutputError, match="No space left on device"):
        check_place(tmp_path / "new" / "out", names)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a-10.png", "a-2.png"]
