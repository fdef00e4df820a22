"""The printed value of every event: the source's own, or one that its length implies."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.part import NotatedLength
from pedalsetter.analysis.reading.draft import EventDraft, HeadDraft
from pedalsetter.analysis.reading.note_values import printed_value, printed_values, quarters_of
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["give_printed_values"]

_GRACE = NotatedLength(3)


def give_printed_values(voice: list[EventDraft], notices: Notices) -> list[EventDraft]:
    """The events of one voice in one bar, each with its printed value.

    A length that no single note value has (five quavers, say) and that the source prints without
    one is written as tied notes; the first keeps the source's identity, the others add ``-2``,
    ``-3`` to it.
    """
    settled: list[EventDraft] = []
    for event in voice:
        if event.notated is not None or event.bar_rest:
            _compare(event, notices)
            settled.append(event)
        elif event.grace is not None:
            event.notated = _GRACE
            settled.append(event)
        elif event.length == 0:
            notices.at(event.bar, event.offset, event.staff)
            notices.add("a note or rest without length was left out")
        else:
            settled.extend(_valued(event, notices))
    return settled


def _compare(event: EventDraft, notices: Notices) -> None:
    if event.notated is None or event.grace is not None:
        return
    real = event.length
    if event.modification is not None:
        real *= event.modification.ratio
    if real == quarters_of(event.notated):
        return
    is_pair = event.tremolo is not None and event.tremolo.kind in ("start", "stop")
    if is_pair and event.length * 2 == event.notated.quarters:
        # Two notes of a tremolo are each printed at the length of both.
        return
    notices.at(event.bar, event.offset, event.staff)
    notices.add("a note's length is not that of its printed value; both are kept")


def _valued(event: EventDraft, notices: Notices) -> list[EventDraft]:
    ratio = event.modification.ratio if event.modification else Fraction(1)
    value = printed_value(event.length * ratio)
    if value is not None:
        event.notated = value
        return [event]
    values = printed_values(event.length * ratio)
    notices.at(event.bar, event.offset, event.staff)
    if not values:
        notices.add("a length that no note values add up to is shown by the nearest value")
        event.notated = _nearest(event.length * ratio)
        return [event]
    notices.add("a length that no single note value has is written as tied notes")
    return _split(event, values, ratio)


def _split(
    event: EventDraft, values: tuple[NotatedLength, ...], ratio: Fraction
) -> list[EventDraft]:
    pieces: list[EventDraft] = []
    offset = event.offset
    last = len(values) - 1
    for place, value in enumerate(values):
        mark = f"-{place + 1}" if place else ""
        length = value.quarters / ratio
        heads = [
            HeadDraft(
                id=head.id + mark,
                pitch=head.pitch,
                tie_start=head.tie_start if place == last else True,
                tie_stop=head.tie_stop if place == 0 else True,
                let_ring=head.let_ring and place == last,
                accidental=head.accidental if place == 0 else None,
                shape=head.shape,
                parentheses=head.parentheses,
                fingerings=head.fingerings if place == 0 else [],
                spanners=[end for end in head.spanners if place == (last if end.start else 0)],
            )
            for head in event.heads
        ]
        if place == 0:
            piece = replace(event, offset=offset, length=length, notated=value, heads=heads)
            piece.tuplet_stops = event.tuplet_stops if last == 0 else []
        else:
            piece = EventDraft(
                id=event.id + mark,
                offset=offset,
                length=length,
                staff=event.staff,
                voice=event.voice,
                order=event.order,
                bar=event.bar,
                notated=value,
                heads=heads,
                visible=event.visible,
                cue=event.cue,
                small=event.small,
                ossia=event.ossia,
                rest_pitch=event.rest_pitch,
                harmonic=event.harmonic,
                modification=event.modification,
                tuplet_stops=event.tuplet_stops if place == last else [],
                stem=event.stem,
            )
        pieces.append(piece)
        offset += length
    return pieces


def _nearest(quarters: Fraction) -> NotatedLength:
    return min(
        (NotatedLength(log, dots) for log in range(-3, 11) for dots in (0, 1)),
        key=lambda value: (abs(value.quarters - quarters), value.dots, value.log),
    )
