"""Where each pedal stands, from one end of the piece to the other."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Change, PedalPlan

__all__ = ["Stretch", "pedal_paths"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A pedal that stands still, from one place to another."""

    begin: Place
    end: Place
    """The place of the next stretch, or the end of the last bar."""
    position: Position
    change: Change | None
    """What brought the pedal here; None at a movement's beginning, and where a bar is entered
    with another setting than the bar printed before it leaves."""


def pedal_paths(part: HarpPart, plan: PedalPlan) -> dict[Letter, tuple[Stretch, ...]]:
    """For each letter its stretches, in the order of the page and without a gap."""
    return {letter: _path(part, plan, letter) for letter in LETTERS}


def _path(part: HarpPart, plan: PedalPlan, letter: Letter) -> tuple[Stretch, ...]:
    # Every place at which the pedal is told anew, and by what.
    told: list[tuple[Place, Position, Change | None]] = [
        (_start(movement.first_bar), movement.opening[letter], None) for movement in plan.movements
    ]
    told += [(_start(bar), setting[letter], None) for bar, setting in plan.entries]
    told += [
        (Place(change.place.bar, change.place.offset), change.new, change)
        for change in plan.changes
        if change.letter is letter
    ]
    # A bar is entered before its first change is made, and a change made twice at one place counts
    # once, as the last that is read.
    told.sort(key=lambda one: (one[0], one[2] is not None))
    stretches: list[Stretch] = []
    last = part.bars[-1]
    ends = [place for place, _, _ in told[1:]] + [Place(last.index, last.length)]
    for (begin, position, change), end in zip(told, ends, strict=True):
        known = stretches[-1].position if stretches else None
        if change is None and known is position:
            stretches[-1] = Stretch(stretches[-1].begin, end, position, stretches[-1].change)
        elif begin != end or change is not None:
            stretches.append(Stretch(begin, end, position, change))
    return tuple(stretches)


def _start(bar: int) -> Place:

    return Place(bar, Fraction(0))
