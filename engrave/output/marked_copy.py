"""A copy of the user's own score with the marks in it, whatever its format."""

from __future__ import annotations

import os
from pathlib import Path

from pedalsetter.analysis.errors import OutputError
from pedalsetter.analysis.marking import Markings
from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.output.mei import write_back_mei
from pedalsetter.engrave.output.musicxml import write_back
from pedalsetter.engrave.output.write_back.options import WrittenBack

__all__ = ["marked_copy"]


def marked_copy(score: str | os.PathLike[str], part: HarpPart, markings: Markings) -> WrittenBack:
    """Return the score's document with the marks put in, all else byte for byte as it was.

    Raises:
        OutputError: the format cannot hold the marks.
        ScoreError: the document cannot be written back.
    """
    if part.source.format in ("musicxml", "mxl"):
        return write_back(score, part, markings)
    if part.source.format == "mei":
        return write_back_mei(score, part, markings)
    raise OutputError(
        f"marks cannot be written into a file of the format {part.source.format}",
        file=Path(score).name,
        mend="Export the score as MusicXML or MEI and give that.",
    )
