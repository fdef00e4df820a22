"""What is to be written into a document, and the way in that all formats share."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pedalsetter.analysis.errors import PedalsetterError, ScoreError
from pedalsetter.analysis.marking import Mark, Markings
from pedalsetter.analysis.part import HarpPart, SourceMark
from pedalsetter.analysis.reading.harp_part import score_bytes
from pedalsetter.analysis.reading.limits import DEFAULT_LIMITS, Limits
from pedalsetter.engrave.output.write_back.markup import in_order
from pedalsetter.engrave.output.write_back.options import (
    DEFAULT_OPTIONS,
    WriteBackOptions,
    WrittenBack,
)

__all__ = ["Request", "Writer", "other_score"]


@dataclass(frozen=True, slots=True)
class Request:
    """Marks for one part of a document."""

    part: HarpPart
    """As it was read from the document."""
    markings: Markings
    """What is put in."""
    options: WriteBackOptions = DEFAULT_OPTIONS
    replaced: tuple[SourceMark, ...] = ()
    """Marks of the source that are taken out; ``part`` was then read from the document without
    our own (:func:`~pedalsetter.engrave.output.write_back.clearing.without_marks`)."""
    limits: Limits = DEFAULT_LIMITS

    def by_bar(self, file: str) -> dict[int, list[Mark]]:
        """The marks of each bar that has any, by place.

        Raises:
            ScoreError: a mark stands beyond the last bar.
        """
        found: dict[int, list[Mark]] = {}
        for mark in in_order(self.markings):
            if mark.place.bar >= len(self.part.bars):
                raise other_score(file)
            found.setdefault(mark.place.bar, []).append(mark)
        return found

    def written_by(self, writer: Writer, data: bytes, file: str) -> WrittenBack:
        """What a format's writer makes of a document; its errors name the file."""
        try:
            return writer(data, file, self)
        except PedalsetterError as error:
            raise error.in_file(file) from error.__cause__

    def written_into(self, writer: Writer, score: str | os.PathLike[str]) -> WrittenBack:
        """The same for a file, which is only read."""
        return self.written_by(writer, score_bytes(score, self.limits), Path(score).name)


Writer = Callable[[bytes, str, Request], WrittenBack]
"""Puts marks into a document of one format: (data, name of the file, marks)."""


def other_score(file: str) -> ScoreError:
    """The error where a document is not the one that the marks were made for."""
    return ScoreError("the score is not the one that the marks were made for", file=file)
