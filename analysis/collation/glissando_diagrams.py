"""Diagrams that tell what a glissando sounds: they belong to the notes rather than to the feet."""

from __future__ import annotations

from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.playing.glissandi import find_glissandi
from pedalsetter.analysis.playing.moments import number_graces, place_of
from pedalsetter.analysis.playing.sustained import Keys

__all__ = ["glissando_diagrams", "is_pedalled"]


def glissando_diagrams(part: HarpPart) -> frozenset[str]:
    """Ids of the source's whole diagrams from which the setting of a glissando is taken.

    A glissando is written by its first and last note; which strings lie between, only such a
    diagram says (common practice).
    """
    settings = [mark for mark in part.source_marks if mark.setting() is not None]
    if not settings:
        return frozenset()
    graces = number_graces(part)
    found = set()
    for line in find_glissandi(part, Keys(part), graces):
        bar = place_of(part, line.start, graces).bar
        before = [mark for mark in settings if mark.bar == bar and mark.onset <= line.start.onset]
        if line.given is not None and before:
            found.add(max(before, key=lambda mark: mark.onset).id)
    return frozenset(found)


def is_pedalled(part: HarpPart) -> bool:
    """Whether the source marks pedals for more than its glissandi."""
    given = glissando_diagrams(part)
    return any(mark.id not in given for mark in part.source_marks)
