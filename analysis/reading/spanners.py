"""Spanners: every beginning has its end, and no two that overlap share a number.

A source pairs the ends of slurs, glissandi and lines by number, but some reuse one number in two
voices at once, and some forget an end. After this step the rest of the road may trust the pairs.

A number is free again where its spanner has ended *in the order of the document*, which goes voice
by voice, so that by time it may begin anew before (MusicXML 4.0, ``number-level``). What it began
before can then only end at what the document has in between; without that the earlier slur of one
part made by chance in six was lost.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from pedalsetter.analysis.part import Bar, Direction, DirectionKind, SpannerEnd
from pedalsetter.analysis.reading.draft import EventDraft
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["pair_directions", "pair_spanners"]

_NAMES = {
    "slur": "a slur",
    "glissando": "a glissando",
    "slide": "a slide",
    "wavy-line": "a trill's line",
}


@dataclass(slots=True)
class _Open:
    end: SpannerEnd
    owner: list[SpannerEnd]
    event: EventDraft
    number: int
    until: tuple[int, int] | None = None
    """Where in the document the number begins anew in its voice: it has ended before."""

    def may_end_at(self, event: EventDraft) -> bool:
        """Whether the document's order lets it end there."""
        return self.until is None or _in_document(event) < self.until


def pair_spanners(events: Sequence[EventDraft], notices: Notices) -> None:
    """Pair the ends of all spanners in place; ``events`` in order of onset.

    An end is sought in its own voice first, then in any. What stays alone is left out and told.
    """
    open_ones: list[_Open] = []
    for moment in _moments(events):
        ends = []
        for event in moment:
            for owner in _owners(event):
                ends += [(owner, end, event) for end in owner]
                owner.clear()
        waiting = [
            (owner, end, event)
            for owner, end, event in ends
            if not end.start and not _close(end, owner, event, open_ones)
        ]
        for owner, end, event in ends:
            if end.start:
                _begin(end, owner, event, open_ones, notices)
        for owner, end, event in waiting:
            # A trill's line may begin and end on one note; a slur needs two.
            within = end.kind == "wavy-line" and _close(end, owner, event, open_ones)
            if not within:
                notices.at(event.bar, event.offset, event.staff)
                notices.add(f"{_NAMES[end.kind]} has an end but no beginning; it was left out")
    for each in open_ones:
        _drop(each, notices)


def _moments(events: Iterable[EventDraft]) -> Iterator[list[EventDraft]]:
    """What begins together and may end what began before; each grace note is alone."""
    for (_, _, main), together in groupby(
        events, lambda event: (event.bar, event.offset, event.grace is None)
    ):
        if main:
            yield list(together)
        else:
            yield from ([grace] for grace in together)


def _owners(event: EventDraft) -> Iterable[list[SpannerEnd]]:
    yield event.spanners
    for head in event.heads:
        yield head.spanners


def _begin(
    end: SpannerEnd,
    owner: list[SpannerEnd],
    event: EventDraft,
    open_ones: list[_Open],
    notices: Notices,
) -> None:
    here = _in_document(event)
    for each in list(open_ones):
        same = each.end.kind == end.kind and each.end.number == end.number
        if same and each.event.voice == event.voice and each.event is not event:
            if _in_document(each.event) > here:
                open_ones.remove(each)
                _drop(each, notices)
            elif each.until is None:
                each.until = here
    taken = {each.number for each in open_ones if each.end.kind == end.kind}
    number = end.number
    if number in taken:
        number = next(free for free in range(1, len(taken) + 2) if free not in taken)
    open_ones.append(_Open(end, owner, event, number))
    owner.append(replace(end, number=number))


def _close(
    end: SpannerEnd, owner: list[SpannerEnd], event: EventDraft, open_ones: list[_Open]
) -> bool:
    fitting = [
        each
        for each in open_ones
        if each.end.kind == end.kind and each.end.number == end.number and each.may_end_at(event)
    ]
    own = [each for each in fitting if each.event.voice == event.voice]
    chosen = next(iter(own or fitting), None)
    if chosen is None:
        return False
    open_ones.remove(chosen)
    owner.append(replace(end, number=chosen.number))
    return True


def _in_document(event: EventDraft) -> tuple[int, int]:
    return event.bar, event.order


def _drop(each: _Open, notices: Notices) -> None:
    each.owner[:] = [
        end
        for end in each.owner
        if not (end.start and end.kind == each.end.kind and end.number == each.number)
    ]
    notices.at(each.event.bar, each.event.offset, each.event.staff)
    notices.add(f"{_NAMES[each.end.kind]} has a beginning but no end; it was left out")


_PAIRS = {
    DirectionKind.WEDGE_START: (DirectionKind.WEDGE_STOP, "a hairpin"),
    DirectionKind.DASHES_START: (DirectionKind.DASHES_STOP, "a dashed line"),
    DirectionKind.BRACKET_START: (DirectionKind.BRACKET_STOP, "a bracket"),
    DirectionKind.OCTAVE_START: (DirectionKind.OCTAVE_STOP, "an octave line"),
}

_OPENING = {stop: start for start, (stop, _) in _PAIRS.items()}


def pair_directions(
    directions: Sequence[Direction], bars: Sequence[Bar], notices: Notices
) -> list[Direction]:
    """The directions with hairpins and lines paired; ``directions`` in order of onset.

    A hairpin without an end is closed where the next one begins, or at its bar's end; any other
    end or beginning that is alone is left out and told.
    """
    kept: list[Direction] = []
    open_ones: list[Direction] = []
    # Of two at one moment the one that ends comes first, in whatever order voices were written.
    for direction in sorted(directions, key=_ends_first):
        opening = _OPENING.get(direction.kind)
        if direction.kind not in _PAIRS and opening is None:
            kept.append(direction)
            continue
        if opening is None:
            for each in [each for each in open_ones if _are_alike(each, direction)]:
                open_ones.remove(each)
                _end_alone(each, direction, kept, bars, notices)
            open_ones.append(direction)
            kept.append(direction)
            continue
        chosen = _opening_of(direction, opening, open_ones)
        if chosen is None:
            _tell(direction, bars, notices, "has an end but no beginning; it was left out")
            continue
        open_ones.remove(chosen)
        kept.append(replace(direction, number=chosen.number, staff=chosen.staff))
    for each in open_ones:
        _end_alone(each, None, kept, bars, notices)
    return sorted(kept, key=_ends_first)


def _ends_first(direction: Direction) -> tuple[Fraction, bool, int]:
    return direction.onset, direction.kind not in _OPENING, direction.bar


def _are_alike(one: Direction, other: Direction) -> bool:
    return one.kind is other.kind and one.number == other.number and one.staff == other.staff


def _opening_of(
    direction: Direction, kind: DirectionKind, open_ones: Sequence[Direction]
) -> Direction | None:
    """The beginning of the same number, on the same staff if there is one."""
    fitting = [each for each in open_ones if each.kind is kind and each.number == direction.number]
    own = [each for each in fitting if each.staff == direction.staff]
    return next(iter(own or fitting), None)


def _end_alone(
    direction: Direction,
    following: Direction | None,
    kept: list[Direction],
    bars: Sequence[Bar],
    notices: Notices,
) -> None:
    if direction.kind is not DirectionKind.WEDGE_START:
        kept.remove(direction)
        _tell(direction, bars, notices, "has a beginning but no end; it was left out")
        return
    end = bars[direction.bar].end
    bar = direction.bar
    where = "its bar's end"
    if following is not None and following.onset > direction.onset:
        where = "the beginning of the next"
        end, bar = following.onset, following.bar
    kept.append(
        replace(
            direction,
            id=f"{direction.id}-end",
            kind=DirectionKind.WEDGE_STOP,
            bar=bar,
            onset=end,
            shape="",
            niente=False,
        )
    )
    _tell(direction, bars, notices, f"has no end; it is closed at {where}")


def _tell(direction: Direction, bars: Sequence[Bar], notices: Notices, what: str) -> None:
    name = next(name for start, (stop, name) in _PAIRS.items() if direction.kind in (start, stop))
    notices.at(direction.bar, direction.onset - bars[direction.bar].start, direction.staff or 1)
    notices.add(f"{name} {what}")
