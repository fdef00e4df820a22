"""A copy of the user's own score with the marks of an edition in it, whatever its format."""

from __future__ import annotations

import os
from dataclasses import replace

from pedalsetter.analysis.collation import glissando_diagrams
from pedalsetter.analysis.editing import Edition
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.errors import OutputError
from pedalsetter.analysis.marks.marking import Markings, Origin
from pedalsetter.analysis.marks.string_marks import names_in_source
from pedalsetter.analysis.part import HarpPart, SourceMark
from pedalsetter.engrave.output.write_back.door import write_back
from pedalsetter.engrave.output.write_back.options import (
    DEFAULT_OPTIONS,
    WriteBackOptions,
    WrittenBack,
)

__all__ = ["FORMATS", "check_format", "marked_copy"]

FORMATS = {"musicxml": ("musicxml", "mxl"), "mei": ("mei",)}
"""What can be asked for, and the formats of scores that it means."""


def check_format(part: HarpPart, wanted: str | None = None) -> None:
    """Refuse early what :func:`marked_copy` would refuse in the end.

    ``wanted`` is ``musicxml`` or ``mei``, or None for whatever the score is.

    Raises:
        OutputError: the score's format cannot hold marks, or is not the one wanted: a score is
            never turned into another format, since that would lose what only its own can say.
    """
    given = part.source.format
    if not any(given in formats for formats in FORMATS.values()):
        raise OutputError(
            f"marks cannot be written into a file of the format {given}",
            file=part.source.file,
            mend="Export the score as MusicXML or MEI and give that.",
        )
    if wanted is not None and given not in FORMATS[wanted]:
        own = next(name for name, formats in FORMATS.items() if given in formats)
        raise OutputError(
            f"marks are written into the score's own format, {own}, and never into {wanted}",
            file=part.source.file,
            mend=f"Ask for {own}, or export the score as {wanted} and give that.",
        )


def marked_copy(
    score: str | os.PathLike[str],
    part: HarpPart,
    edition: Edition,
    options: WriteBackOptions = DEFAULT_OPTIONS,
) -> WrittenBack:
    """The score's document with the marks of an edition, all else byte for byte as it was.

    Marks of the source that the edition keeps stay where they are, and only what it adds is put
    in; those that it replaces are taken out. Diagrams that tell what a glissando sounds always
    stay: without them the notes would no longer say it.

    Raises:
        OutputError: the format cannot hold the marks.
        ScoreError: the document cannot be written back.
    """
    check_format(part)
    gone: tuple[SourceMark, ...] = ()
    if edition.mode is SourceMarks.REPLACE:
        given = glissando_diagrams(part)
        gone = tuple(mark for mark in part.source_marks if mark.id not in given)
        if options.style is None or options.style.respelled_notes != "as-written":
            gone += names_in_source(part)
    return write_back(score, part, _put_in(edition.markings), options, replaced=gone)


def _put_in(markings: Markings) -> Markings:
    """The marks that do not stand in the source already."""
    diagrams = tuple(each for each in markings.diagrams if each.origin is not Origin.SOURCE)
    changes = []
    for mark in markings.changes:
        if mark.origin is Origin.SOURCE:
            own = tuple(change for change in mark.changes if change.letter in mark.added)
            if own:
                changes.append(replace(mark, changes=own))
        else:
            changes.append(mark)
    return replace(markings, diagrams=diagrams, changes=tuple(changes))
