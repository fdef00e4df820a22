"""What voices that share a staff must know of each other."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.part import Event, HarpPart
from pedalsetter.engrave.notation.stems import (
    UPPER_VOICES,
    diatonic_step,
    middle_at,
    middle_lines,
)
from pedalsetter.engrave.notation.streams import Stream
from pedalsetter.engrave.notation.timeline import BarUnit

__all__ = [
    "MergedRests",
    "clashing_rests",
    "doubled_rests",
    "merged_rests",
    "note_places",
    "rest_bearers",
    "rests_on_heads",
    "struck_together",
    "wandered_rests",
]

_REST_REACH = 4
"""Half spaces from a rest's middle within which a head or its neighbours would be touched."""


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


def wandered_rests(part: HarpPart) -> frozenset[str]:
    """Ids of bar rests on a staff whose voice plays on the other one in that bar.

    The hand does not rest: its notes stand elsewhere.
    """
    homes: dict[str, Counter[int]] = {}
    visited: dict[tuple[int, str], set[int]] = {}
    for event in part.events:
        if event.heads and event.grace is None and event.visible:
            voice = _source_voice(event)
            homes.setdefault(voice, Counter())[event.staff] += 1
            visited.setdefault((event.bar, voice), set()).add(event.staff)
    away: set[tuple[int, int]] = set()
    for (bar, voice), staves in visited.items():
        home = homes[voice].most_common(1)[0][0]
        if home not in staves:
            away.add((bar, home))
    sounding = {(event.bar, event.staff) for event in part.events if event.heads}
    return frozenset(
        event.id
        for event in part.events
        if event.is_bar_rest
        and (event.bar, event.staff) in away
        and (event.bar, event.staff) not in sounding
    )


def _source_voice(event: Event) -> str:
    """The voice as the source names it, before it was split."""
    return re.split("[+/&~]", event.voice)[0]


@dataclass(frozen=True, slots=True)
class MergedRests:
    """Rests of equal value that voices of a staff have at one moment."""

    kept: frozenset[str]
    """Ids of those that are printed, in the middle of their staff."""
    dropped: frozenset[str]


def merged_rests(part: HarpPart) -> MergedRests:
    """Where all voices of a staff rest at once and alike, one rest serves them all."""
    together: dict[tuple[Fraction, int], list[Event]] = {}
    sounding: dict[tuple[int, int], list[Event]] = {}
    for event in part.events:
        if event.grace is not None or not event.visible:
            continue
        if event.heads:
            sounding.setdefault((event.bar, event.staff), []).append(event)
        elif not event.is_bar_rest:
            together.setdefault((event.onset, event.staff), []).append(event)
    kept: set[str] = set()
    dropped: set[str] = set()
    for (onset, staff), rests in together.items():
        first = rests[0]
        alike = all(
            (one.notated, one.length, bool(one.tuplets))
            == (first.notated, first.length, bool(first.tuplets))
            for one in rests
        )
        notes = sounding.get((first.bar, staff), ())
        silent = not any(one.onset < first.end and one.end > onset for one in notes)
        if len(rests) < 2 or not alike or not silent:
            continue
        # what carries a sign of its own stays
        plain = [one for one in rests if not (one.fermatas or one.dynamics or one.lyrics)]
        bearer = next((one for one in rests if one not in plain), first)
        kept.add(bearer.id)
        dropped.update(one.id for one in plain if one is not bearer)
    return MergedRests(frozenset(kept), frozenset(dropped))


def rests_on_heads(part: HarpPart) -> frozenset[str]:
    """Ids of rests that the source puts where another voice of the staff has a head."""
    heads: dict[tuple[Fraction, int], list[int]] = {}
    for event in part.events:
        if event.heads and event.grace is None and event.visible:
            heads.setdefault((event.onset, event.staff), []).extend(
                diatonic_step(head.pitch) for head in event.heads
            )
    found = set()
    for event in part.events:
        if event.heads or event.rest_pitch is None or not event.visible:
            continue
        there = heads.get((event.onset, event.staff))
        step = diatonic_step(event.rest_pitch)
        if there and min(abs(step - place) for place in there) <= _REST_REACH:
            found.add(event.id)
    return frozenset(found)


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
