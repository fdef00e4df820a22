"""From places to moments of LilyPond's time: where, and after how much grace time, a mark hangs."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.part import Event, HarpPart, Place
from pedalsetter.engrave.notation.timeline import GraceGroup, grace_groups, grace_length

__all__ = ["PrintedMoment", "PrintedMoments"]

_AFTER = Fraction(3, 4)
"""After how much of a note its after-notes stand (LilyPond's ``afterGraceFraction``)."""


@dataclass(frozen=True, slots=True, order=True)
class PrintedMoment:
    """A moment as LilyPond counts it; sorts in the order of playing."""

    time: Fraction
    """Quarters from the beginning of the score."""
    grace: Fraction = Fraction(0)
    """Minus the quarters of grace time that are still to come before ``time``."""


class PrintedMoments:
    """The printed moment of every place of a part."""

    def __init__(self, part: HarpPart) -> None:
        self._part = part
        self._groups: defaultdict[tuple[int, Fraction], list[GraceGroup]] = defaultdict(list)
        for group in grace_groups(part):
            self._groups[group.bar, group.offset].append(group)
        self._mains: defaultdict[int, list[Event]] = defaultdict(list)
        for event in part.events:
            if event.grace is None:
                self._mains[event.bar].append(event)

    def of(self, place: Place) -> PrintedMoment:
        """Where a mark at ``place`` hangs: at a grace note, if the place is that of one.

        Several voices may have grace notes before one beat: the one that begins first counts.
        """
        time = self._part.onset_of(place)
        if place.grace == 0:
            return PrintedMoment(time)
        found = [
            (
                group,
                sum((grace_length(event) for event in group.events[place.grace :]), Fraction(0)),
            )
            for group in self._groups[place.bar, place.offset]
            if len(group.events) >= -place.grace
        ]
        if not found:
            return PrintedMoment(time)
        return min(PrintedMoment(self._anchor(group, time), -left) for group, left in found)

    def after_notes(self, place: Place) -> Fraction:
        """Grace time of the after-notes among which a place stands; 0 where there are none."""
        return max(
            (
                group.length
                for group in self._groups[place.bar, place.offset]
                if place.grace and group.after
            ),
            default=Fraction(0),
        )

    def _anchor(self, group: GraceGroup, time: Fraction) -> Fraction:
        """The moment that the grace notes lead to, or in after-notes, at which they begin."""
        if not group.after:
            return time
        first = group.events[0]
        before = [
            event
            for event in self._mains[group.bar]
            if (event.staff, event.voice) == (first.staff, first.voice) and event.onset < time
        ]
        if not before:
            return time
        main = max(before, key=lambda event: event.onset)
        return main.onset + _AFTER * main.length
