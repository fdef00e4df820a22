"""Which scores a catalogue holds: folders, patterns, lists, links, and what cannot be read."""

from __future__ import annotations

import ntpath
import os
from pathlib import Path, PureWindowsPath
from types import SimpleNamespace

import pytest

from pedalsetter.analysis.errors import BatchError
from pedalsetter.engrave.batch import scores
from pedalsetter.engrave.batch.catalogue import tasks_of
from pedalsetter.engrave.batch.scores import find_scores
from pedalsetter.engrave.batch.task import Treatment


def tree(folder: Path, *names: str) -> Path:
    """Empty files below a folder."""
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(b"")
    return folder


def names(folder: Path, *given: str | Path) -> list[str]:
    """The names of the scores found; what could not be found is marked by ``!``."""
    found = find_scores([str(argument) for argument in given], folder / "out")
    return [f"!{score.name}" if score.trouble else score.name for score in found]


def test_a_folder_is_all_that_lies_below_it(tmp_path: Path) -> None:
    """Scores by their suffix in the order of their names; hidden files are passed over."""
    tree(tmp_path / "in", "b/x.xml", "a/x.MXL", "a/x.xml", "k.krn", "read.me", ".x.xml", ".h/y.xml")

    assert names(tmp_path, tmp_path / "in") == ["a/x.MXL", "a/x.xml", "b/x.xml", "k.krn"]


def test_the_output_folder_is_not_part_of_the_catalogue(tmp_path: Path) -> None:
    """Marked copies of an earlier run are no scores of the next one."""
    tree(tmp_path, "x.xml", "out/x.xml/x-pedals.musicxml")

    assert names(tmp_path, tmp_path) == ["x.xml"]
    assert names(tmp_path, tmp_path / "**/*.*xml") == ["x.xml"]


@pytest.mark.parametrize(
    ("pattern", "found"),
    [
        ("*.xml", ["x.xml"]),
        ("*/*.xml", ["a/x.xml", "b/x.xml"]),
        ("**/*.xml", ["a/b/c.xml", "a/x.xml", "b/x.xml", "x.xml"]),
        ("**", ["a/b/c.xml", "a/x.mxl", "a/x.xml", "b/x.xml", "x.xml"]),
        ("a/**/c.xml", ["b/c.xml"]),
        ("**/**/**/**/**/**/**/**/**/**/**/**/[ac].xml", ["a/b/c.xml"]),
        ("?/x.m*", ["a/x.mxl"]),
    ],
)
def test_a_pattern(tmp_path: Path, pattern: str, found: list[str]) -> None:
    """Stars end at a folder, two stars do not; names begin where the pattern does."""
    tree(tmp_path, "x.xml", "a/x.xml", "a/x.mxl", "a/b/c.xml", "b/x.xml", "b/note.txt")

    assert names(tmp_path, tmp_path / pattern) == found


def test_a_file_with_the_signs_of_a_pattern_is_that_file(tmp_path: Path) -> None:
    """What exists is taken as it is."""
    tree(tmp_path, "x[1].xml", "x1.xml")

    assert names(tmp_path, tmp_path / "x[1].xml") == ["x[1].xml"]


def test_a_list(tmp_path: Path) -> None:
    """One a line, relative to the list; comments, folders, patterns, files that are missing."""
    tree(tmp_path, "in/x.xml", "in/f/y.xml", "in/f/z.mei", "in/g/1.xml", "in/g/2.xml", "other.xml")
    (tmp_path / "in/list.txt").write_bytes(
        b"\xef\xbb\xbf# the whole lot\r\n\r\nx.xml\r\nf\r\n  g/?.xml\r\n../other.xml\r\n"
        b"missing.xml\r\nx.xml\r\nnone/*.xml\r\ncaf\xe9.xml\r\n"
    )

    assert names(tmp_path, tmp_path / "in/list.txt") == [
        "caf\udce9.xml",
        "f/y.xml",
        "f/z.mei",
        "g/1.xml",
        "g/2.xml",
        "missing.xml",
        "!none/*.xml",
        "up/other.xml",
        "x.xml",
    ]


def test_several_are_named_from_the_folder_above_them_all(tmp_path: Path) -> None:
    """As where a shell has spread a pattern: equal names in two folders stay apart."""
    tree(tmp_path, "a/x.xml", "b/x.xml", "b/c/y.xml")

    assert names(tmp_path, tmp_path / "a/x.xml", tmp_path / "b/x.xml", tmp_path / "b/c") == [
        "a/x.xml",
        "b/c/y.xml",
        "b/x.xml",
    ]


def test_loops_of_links_end(tmp_path: Path) -> None:
    """Two links that lead upwards would make endlessly many paths; each file comes once."""
    tree(tmp_path / "in", "a/x.xml", "b/y.xml")
    for place in ("a/up", "b/up", "a/again"):
        (tmp_path / "in" / place).symlink_to(tmp_path / "in", target_is_directory=True)
    (tmp_path / "in/self.xml").symlink_to("self.xml")
    (tmp_path / "in/b/same.xml").symlink_to("../a/x.xml")

    everything = ["a/x.xml", "b/y.xml", "self.xml"]
    assert names(tmp_path, tmp_path / "in") == everything
    assert names(tmp_path, tmp_path / "in/**/*.xml") == everything


def test_a_folder_that_cannot_be_looked_into(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is told, and the others are found all the same."""
    tree(tmp_path / "in", "a/x.xml", "closed/y.xml")
    scan = os.scandir

    def scandir(path: Path) -> object:
        if Path(path).name == "closed":
            raise PermissionError(13, "Permission denied")
        return scan(path)

    monkeypatch.setattr(os, "scandir", scandir)
    found = find_scores([str(tmp_path / "in")], tmp_path / "out")

    assert [(score.name, score.trouble) for score in found] == [
        ("a/x.xml", None),
        ("closed", "this folder cannot be looked into: Permission denied"),
    ]


def test_results_never_lie_among_the_scores(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The output folder is no catalogue, and no folder of results takes the place of a score."""
    tree(tmp_path, "x.xml", "list.txt").joinpath("list.txt").write_text("x.xml")
    monkeypatch.chdir(tmp_path)
    for given in (".", "*.xml"):
        with pytest.raises(BatchError, match="lie in the output folder"):
            find_scores([given], Path())
    with pytest.raises(BatchError, match=r"the results of x\.xml would lie where a file is"):
        tasks_of(find_scores(["list.txt"], Path()), Path(), Treatment())


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (
            "nowhere",
            "there is no folder, list or score called nowhere. A pattern holds *, ? or [ ]",
        ),
        ("in/*.xml", "no score matches in/*.xml. Scores end in .abc, "),
        ("none/**", "no score matches none/**. Scores end in .abc, "),
        ("in", "the folder in holds no score. Scores end in .abc, "),
        ("in/empty.txt", "the list in/empty.txt names no score"),
        ("in/picture.png", "in/picture.png is neither a score nor a list of scores."),
    ],
)
def test_what_leads_to_no_score_is_told_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, given: str, told: str
) -> None:
    """A slip of the pen is told before anything is done."""
    tree(tmp_path / "in", "empty.txt")
    (tmp_path / "in/picture.png").write_bytes(b"\x89PNG\0")
    monkeypatch.chdir(tmp_path)

    with pytest.raises(BatchError) as caught:
        find_scores([given], tmp_path / "out")
    assert str(caught.value).startswith(told)


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("C:/music/a/x.xml", "a/x.xml"),
        ("C:/other/x.xml", "up/other/x.xml"),
        ("D:/music/a/x.xml", "D/music/a/x.xml"),
        ("//host/share/a/x.xml", "host-share/a/x.xml"),
    ],
)
def test_names_on_windows(path: str, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two drives may hold files of one name; no name holds a colon or leads out of the results.

    Source: Python's own rules for paths of Windows.
    """
    monkeypatch.setattr(scores, "os", SimpleNamespace(path=ntpath))
    assert scores._name(PureWindowsPath(path), PureWindowsPath("C:/music")) == name
