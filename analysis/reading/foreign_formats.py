"""Files that hold music and cannot be read, with what helps instead."""

from __future__ import annotations

from pathlib import PurePath

from pedalsetter.analysis.errors import ScoreError

__all__ = ["FOREIGN", "refuse_foreign"]

_EXPORT = (
    "Open it in that program and export it as MusicXML (mostly under File, Export), "
    "then give the .musicxml or .mxl file."
)
_SCAN = (
    "Export MusicXML from the program that made it. If there is only paper, a program that "
    "recognises scanned music makes MusicXML of it, which then wants proofreading."
)

FOREIGN = frozenset({".mscz", ".mscx", ".sib", ".musx", ".mus", ".dorico", ".pdf"})
"""Suffixes of such files."""


def refuse_foreign(file: str) -> None:
    """Refuse a file whose name says that only another program can read it.

    Raises:
        ScoreError: it does.
    """
    suffix = PurePath(file).suffix.lower()
    if suffix == ".pdf":
        raise ScoreError("a PDF shows the pages and does not hold the notes", file=file, mend=_SCAN)
    if suffix in FOREIGN:
        what = f"{suffix} is a notation program's own format, which only that program reads"
        raise ScoreError(what, file=file, mend=_EXPORT)
