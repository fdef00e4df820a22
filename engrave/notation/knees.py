"""Room for beams that lie between two staves."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.notation.beams import crossing_groups
from pedalsetter.engrave.notation.stems import diatonic_step, middle_at, middle_lines
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["distance_for_knees"]

_STEMS = Fraction(15, 2)
"""Staff spaces that two shortened stems and two beams take between the notes they join."""

_ORDINARY = Fraction(9)
"""Staff spaces between the middle lines of two staves, which LilyPond keeps in any case."""

_WIDEST = Fraction(14)
"""No beam moves the staves farther apart than this, whatever its notes."""


def distance_for_knees(part: HarpPart, streams: Sequence[Stream]) -> Fraction | None:
    """Least distance of the staves' middle lines, in staff spaces; None if the usual one does.

    A beam between the staves needs stems upward from the highest note below it and downward from
    the lowest note above it; where these come close, the staves must give way.
    """
    lines = {staff: middle_lines(part, staff) for staff in range(1, part.staves + 1)}
    widest = _ORDINARY
    for stream in streams:
        for group in crossing_groups(part, stream):
            staves = {event.staff for event in group if event.heads}
            below: list[int] = []
            above: list[int] = []
            told = all(event.stem in ("up", "down") for event in group if event.heads)
            for event in group:
                outwards = "down" if event.staff == max(staves) else "up"
                if told and event.stem == outwards:
                    continue
                middle = middle_at(lines[event.staff], event.onset)
                places = [diatonic_step(head.pitch) - middle for head in event.heads]
                (below if event.staff == max(staves) else above).extend(places)
            if below and above:
                widest = max(widest, Fraction(max(below) - min(above), 2) + _STEMS)
    return None if widest == _ORDINARY else min(widest, _WIDEST)
