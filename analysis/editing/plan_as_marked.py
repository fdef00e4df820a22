"""A plan told anew from marks that are not its own."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.collation.score_walk import Walk
from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.instrument.respelling import strings_for
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import Change, MovementPlan, PedalPlan, StringUse

__all__ = ["plan_as_marked"]


def plan_as_marked(part: HarpPart, plan: PedalPlan, markings: Markings, walk: Walk) -> PedalPlan:
    """The plan told anew from the marks: openings, changes, and the string of each note."""
    changes = [change for mark in markings.changes for change in mark.changes]
    for diagram in markings.diagrams:
        changes += [
            Change(
                letter,
                _other(diagram.setting, letter),
                diagram.setting[letter],
                letter.foot,
                diagram.place,
                None,
                (),
                None,
                None,
                None,
                "A diagram shows it.",
            )
            for letter in diagram.changed
        ]
    openings = []
    for movement in plan.movements:
        first = next(
            (
                diagram.setting
                for diagram in markings.diagrams
                if part.bars[diagram.place.bar].movement == movement.movement
            ),
            movement.opening,
        )
        openings.append(MovementPlan(movement.movement, movement.first_bar, first))
    return replace(
        plan,
        movements=tuple(openings),
        changes=tuple(sorted(changes, key=lambda each: (each.place, each.letter.index))),
        strings=_strings(part, plan, walk),
        entries=(),
        proved_optimal=False,
        bound=Fraction(0),
    )


def _other(setting: Setting, letter: Letter) -> Position:
    """Some other position than the one that a diagram shows: where it came from is not printed."""
    return Position.NATURAL if setting[letter] is not Position.NATURAL else Position.FLAT


def _strings(part: HarpPart, plan: PedalPlan, walk: Walk) -> dict[str, StringUse]:
    """The string of each note with the pedals as marked; the plan's, where it sounds."""
    strings = dict(plan.strings)
    pitches = {head.id: (event, head) for event, head in part.notes()}
    pedals: dict[Letter, Position] = {}
    settled: set[str] = set()
    for item in walk.items:
        for move in item.moves:
            pedals[move.letter] = move.position
        for ask in item.asks:
            for note in ask.notes:
                use = strings.get(note)
                if note in settled or use is None or use.sounding is None or not ask.begins:
                    continue
                settled.add(note)
                if pedals.get(use.sounding.letter, use.sounding.position) is use.sounding.position:
                    continue
                event, head = pitches[note]
                pitch = head.pitch
                if event.harmonic_printed_at_sound:
                    pitch = replace(pitch, octave=pitch.octave - 1)
                found = next(
                    (one for one in strings_for(pitch) if pedals.get(one.letter) is one.position),
                    None,
                )
                if found is not None:
                    strings[note] = StringUse(note, use.written, found)
    return strings
