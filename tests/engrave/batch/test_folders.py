"""Every score has a folder of its own, whatever the disk takes for one name."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from pedalsetter.engrave.batch.folders import result_folders

PART = st.text(alphabet="aAéx~.", min_size=1, max_size=3).filter(lambda part: part.strip("."))
NAMES = st.lists(st.lists(PART, min_size=1, max_size=3).map("/".join), unique=True, max_size=8)


def test_names_that_differ_are_kept() -> None:
    """One stem with two suffixes, or in two folders, needs nothing more."""
    names = ["a/x.xml", "a/x.mxl", "b/x.xml", "x"]

    assert result_folders(names) == {name: name for name in names}


def test_names_that_a_disk_takes_for_one_are_told_apart() -> None:
    """Capitals, and letters composed in two ways (Unicode Standard Annex 15: é is e with acute)."""
    names = ["X.xml", "x.xml", "caf\u00e9.xml", "cafe\u0301.xml", "other.xml"]
    folders = result_folders(names)

    assert folders["other.xml"] == "other.xml"
    assert len({folder.casefold() for folder in folders.values()}) == 5
    assert all("~" in folders[name] for name in names[:4])


def test_no_folder_lies_in_another_and_none_is_a_file_of_the_run() -> None:
    """A list may name a file where another catalogue has a folder, or one like the journal."""
    folders = result_folders(["x.xml", "x.xml/y.xml", "journal.jsonl"], ("journal.jsonl",))

    assert folders["x.xml/y.xml"] == "x.xml/y.xml"
    assert folders["x.xml"].startswith("x.xml~")
    assert folders["journal.jsonl"].startswith("journal.jsonl~")


@given(NAMES, st.randoms(use_true_random=False))
def test_folders_are_apart_and_follow_from_the_name(names: list[str], chance: object) -> None:
    """No two are one, and the order of the scores decides nothing."""
    folders = result_folders(names)
    shuffled = list(names)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]

    assert len({folder.casefold() for folder in folders.values()}) == len(names)
    assert result_folders(shuffled) == folders
