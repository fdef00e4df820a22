"""Slurs: which end belongs to which start, and which of LilyPond's slurs each becomes."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from pedalsetter.analysis.part import Event, HarpPart, SpannerEnd
from pedalsetter.engrave.notation.beams import crossing_groups
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


def pair_slurs(events: Sequence[Event], notices: Notices) -> tuple[SlurPair, ...]:
    """Join the ends of all slurs of a part as its reader has paired them.

    No two slurs that run at once share a number, over all voices and staves. (Where they do, in
    parts made by hand, an end belongs to its own voice.)
    """
    running: list[tuple[Event, SpannerEnd]] = []
    pairs: list[SlurPair] = []
    for moment in moments_of(events):
        for stop, sign in _ends(moment, start=False):
            mates = [mate for mate in running if mate[1].number == sign.number]
            own = [mate for mate in mates if mate[0].voice == stop.voice]
            mate = next(iter(own or mates), None)
            if mate is None:
                notices.at(stop, "a slur ends here that has no beginning: left out")
                continue
            running.remove(mate)
            pairs.append(SlurPair(mate[0], stop, mate[1]))
        running += _ends(moment, start=True)
    for start, _ in running:
        notices.at(start, "a slur begins here that has no end: left out")
    return tuple(pairs)


def moments_of(events: Iterable[Event]) -> Iterator[tuple[Event, ...]]:
    """What begins together, in order; every grace note is a moment of its own."""
    for (_, main), together in groupby(events, lambda event: (event.onset, event.grace is None)):
        if main:
            yield tuple(together)
        else:
            for grace in together:
                yield (grace,)


def _ends(events: Iterable[Event], *, start: bool) -> list[tuple[Event, SpannerEnd]]:
    return [
        (event, sign)
        for event in events
        for sign in event.spanners
        if sign.kind == "slur" and sign.start is start
    ]


def add_slurs(
    part: HarpPart,
    streams: Sequence[Stream],
    pairs: Sequence[SlurPair],
    sheet: Sheet,
    notices: Notices,
) -> bool:
    """Write every slur, and tell whether any goes from voice to voice.

    Within a voice LilyPond draws it by itself; from one voice to another the stylesheet does.
    """
    home = {event.id: index for index, stream in enumerate(streams) for event in stream.events}
    notes = [[event for event in stream.events if event.heads] for stream in streams]
    onsets_of = [[event.onset for event in own] for own in notes]
    places = [{event.id: place for place, event in enumerate(own)} for own in notes]
    spans: list[list[tuple[int, int, SlurPair]]] = [[] for _ in streams]
    across = 0
    for pair in pairs:
        one, other = home[pair.start.id], home[pair.stop.id]
        # an end on a rest belongs to the note before it, a start to the one behind
        first = places[one].get(pair.start.id, bisect_right(onsets_of[one], pair.start.onset))
        last = places[other].get(pair.stop.id)
        if last is None:
            last = bisect_right(onsets_of[other], pair.stop.onset) - 1
        if one == other and first < last:
            spans[one].append((first, last, pair))
        elif one != other and _follow(notes[one], first, notes[other], last):
            across += 1
            begin, finish = notes[one][first], notes[other][last]
            names = f'"{streams[one].name}" "{streams[other].name}"'
            look = _look(pair.sign, flat=begin.onset in sheet.remedied.flat_slurs)
            sheet.events[begin.id].after.append(f"{look}\\slurFrom #{across} {names}")
            sheet.events[finish.id].after.insert(0, f"\\slurTo #{across}")
        else:
            notices.at(pair.start, "a slur that would hold a single note: left out")
    for stream, own, found in zip(streams, notes, spans, strict=True):
        crossing = {event.id for group in crossing_groups(part, stream) for event in group}
        _write(own, found, crossing, sheet)
    return across > 0


def _follow(one: Sequence[Event], first: int, other: Sequence[Event], last: int) -> bool:
    """Whether both ends are there, the second after the first."""
    if not first < len(one) or last < 0:
        return False
    start, stop = one[first], other[last]
    return start.onset < stop.onset or (
        start.onset == stop.onset and start.grace is not None and stop.grace is None
    )


def _look(sign: SpannerEnd, *, steep: bool = False, late: bool = False, flat: bool = False) -> str:
    """The side, the line and the slope of a slur, to be written before it.

    A ``late`` one finds its shape only once the staves have their distance; a ``flat`` one does
    not go round what stands below it.
    """
    direction = {"above": "^", "below": "_"}.get(sign.placement or "", "")
    style = {
        "dashed": r"-\tweak dash-definition #'((0 1 0.4 0.75)) ",
        "dotted": r"-\tweak dash-definition #'((0 1 0.1 0.3)) ",
    }.get(sign.line, "")
    if steep:
        # the engraver would let it begin or end in the air between the staves
        style += r"-\tweak details.max-slope #20 "
    if flat:
        style += r"-\tweak control-points #slurs-held-flat "
    if late:
        style += r"-\tweak cross-staff ##t "
    return f"{style}{direction or '-'}" if style else direction


def _write(
    notes: Sequence[Event],
    spans: Sequence[tuple[int, int, SlurPair]],
    crossing: Container[str],
    sheet: Sheet,
) -> None:
    """Give each slur of one stream its kind, so that no two of a kind overlap.

    The shorter of two nested slurs is the ordinary one, the longer the phrasing slur; more at
    once are told apart by a number.

    A phrasing slur asks the slurs that it meets for their shapes, and these ask their beams: of
    ``crossing`` ones that is too early before the staves have their distance.
    """
    across = [
        (first, last)
        for first, last, _ in spans
        if any(event.id in crossing for event in notes[first : last + 1])
    ]
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
        sheet.events[notes[last].id].after.insert(0, finish)
        late = kind == 1 and any(first <= stop and start <= last for start, stop in across)
        look = _look(
            pair.sign,
            steep=notes[first].staff != notes[last].staff,
            late=late,
            flat=notes[first].onset in sheet.remedied.flat_slurs,
        )
        sheet.events[notes[first].id].after.append(look + begin)
