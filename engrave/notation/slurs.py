"""Slurs: which end belongs to which start, and which of LilyPond's slurs each becomes."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from pedalsetter.analysis.part import Event, SpannerEnd
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["SlurPair", "add_slurs", "pair_slurs"]


@dataclass(frozen=True, slots=True)
class SlurPair:
    """A slur with both its ends."""

    start: Event
    stop: Event
    sign: SpannerEnd
    """The end at the start, which says how the slur looks."""


@dataclass(frozen=True, slots=True)
class _End:
    stream: int
    place: int
    """Index in the stream."""
    event: Event
    sign: SpannerEnd


def pair_slurs(streams: Sequence[Stream], notices: Notices) -> tuple[SlurPair, ...]:
    """Join each stop with the nearest open start of its number, within its stream if it can."""
    starts: list[_End] = []
    stops: list[_End] = []
    for number, stream in enumerate(streams):
        for place, event in enumerate(stream.events):
            for sign in event.spanners:
                if sign.kind == "slur":
                    (starts if sign.start else stops).append(_End(number, place, event, sign))
    pairs: list[SlurPair] = []
    left: list[_End] = []
    for stop in stops:
        mates = [
            start
            for start in starts
            if start.stream == stop.stream
            and start.sign.number == stop.sign.number
            and start.place < stop.place
        ]
        if mates:
            starts.remove(mates[-1])
            pairs.append(SlurPair(mates[-1].event, stop.event, mates[-1].sign))
        else:
            left.append(stop)
    for stop in sorted(left, key=lambda end: end.event.onset):
        mates = [
            start
            for start in starts
            if start.sign.number == stop.sign.number and start.event.onset <= stop.event.onset
        ]
        if not mates:
            notices.at(stop.event, "a slur ends here that has no beginning: left out")
            continue
        mate = max(mates, key=lambda end: end.event.onset)
        starts.remove(mate)
        pairs.append(SlurPair(mate.event, stop.event, mate.sign))
    for start in starts:
        notices.at(start.event, "a slur begins here that has no end: left out")
    return tuple(pairs)


def add_slurs(
    streams: Sequence[Stream], pairs: Sequence[SlurPair], sheet: Sheet, notices: Notices
) -> None:
    """Write every slur, each within one stream.

    LilyPond draws a slur within one voice. One that the source ends in another voice ends at the
    note of its own voice that sounds at that moment.
    """
    home = {event.id: index for index, stream in enumerate(streams) for event in stream.events}
    notes = [[event for event in stream.events if event.heads] for stream in streams]
    onsets_of = [[event.onset for event in own] for own in notes]
    places = [{event.id: place for place, event in enumerate(own)} for own in notes]
    spans: list[list[tuple[int, int, SlurPair]]] = [[] for _ in streams]
    for pair in pairs:
        number = home[pair.start.id]
        onsets = onsets_of[number]
        # an end on a rest belongs to the note before it, a start to the one behind
        first = places[number].get(pair.start.id, bisect_right(onsets, pair.start.onset))
        last = places[number].get(pair.stop.id)
        if last is None:
            last = bisect_right(onsets, pair.stop.onset) - 1
            if home[pair.stop.id] != number:
                notices.at(pair.start, "a slur into another voice is drawn within its own")
        if first < last:
            spans[number].append((first, last, pair))
        else:
            notices.at(pair.start, "a slur that would hold a single note: left out")
    for own, found in zip(notes, spans, strict=True):
        _write(own, found, sheet)


def _write(
    notes: Sequence[Event], spans: Sequence[tuple[int, int, SlurPair]], sheet: Sheet
) -> None:
    """Give each slur of one stream its kind, so that no two of a kind overlap.

    The shorter of two nested slurs is the ordinary one, the longer the phrasing slur; more at
    once are told apart by a number.
    """
    taken: list[list[tuple[int, int]]] = []
    for first, last, pair in sorted(spans, key=lambda span: (span[1] - span[0], span[0])):
        kind = 0
        while kind < len(taken) and any(
            first < other_last and other_first < last for other_first, other_last in taken[kind]
        ):
            kind += 1
        if kind == len(taken):
            taken.append([])
        taken[kind].append((first, last))
        signs = [("(", ")"), (r"\(", r"\)")]
        begin, finish = signs[kind] if kind < 2 else (rf"\={kind}(", rf"\={kind})")
        direction = {"above": "^", "below": "_"}.get(pair.sign.placement or "", "")
        style = {
            "dashed": r"-\tweak dash-definition #'((0 1 0.4 0.75)) ",
            "dotted": r"-\tweak dash-definition #'((0 1 0.1 0.3)) ",
        }.get(pair.sign.line, "")
        sheet.events[notes[last].id].after.insert(0, finish)
        prefix = f"{style}{direction or '-'}" if style else direction
        sheet.events[notes[first].id].after.append(f"{prefix}{begin}")
