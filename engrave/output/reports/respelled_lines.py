"""Which notes are played on other strings than the written ones, one sentence a place."""

from __future__ import annotations

from collections.abc import Iterator

from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.naming.wording import listed
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import PedalPlan

__all__ = ["respelled_lines"]


def respelled_lines(part: HarpPart, plan: PedalPlan) -> Iterator[tuple[Place, str]]:
    """Place and one line for all notes that are played together on strings of one name."""
    notes = {head.id: (part.place_of(event), head.pitch) for event, head in part.notes()}
    together: dict[tuple[Place, str], list[Pitch]] = {}
    for use in plan.respelled:
        if use.sounding is not None:
            together.setdefault((notes[use.note][0], use.sounding.name), []).append(use.written)
    for use in plan.neighbours:
        if use.sounding is not None:
            place, pitch = notes[use.note]
            what = f"{use.written} beside {pitch} is played on {use.sounding.name}."
            yield place, f"{part.told_place(place)}: {what}"
    for (place, name), written in together.items():
        pitches = list(dict.fromkeys(sorted(written, key=lambda pitch: pitch.midi)))
        verb = "is" if len(pitches) == 1 else "are"
        yield (
            place,
            f"{part.told_place(place)}: {listed(map(str, pitches))} {verb} played on {name}.",
        )
