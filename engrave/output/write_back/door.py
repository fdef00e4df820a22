"""The one door: marks into a document of any format that can hold them."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from pedalsetter.analysis.errors import PedalsetterError
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.part import HarpPart, SourceMark
from pedalsetter.analysis.reading.harp_part import score_bytes
from pedalsetter.analysis.reading.limits import DEFAULT_LIMITS, Limits
from pedalsetter.engrave.output.write_back.mei import into_mei
from pedalsetter.engrave.output.write_back.musicxml import into_musicxml
from pedalsetter.engrave.output.write_back.options import (
    DEFAULT_OPTIONS,
    WriteBackOptions,
    WrittenBack,
)
from pedalsetter.engrave.output.write_back.request import Request

__all__ = ["write_back", "write_back_score"]


def write_back(
    score: str | os.PathLike[str],
    part: HarpPart,
    markings: Markings,
    options: WriteBackOptions = DEFAULT_OPTIONS,
    *,
    replaced: Iterable[SourceMark] = (),
    limits: Limits = DEFAULT_LIMITS,
) -> WrittenBack:
    """The document ``score`` with the marks in it; ``part`` and ``markings`` were made from it.

    Marks of an earlier run on the same part give way to the new ones, so a second run gives the
    same bytes; marks of the source stay but for those that are ``replaced``. Nothing is written to
    disk.

    Raises:
        ScoreError: the file cannot be read, is of another format than ``part`` was read from, or is
            not the one that it was read from.
    """
    data, file = score_bytes(score, limits), Path(score).name
    return write_back_score(data, file, part, markings, options, replaced=replaced, limits=limits)


def write_back_score(
    data: bytes,
    file: str,
    part: HarpPart,
    markings: Markings,
    options: WriteBackOptions = DEFAULT_OPTIONS,
    *,
    replaced: Iterable[SourceMark] = (),
    limits: Limits = DEFAULT_LIMITS,
) -> WrittenBack:
    """The same for a document given as bytes; ``file`` names it in messages."""
    writer = into_mei if part.source.format == "mei" else into_musicxml
    try:
        return writer(data, file, Request(part, markings, options, tuple(replaced), limits))
    except PedalsetterError as error:
        raise error.in_file(file) from error.__cause__
