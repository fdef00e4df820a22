"""Two parts out of one: each harp keeps its notes, and rests where the other plays.

What a page shows goes with its notes: slurs, beams, tuplets, dynamics and hairpins (``own_signs``).
Tempo, rehearsal marks and all that steers the playing stands in both.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from pedalsetter.analysis.part import (
    Beam,
    Event,
    HarpPart,
    Head,
    NotatedLength,
    SpannerEnd,
)
from pedalsetter.analysis.splitting.own_signs import own_directions

__all__ = ["halves"]


def halves(part: HarpPart, moved: Collection[str]) -> tuple[HarpPart, HarpPart]:
    """Return the part without the noteheads ``moved``, and a part that has nothing but these.

    ``moved`` must hold ties, glissandi and tremolos whole. Cues stay with the first harp.
    """
    gone = frozenset(moved)
    everything = {head.id for event in part.events for head in event.heads}
    first = _half(part, everything - gone, "1")
    second = _half(part, gone, "2")
    return first, second


def _half(part: HarpPart, kept: Collection[str], number: str) -> HarpPart:
    events: list[Event] = []
    for line in _lines(part):
        events += _voice_in_bar(part, line, kept)
    events += _bar_rests(part, events)
    ordered = sorted(events, key=_in_order(part))
    ordered = _whole_slurs(ordered, part.events)
    name = part.part_name.rstrip(" 12") or "Harp"
    return replace(
        part,
        part_name=f"{name} {number}",
        events=tuple(ordered),
        directions=own_directions(part, ordered),
    )


def _lines(part: HarpPart) -> list[list[Event]]:
    """The voices bar by bar; where two staves use one name for two voices, each by itself."""
    by_voice: dict[tuple[int, str], list[Event]] = {}
    for event in part.events:
        by_voice.setdefault((event.bar, event.voice), []).append(event)
    lines: list[list[Event]] = []
    for line in by_voice.values():
        timed = [event for event in line if event.grace is None]
        if all(before.end <= after.onset for before, after in pairwise(timed)):
            lines.append(line)
            continue
        by_staff: dict[int, list[Event]] = {}
        for event in line:
            by_staff.setdefault(event.staff, []).append(event)
        lines += by_staff.values()
    return lines


def _in_order(part: HarpPart) -> Callable[[Event], tuple[Fraction, bool, int, str, int]]:
    """The order of a part's events: that in which they were read, rests of ours by place."""
    known = {event.id: index for index, event in enumerate(part.events)}

    def key(event: Event) -> tuple[Fraction, bool, int, str, int]:
        index = known.get(event.id, 0)
        return event.onset, event.grace is None, event.staff, event.voice, index

    return key


def _voice_in_bar(part: HarpPart, line: Sequence[Event], kept: Collection[str]) -> list[Event]:
    """One voice of one bar with the notes that are kept, rests between them."""
    if not any(event.heads for event in line):
        return list(line)
    made: list[Event] = []
    for event in line:
        heads = tuple(head for head in event.heads if head.id in kept)
        if heads:
            made.append(_with(event, heads))
        elif event.grace is None:
            made.append(_silent(event) if event.heads else event)
    if not any(event.heads for event in made):
        return []
    return _beamed_anew(_gathered_rests(part, made))


def _with(event: Event, heads: tuple[Head, ...]) -> Event:
    if len(heads) == len(event.heads):
        return event
    arpeggio = event.arpeggio if len(heads) > 1 else None
    return replace(event, heads=heads, arpeggio=arpeggio)


def _silent(event: Event) -> Event:
    """A rest in the place of notes that another harp plays."""
    return Event(
        event.id,
        event.bar,
        event.onset,
        event.length,
        event.staff,
        event.voice,
        event.notated,
        visible=event.visible,
        tuplets=event.tuplets,
    )


def _gathered_rests(part: HarpPart, line: Sequence[Event]) -> list[Event]:
    """Neighbouring rests as few as the beat allows; tuplets of rests alone are none."""
    sounding = {group.id for event in line if event.heads for group in event.tuplets}
    made: list[Event] = []
    run: list[Event] = []

    def close() -> None:
        if len(run) > 1 or (run and run[0].tuplets):
            made.extend(_rests(part, run[0], run[-1].end))
        else:
            made.extend(run)
        run.clear()

    for event in line:
        plain = not any(group.id in sounding for group in event.tuplets)
        if event.is_rest and event.visible and not event.cue and not event.fermatas and plain:
            if run and run[-1].end != event.onset:
                close()
            run.append(event)
        else:
            close()
            made.append(event)
    close()
    return made


def _rests(part: HarpPart, first: Event, end: Fraction) -> Iterable[Event]:
    """Rests from the first event's onset to ``end``: each as long as its place in the bar lets."""
    start = part.bars[first.bar].start
    now, number = first.onset, 0
    while now < end:
        log = 0
        while True:
            length = Fraction(4) / 2**log
            if now + length <= end and not (now - start) % length:
                break
            log += 1
            if log > _SHORTEST:
                # A place that no plain rest reaches: the rest of the time in one of no value.
                length, log = end - now, _SHORTEST
                break
        identity = first.id if not number else f"{first.id}-rest{number}"
        yield Event(
            identity,
            first.bar,
            now,
            length,
            first.staff,
            first.voice,
            NotatedLength(log),
        )
        now, number = now + length, number + 1


_SHORTEST = 10


def _beamed_anew(line: Sequence[Event]) -> list[Event]:
    """Beams from note to note, each broken where a rest has come between."""
    made = list(line)
    run: list[int] = []

    def close() -> None:
        for place, index in enumerate(run):
            beam = Beam.CONTINUE
            if len(run) == 1:
                made[index] = replace(made[index], beam=None)
                continue
            if place in (0, len(run) - 1):
                beam = Beam.END if place else Beam.BEGIN
            made[index] = replace(made[index], beam=beam)
        run.clear()

    for index, event in enumerate(line):
        if event.grace is not None:
            continue
        if event.beam is None or event.beam is Beam.BEGIN or event.is_rest:
            close()
        if event.beam is not None and event.heads:
            run.append(index)
            if event.beam is Beam.END:
                close()
    close()
    return made


def _bar_rests(part: HarpPart, events: Iterable[Event]) -> Iterable[Event]:
    """A rest for each staff that has nothing in a bar where it had something."""
    full = {(event.bar, event.staff) for event in events}
    had = {(event.bar, event.staff) for event in part.events}
    for bar, staff in sorted(had - full):
        start, length = part.bars[bar].start, part.bars[bar].length
        yield Event(f"rest-b{bar}-s{staff}", bar, start, length, staff, f"rest-{staff}")


def _whole_slurs(events: Sequence[Event], source: Iterable[Event]) -> list[Event]:
    """Slurs and trill lines drawn in to the notes that are left, or none where one note is left."""
    kept = {event.id: index for index, event in enumerate(events) if event.heads}
    ends: dict[int, list[SpannerEnd]] = {
        index: [end for end in event.spanners if end.kind not in _LINES]
        for index, event in enumerate(events)
    }
    open_lines: dict[tuple[str, str, int], tuple[SpannerEnd, list[int]]] = {}
    for event in source:
        index = kept.get(event.id)
        for (_, voice, _), (_, inside) in open_lines.items():
            if index is not None and voice == event.voice:
                inside.append(index)
        for end in event.spanners:
            if end.kind not in _LINES:
                continue
            key = (end.kind, event.voice, end.number)
            if end.start:
                open_lines[key] = (end, [] if index is None else [index])
            elif key in open_lines:
                start, inside = open_lines.pop(key)
                if len(inside) > 1:
                    ends[inside[0]].append(start)
                    ends[inside[-1]].append(end)
    return [
        replace(event, spanners=tuple(ends[index])) if event.spanners or ends[index] else event
        for index, event in enumerate(events)
    ]


_LINES = {"slur", "wavy-line"}
