"""What is to be written into a document."""

from __future__ import annotations

from dataclasses import dataclass

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.marks.marking import Mark, Markings
from pedalsetter.analysis.part import HarpPart, SourceMark
from pedalsetter.analysis.reading.limits import DEFAULT_LIMITS, Limits
from pedalsetter.engrave.output.write_back.markup import in_order
from pedalsetter.engrave.output.write_back.options import (
    DEFAULT_OPTIONS,
    WriteBackOptions,
)

__all__ = ["Request", "other_score"]


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


def other_score(file: str) -> ScoreError:
    """The error where a document is not the one that the marks were made for."""
    return ScoreError("the score is not the one that the marks were made for", file=file)
