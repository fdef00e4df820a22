"""What voices that share a staff must know of each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.notation.stems import (
    UPPER_VOICES,
    diatonic_step,
    middle_at,
    middle_lines,
)
from pedalsetter.engrave.notation.streams import Stream
from pedalsetter.engrave.notation.timeline import BarUnit

__all__ = ["clashing_rests", "doubled_rests", "note_places", "rest_bearers", "struck_together"]


def note_places(part: HarpPart) -> Mapping[tuple[int, int], list[int]]:
    """Places of all noteheads by (bar, staff), counted from the middle line in half spaces."""
    lines = {staff: middle_lines(part, staff) for staff in range(1, part.staves + 1)}
    places: dict[tuple[int, int], list[int]] = {}
    for event in part.events:
        if event.heads:
            middle = middle_at(lines[event.staff], event.onset)
            places.setdefault((event.bar, event.staff), []).extend(
                diatonic_step(head.pitch) - middle for head in event.heads
            )
    return places


def struck_together(streams: Sequence[Stream]) -> set[str]:
    """Ids of events that begin together with another voice's note on the same staff."""
    moments: dict[tuple[Fraction, int], list[str]] = {}
    for stream in streams:
        for event in stream.events:
            if event.heads and event.grace is None:
                moments.setdefault((event.onset, event.staff), []).append(event.id)
    return {event_id for ids in moments.values() if len(ids) > 1 for event_id in ids}


def doubled_rests(part: HarpPart, streams: Sequence[Stream]) -> frozenset[str]:
    """Ids of bar rests that only repeat another voice's on a staff that is silent anyway."""
    doubled: set[str] = set()
    for bar in part.bars:
        for staff in range(1, part.staves + 1):
            shown = [
                event
                for stream in streams
                for event in stream.by_bar.get(bar.index, ())
                if event.staff == staff and event.visible
            ]
            if len(shown) > 1 and all(event.is_bar_rest for event in shown):
                doubled.update(event.id for event in shown[1:])
    return frozenset(doubled)


def clashing_rests(
    streams: Sequence[Stream], voices: Mapping[tuple[str, int, int], str]
) -> frozenset[str]:
    """Ids of rests for which another voice with stems the same way has taken the room.

    At one moment a staff has place for a rest above and one below; those that the source puts
    somewhere stay.
    """
    taken: set[tuple[Fraction, int, bool]] = set()
    clashing = set()
    for stream in streams:
        for event in stream.events:
            if event.heads or event.grace is not None or not event.visible:
                continue
            voice = voices.get((stream.name, event.bar, event.staff), "")
            room = (event.onset, event.staff, voice in UPPER_VOICES)
            if room in taken and event.rest_pitch is None:
                clashing.add(event.id)
            taken.add(room)
    return frozenset(clashing)


def rest_bearers(
    part: HarpPart, units: Sequence[BarUnit], streams: Sequence[Stream]
) -> frozenset[tuple[str, int]]:
    """(stream name, first bar) of the one stream a staff that shows each gathered rest."""
    bearers = set()
    for unit in units:
        if not unit.gathered:
            continue
        for staff in range(1, part.staves + 1):
            own = [stream for stream in streams if stream.home == staff]
            resting = [stream for stream in own if stream.by_bar.get(unit.first)]
            if own:
                bearers.add(((resting or own)[0].name, unit.first))
    return frozenset(bearers)
