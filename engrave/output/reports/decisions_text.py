"""Today's plan as a file of decisions, to be edited by the musician.

Planning with the file gives the same plan again: the same openings, the same changes at the same
places, the same strings. What is deleted from it is free again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from pedalsetter.analysis.decisions.values import (
    NO_DECISIONS,
    Decisions,
    DiagramPin,
    FootPin,
    Spot,
)
from pedalsetter.analysis.naming.wording import NotesByName
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Change, PedalPlan, StringUse
from pedalsetter.analysis.playing.moments import number_graces, place_of

__all__ = ["decisions_text", "spot_at", "spot_lines"]


def decisions_text(part: HarpPart, plan: PedalPlan, decisions: Decisions = NO_DECISIONS) -> str:
    """The plan as TOML; of the ``decisions`` it was made with, those that the plan honours stay."""
    return "\n".join(_Writer(part, plan, decisions).lines()) + "\n"


def spot_at(part: HarpPart, place: Place) -> Spot:
    """How a place is named in a file of decisions, without doubt."""
    bar = part.bars[place.bar]
    same = [one for one in part.bars if one.number == bar.number]
    spot = Spot(f"{bar.number}:{part.printed_beat(replace(place, grace=0))}", grace=-place.grace)
    if len(same) > 1 and len({one.movement for one in same}) > 1:
        movements = sorted({one.movement for one in part.bars})
        spot = replace(spot, movement=movements.index(bar.movement) + 1)
        same = [one for one in same if one.movement == bar.movement]
    if len(same) > 1:
        spot = replace(spot, piece=same.index(bar) + 1)
    return spot


class _Writer:
    def __init__(self, part: HarpPart, plan: PedalPlan, decisions: Decisions) -> None:
        self._part = part
        self._plan = plan
        self._decisions = decisions
        graces = number_graces(part)
        self._notes = {
            head.id: (event, head, place_of(part, event, graces)) for event, head in part.notes()
        }
        self._names = NotesByName(part)
        self._refused = {result.told for result in plan.decisions if result.refused}
        self._kept = [pin for pin in decisions.pins if str(pin) not in self._refused]

    def lines(self) -> Iterator[str]:
        yield f"# Decisions about the pedals of {_plain(self._part.source.file)}."
        yield "# This is the plan as it stands. Edit it, and delete what is to be free again;"
        yield "# the plan is then the best that honours what is left."
        yield ""
        yield "# No note is played on another letter than written, but for those named below."
        yield "# 'when-needed' lets the planner respell where it saves a note or a passage."
        yield 'respell = "never"'
        for key, allowed in (
            ("crossing", self._decisions.crossing),
            ("two-pedals", self._decisions.two_pedals),
        ):
            if allowed is not None:
                yield f"{key} = {'true' if allowed else 'false'}"
        yield from self._times()
        movements = sorted({bar.movement for bar in self._part.bars})
        for movement in self._plan.movements:
            yield ""
            yield "[[opening]]"
            if len(movements) > 1:
                yield f"movement = {movements.index(movement.movement) + 1}"
            yield f'pedals = "{movement.opening}"'
        for pin in self._kept:
            if isinstance(pin, FootPin):
                yield ""
                yield "[[foot]]"
                yield f'pedal = "{pin.letter.value}"'
                yield f'foot = "{pin.foot.value}"'
        for use in self._plan.respelled:
            yield ""
            yield from self._respelling(use)
        for use in self._plan.neighbours:
            yield ""
            yield from self._respelling(use)
            yield "neighbour = true"
        for change in self._plan.changes:
            yield ""
            yield from self._change(change)
        for pin in self._kept:
            if isinstance(pin, DiagramPin):
                yield ""
                yield "[[diagram]]"
                yield from spot_lines(pin.spot)
                yield f"wanted = {'true' if pin.wanted else 'false'}"

        for small in self._decisions.small_notes:
            if str(small) not in self._refused:
                yield ""
                yield "[[small-notes]]"
                yield f'bars = "{_quoted("-".join(dict.fromkeys(small.bars)))}"'
                if small.movement is not None:
                    yield f"movement = {small.movement}"
                if small.staff is not None:
                    yield f'staff = "{"upper" if small.staff == 1 else "lower"}"'
                yield f"sounds = {'true' if small.sounds else 'false'}"
        for cue in self._decisions.cues:
            yield ""
            yield "[[cue]]"
            yield f'bar = "{_quoted(cue.bar)}"'
            if cue.movement is not None:
                yield f"movement = {cue.movement}"
            if cue.part:
                yield f'part = "{_quoted(cue.part)}"'
            yield f"wanted = {'true' if cue.wanted else 'false'}"

    def _times(self) -> Iterator[str]:
        known = self._decisions
        given = {
            "comfortable": known.comfortable_seconds,
            "least": known.least_seconds,
            "two-notches": known.two_notches,
            "crossing": known.crossing_seconds,
        }
        lines = [f"{key} = {_number(value)}" for key, value in given.items() if value is not None]
        if known.ring_seconds is not None:
            lines.append(f"ring = [{', '.join(map(_number, known.ring_seconds))}]")
        if lines:
            yield ""
            yield "[times]"
            yield from lines

    def _respelling(self, use: StringUse) -> Iterator[str]:
        event, head, place = self._notes[use.note]
        yield "[[respelling]]"
        yield from spot_lines(spot_at(self._part, place))
        yield f'note = "{head.pitch}"'
        if self._part.staves > 1:
            yield f'staff = "{"upper" if event.staff == 1 else "lower"}"'
        if use.sounding is not None:
            yield f'played = "{use.sounding.name}"'

    def _change(self, change: Change) -> Iterator[str]:
        if change.needed is not None:
            names = self._names.names(change.needed_by, change.letter, change.new)
            yield f"# for {', '.join(names)} in {self._part.told_place(change.needed)}"
        yield "[[change]]"
        yield from spot_lines(spot_at(self._part, change.place))
        yield f'pedal = "{change.text}"'


def spot_lines(spot: Spot) -> Iterator[str]:
    """A place in the keys of a decision."""
    yield f'at = "{_quoted(spot.at)}"'
    for key in ("movement", "piece", "grace"):
        value = getattr(spot, key)
        if value:
            yield f"{key} = {value}"


def _number(value: Fraction) -> str:
    """A number of the file, as it was written there: with a finite number of digits."""
    return f"{Decimal(value.numerator) / Decimal(value.denominator):f}"


def _quoted(text: str) -> str:
    """Text inside a TOML string of one line."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in escaped)


def _plain(text: str) -> str:
    """Text inside a comment: nothing that ends the line."""
    return "".join(c if c.isprintable() else " " for c in text)
