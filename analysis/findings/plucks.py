"""Moment by moment, the strings that the fingers pluck, as the plan has them played."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Harp, String
from pedalsetter.analysis.part import Event, HarpPart, Head, Place
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.playing.clock import Clock
from pedalsetter.analysis.playing.moments import (
    GRACE_MICROSECONDS,
    is_struck,
    number_graces,
    place_of,
)
from pedalsetter.analysis.playing.sustained import tied_ends

__all__ = ["Moment", "Pluck", "find_moments"]


@dataclass(frozen=True, slots=True)
class Pluck:
    """One written note and the string that a finger plucks for it."""

    event: Event
    head: Head
    string: String


@dataclass(frozen=True, slots=True)
class Moment:
    """All that is plucked together."""

    place: Place
    seconds: Fraction
    """From the beginning of the page, each bar once."""
    plucks: tuple[Pluck, ...]
    """From the lowest string to the highest."""


def find_moments(part: HarpPart, plan: PedalPlan, harp: Harp) -> tuple[Moment, ...]:
    """Return the plucked moments in order; tied continuations, cues and what has no string are out.

    A note that the plan cannot let sound is taken on its written string, as the writer meant it.
    """
    clock, graces = Clock(part), number_graces(part)
    _, continued = tied_ends(part)
    found: dict[Place, list[Pluck]] = {}
    for event in part.events:
        if not is_struck(event):
            continue
        place = place_of(part, event, graces)
        for head in event.heads:
            if head.id in continued:
                continue
            use = plan.strings.get(head.id)
            if use is not None and use.sounding is not None:
                string = use.sounding.string
            else:
                string = String(head.pitch.letter, head.pitch.octave)
            if harp.has(string):
                found.setdefault(place, []).append(Pluck(event, head, string))
    return tuple(
        Moment(
            place,
            clock.seconds(part.onset_of(place))
            + Fraction(place.grace * GRACE_MICROSECONDS, 1_000_000),
            tuple(sorted(found[place], key=lambda one: (one.string.step, one.head.id))),
        )
        for place in sorted(found)
    )
