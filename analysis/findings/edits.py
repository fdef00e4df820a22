"""A part with some notes written otherwise, taken out, or as the plan has them played."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.instrument.respelling import Pitch, Sounding
from pedalsetter.analysis.part import Event, HarpPart, Head
from pedalsetter.analysis.pedal_plan import NoteEdit, PedalPlan
from pedalsetter.analysis.playing.moments import is_struck

__all__ = ["altered", "as_played", "followers", "pitch_on"]


def altered(part: HarpPart, edits: Iterable[NoteEdit]) -> HarpPart:
    """Return the part with its notes edited; what a note is tied to goes with it.

    An event that loses its last note is a rest. The rest of the part is the same value.
    """
    after = followers(part)
    wanted: dict[str, Pitch | None] = {}
    plain: set[str] = set()
    for edit in edits:
        note: str | None = edit.note
        while note is not None:
            wanted[note] = edit.pitch
            if edit.plain:
                plain.add(note)
            note = after.get(note)
    before = {later: earlier for earlier, later in after.items()}
    part = _without_ornaments(part, plain)

    def same(one: str | None, other: str) -> bool:
        if one is None:
            return True
        return (one in wanted) == (other in wanted) and wanted.get(one) == wanted.get(other)

    return _with_heads(
        part,
        {
            head.id: (
                None
                if wanted.get(head.id, head.pitch) is None
                else replace(
                    head,
                    pitch=wanted.get(head.id) or head.pitch,
                    tie_start=head.tie_start and same(after.get(head.id), head.id),
                    tie_stop=head.tie_stop and same(before.get(head.id), head.id),
                )
            )
            for event in part.events
            for head in event.heads
            if _touched(head.id, wanted, after, before)
        },
    )


def _touched(
    note: str,
    wanted: Mapping[str, Pitch | None],
    after: Mapping[str, str],
    before: Mapping[str, str],
) -> bool:
    return any(one in wanted for one in (note, after.get(note, note), before.get(note, note)))


def as_played(part: HarpPart, plan: PedalPlan) -> HarpPart:
    """Return the part written as the plan has it played: each note by the letter of its string.

    Notes with ornaments and the ends of glissandi keep their letter, which says what else sounds;
    notes that cannot sound stay as they are.
    """
    after = followers(part)
    heads: dict[str, Head | None] = {}
    known = {head.id: head for _, head in part.notes()}
    for event in part.events:
        if event.ornaments or not is_struck(event):
            continue
        for head in event.heads:
            use = plan.strings.get(head.id)
            if use is None or use.sounding is None or head.spanners:
                continue
            pitch = pitch_on(use.sounding, event)
            note: str | None = head.id
            while pitch != head.pitch and note is not None:
                heads[note] = replace(known[note], pitch=pitch)
                note = after.get(note)
    return _with_heads(part, heads)


def pitch_on(sounding: Sounding, event: Event) -> Pitch:
    """What is written for a string in this event."""
    octave = sounding.string.octave + event.harmonic_printed_at_sound
    return Pitch(sounding.letter, int(sounding.position), octave)


def followers(part: HarpPart) -> dict[str, str]:
    """For each head that is tied to another one, the id of that one."""
    found: dict[str, str] = {}
    waiting: dict[tuple[Pitch, Fraction], list[str]] = {}
    for event in part.events:
        if not is_struck(event):
            continue
        for head in event.heads:
            if head.tie_stop and waiting.get((head.pitch, event.onset)):
                found[waiting[head.pitch, event.onset].pop(0)] = head.id
        for head in event.heads:
            if head.tie_start:
                waiting.setdefault((head.pitch, event.end), []).append(head.id)
    return found


def _with_heads(part: HarpPart, heads: Mapping[str, Head | None]) -> HarpPart:
    """The part with these heads in the place of those of the same id; None takes one out."""
    if not heads:
        return part
    events = []
    for event in part.events:
        if not any(head.id in heads for head in event.heads):
            events.append(event)
            continue
        kept = [heads.get(head.id, head) for head in event.heads]
        left = sorted((head for head in kept if head is not None), key=lambda head: head.pitch.midi)
        events.append(replace(event, heads=tuple(left)) if left else _rest(event))
    return replace(part, events=tuple(events))


def _without_ornaments(part: HarpPart, notes: Collection[str]) -> HarpPart:
    """The part with these notes struck plainly and once."""
    if not notes:
        return part
    return replace(
        part,
        events=tuple(
            _plain(event) if any(head.id in notes for head in event.heads) else event
            for event in part.events
        ),
    )


def _plain(event: Event) -> Event:
    between = event.tremolo is not None and not event.tremolo.alone
    return replace(
        event,
        ornaments=(),
        tremolo=event.tremolo if between else None,
        spanners=tuple(end for end in event.spanners if end.kind != "wavy-line"),
    )


def _rest(event: Event) -> Event:
    """The event without anything that belongs to its notes."""
    return replace(
        event,
        heads=(),
        harmonic=False,
        harmonic_printed_at_sound=False,
        tremolo=None,
        arpeggio=None,
        articulations=(),
        ornaments=(),
        technical=(),
        spanners=(),
        stem=None,
        beam=None,
    )
