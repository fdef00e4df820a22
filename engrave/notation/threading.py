"""Lets streams follow ties, slurs and beams where the source changes its voices.

Sources number voices anew in every bar: what was the second voice becomes the first. LilyPond ties
and slurs only within a voice, so the rest of two streams is exchanged at a moment where that keeps
more of them whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from pedalsetter.analysis.part import Event
from pedalsetter.engrave.notation.beams import beamed_groups
from pedalsetter.engrave.notation.slurs import SlurPair
from pedalsetter.engrave.notation.streams import Stream, index_bars

__all__ = ["follow_links"]


@dataclass(frozen=True, slots=True)
class _Link:
    """Two events that ought to stay in one stream."""

    first: Event
    second: Event
    weight: int
    moment: Fraction
    """Where their streams may be exchanged to bring them together."""


def follow_links(streams: Sequence[Stream], slurs: Sequence[SlurPair]) -> None:
    """Exchange the rests of streams, in place, wherever more links stay whole by it.

    Time grows with the number of broken links, each of which looks at the links that cross its
    moment.
    """
    links = _ties(streams)
    barlines: dict[int, Fraction] = {}
    for stream in streams:
        for group in beamed_groups(stream):
            links += [_Link(one, other, 5, other.onset) for one, other in pairwise(group)]
        for bar, events in stream.by_bar.items():
            barlines[bar] = min(barlines.get(bar, events[0].onset), events[0].onset)
    # a slur may go from voice to voice: it follows only voices that are numbered anew in its bar
    links += [
        _Link(slur.start, slur.stop, 2, barlines[slur.stop.bar])
        for slur in slurs
        if slur.start.bar < slur.stop.bar
    ]
    home = {event.id: number for number, stream in enumerate(streams) for event in stream.events}
    changed = False
    for link in sorted(links, key=lambda link: (link.second.onset, link.first.onset)):
        one, other = home[link.first.id], home[link.second.id]
        if one == other or streams[one].home != streams[other].home:
            continue
        moment = link.moment
        if _is_crossed(streams[one], moment) or _is_crossed(streams[other], moment):
            continue
        gain = 0
        for each in links:
            ends = {home[each.first.id], home[each.second.id]}
            if each.first.onset < moment <= each.second.onset and ends <= {one, other}:
                gain += each.weight if len(ends) == 2 else -each.weight
        if gain > 0:
            _exchange(streams[one], streams[other], moment)
            for number in (one, other):
                home.update((event.id, number) for event in streams[number].events)
            changed = True
    if changed:
        for stream in streams:
            index_bars(stream)


def _ties(streams: Sequence[Stream]) -> list[_Link]:
    """Every tie, from the event where it starts to the one where the same pitch goes on."""
    ends: dict[tuple[Fraction, object, int], Event] = {}
    for stream in streams:
        for event in stream.events:
            for head in event.heads:
                if head.tie_stop and event.grace is None:
                    ends[event.onset, head.pitch, event.staff] = event
    links = []
    for stream in streams:
        for event in stream.events:
            for head in event.heads:
                end = ends.get((event.end, head.pitch, event.staff))
                if head.tie_start and event.grace is None and end is not None:
                    links.append(_Link(event, end, 3, end.onset))
    return links


def _is_crossed(stream: Stream, moment: Fraction) -> bool:
    return any(event.onset < moment < event.end for event in stream.events)


def _exchange(one: Stream, other: Stream, moment: Fraction) -> None:
    """Give each stream the other's events from ``moment`` on; after-notes stay where they are."""

    def cut(stream: Stream) -> int:
        for place, event in enumerate(stream.events):
            stays = event.grace is not None and event.grace.after and event.onset == moment
            if event.onset >= moment and not stays:
                return place
        return len(stream.events)

    first, second = cut(one), cut(other)
    head, tail = one.events[:first], one.events[first:]
    one.events = head + other.events[second:]
    other.events = other.events[:second] + tail
