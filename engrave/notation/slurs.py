"""Slurs: which end belongs to which start, and which of LilyPond's slurs each becomes."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from pedalsetter.analysis.part import Event, SpannerEnd
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["add_slurs"]


@dataclass(slots=True)
class _End:
    stream: int
    position: int
    """Index among the stream's events with heads."""
    event: Event
    spanner: SpannerEnd


@dataclass(slots=True)
class _Slur:
    start: _End
    stop: _End
    last: int
    """Position of the last note within the stream of the start."""

    @property
    def span(self) -> tuple[int, int]:
        return self.start.position, self.last


def add_slurs(streams: Sequence[Stream], sheet: Sheet, notices: Notices) -> None:
    """Write every slur, each within one stream.

    LilyPond draws a slur within one voice. One that the source ends in another voice ends at the
    note of its own voice that sounds at that moment.
    """
    starts: list[_End] = []
    stops: list[_End] = []
    for number, stream in enumerate(streams):
        position = -1
        for event in stream.events:
            position += bool(event.heads)
            # an end on a rest belongs to the note before it, a start to the one behind
            for end in event.spanners:
                if end.kind == "slur":
                    here = position if event.heads or not end.start else position + 1
                    (starts if end.start else stops).append(_End(number, here, event, end))
    slurs = _pair(streams, starts, stops, notices)
    for number in range(len(streams)):
        own = [slur for slur in slurs if slur.start.stream == number]
        _write(streams[number], own, sheet, notices)


def _pair(
    streams: Sequence[Stream], starts: list[_End], stops: list[_End], notices: Notices
) -> list[_Slur]:
    """Join each stop with the nearest open start of its number, within its stream if it can."""
    open_starts = list(starts)
    slurs: list[_Slur] = []
    left: list[_End] = []
    for stop in stops:
        mates = [
            start
            for start in open_starts
            if start.stream == stop.stream
            and start.spanner.number == stop.spanner.number
            and start.position < stop.position
        ]
        if mates:
            start = mates[-1]
            open_starts.remove(start)
            slurs.append(_Slur(start, stop, stop.position))
        else:
            left.append(stop)
    for stop in sorted(left, key=lambda end: end.event.onset):
        mates = [
            start
            for start in open_starts
            if start.stream != stop.stream
            and start.spanner.number == stop.spanner.number
            and start.event.onset <= stop.event.onset
        ]
        if not mates:
            notices.at(stop.event, "a slur ends here that has no beginning: left out")
            continue
        start = max(mates, key=lambda end: end.event.onset)
        open_starts.remove(start)
        sounding = [event.onset for event in streams[start.stream].events if event.heads]
        last = bisect_left(sounding, stop.event.onset)
        if last == len(sounding) or (sounding[last] != stop.event.onset and last > 0):
            last -= 1
        if last > start.position:
            slurs.append(_Slur(start, stop, last))
            if sounding[last] != stop.event.onset or stop.event.staff != start.event.staff:
                notices.at(start.event, "a slur into another voice is drawn within its own")
        else:
            notices.at(start.event, "a slur into another voice cannot be drawn: left out")
    for start in open_starts:
        notices.at(start.event, "a slur begins here that has no end: left out")
    return slurs


def _write(stream: Stream, slurs: list[_Slur], sheet: Sheet, notices: Notices) -> None:
    """Give each slur of one stream its kind, so that no two of a kind overlap.

    The shorter of two nested slurs is the ordinary one, the longer the phrasing slur; more at
    once are told apart by a number.
    """
    notes = [event for event in stream.events if event.heads]
    taken: list[list[tuple[int, int]]] = []
    for slur in sorted(slurs, key=lambda slur: (slur.last - slur.start.position, slur.span)):
        first, last = slur.span
        if first >= len(notes) or first >= last:
            notices.at(slur.start.event, "a slur over a single note cannot be drawn: left out")
            continue
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
        direction = {"above": "^", "below": "_"}.get(slur.start.spanner.placement or "", "")
        style = {
            "dashed": r"-\tweak dash-definition #'((0 1 0.4 0.75)) ",
            "dotted": r"-\tweak dash-definition #'((0 1 0.1 0.3)) ",
        }.get(slur.start.spanner.line, "")
        sheet.events[notes[last].id].after.insert(0, finish)
        prefix = f"{style}{direction or '-'}" if style or direction else ""
        sheet.events[notes[first].id].after.append(f"{prefix}{begin}")
