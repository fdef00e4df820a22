"""How the pedals stand at a place, what has just moved, and what moves next.

Places and changes are those of the page, read from left to right within one movement; what repeats
and jumps bring first or last is another question.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from pedalsetter.analysis.instrument.harp import Setting
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Change, PedalPlan

__all__ = ["Standing", "standing_at"]


@dataclass(frozen=True, slots=True)
class Standing:
    """The pedals at one place of one plan."""

    place: Place
    setting: Setting
    """What notes struck at the place sound with: changes printed there are made."""
    here: tuple[Change, ...]
    """Changes printed at the place itself."""
    last: tuple[Change, ...]
    """The changes before them: all that stand at the nearest place to the left."""
    following: tuple[Change, ...]
    """The changes after them: all that stand at the nearest place to the right."""


def standing_at(part: HarpPart, plan: PedalPlan, place: Place) -> Standing:
    """How the pedals stand at ``place``, and the nearest changes on both sides of it.

    Grace notes belong to the note that they lead to: a change before one of them is made *here*.
    """
    movement = part.bars[place.bar].movement
    changes = [c for c in plan.changes if part.bars[c.place.bar].movement == movement]
    places = [(change.place.bar, change.place.offset) for change in changes]
    start = bisect_left(places, (place.bar, place.offset))
    stop = bisect_right(places, (place.bar, place.offset))
    last = bisect_left(places, places[start - 1]) if start else 0
    end = bisect_right(places, places[stop]) if stop < len(places) else stop
    return Standing(
        place,
        plan.setting_at(place),
        here=tuple(changes[start:stop]),
        last=tuple(changes[last:start]),
        following=tuple(changes[stop:end]),
    )
