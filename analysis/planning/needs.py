"""What one moment asks for: needs of letters, and all that is struck there together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pedalsetter.analysis.instrument.harp import Letter, Position
from pedalsetter.analysis.planning.chord import Answer, Wish, settle
from pedalsetter.analysis.planning.weights import register_of
from pedalsetter.analysis.playing.strikes import Strike

__all__ = ["Chord", "Need", "later", "weight_of"]


@dataclass(frozen=True, slots=True)
class Need:
    """One letter must stand in one position at one moment."""

    position: Position
    notes: tuple[str, ...]
    """Ids of the noteheads that need it."""
    until: int
    """Microseconds on the page until which the longest of them is written to sound."""
    registers: tuple[int, ...] = ()
    """Registers in which strings of the letter are plucked here."""
    moved: bool = False
    """The musician wants the pedal to move right here."""
    stroke: int | None = None
    """Microseconds on the page of the last stroke, if it is struck again after this moment."""


@dataclass(frozen=True, slots=True)
class Chord:
    """What is struck at one moment, as wishes; notes that want the same strings are one wish."""

    groups: tuple[tuple[Wish, tuple[Strike, ...]], ...]
    """A wish without strikes is a decision where a pedal is to stand."""
    moved: frozenset[Letter] = frozenset()
    """Letters that the musician wants to move right here."""

    def needs(self, answer: Answer) -> dict[Letter, Need]:
        """The needs of the moment if its wishes are answered so."""
        found: dict[Letter, Need] = {}
        for (_, group), choice in zip(self.groups, answer, strict=True):
            if choice is None:
                continue
            letter, position = choice
            need = found.get(letter, Need(position, (), 0))
            notes, until, registers = need.notes, need.until, set(need.registers)
            stroke = need.stroke
            for strike in group:
                if strike.head.id not in notes:
                    notes = (*notes, strike.head.id)
                until = max(until, strike.until)
                if strike.last_stroke is not None:
                    stroke = later(stroke, strike.last_stroke)
                registers.add(register_of(strike.on(choice).string.octave))
            moved = letter in self.moved
            found[letter] = Need(position, notes, until, tuple(sorted(registers)), moved, stroke)
        return found

    def lost(self, answer: Answer) -> int:
        """How much has no string: a notehead counts twice, what an ornament adds once."""
        return sum(
            weight_of(group)
            for (_, group), choice in zip(self.groups, answer, strict=True)
            if choice is None
        )

    def least_lost(self) -> int:
        """The least that has no string, whatever the answer, as :meth:`lost` counts it."""
        return self.lost(settle([wish for wish, _ in self.groups], {}))

    def answers(self, lost: int = 0) -> list[Answer]:
        """Every way to answer all wishes, so much of them ``lost``, no letter in two places."""
        found: list[tuple[int, Answer]] = [(0, ())]
        for wish, group in self.groups:
            choices: list[tuple[Letter, Position] | None] = [*wish.open]
            weight = 0
            if lost and group:
                choices.append(None)
                weight = weight_of(group)
            found = [
                (left + weight * (choice is None), (*answer, choice))
                for left, answer in found
                for choice in choices
                if choice is None or all(one is None or _agree(choice, one) for one in answer)
            ]
            found = [(left, answer) for left, answer in found if left <= lost]
        return [answer for left, answer in found if left == lost]


def weight_of(group: Sequence[Strike]) -> int:
    """How much would be lost with these notes: what is written counts more than a neighbour."""
    if len(group) == 1:
        return 2 if group[0].real else 1
    return max(len(group) > 0, sum(2 if one.real else one.neighbour for one in group))


def later(one: int | None, other: int | None) -> int | None:
    """The later of two times, where there are such."""
    return max((time for time in (one, other) if time is not None), default=None)


def _agree(one: tuple[Letter, Position], other: tuple[Letter, Position]) -> bool:
    """Whether two strings can sound at once: not one letter in two positions."""
    return one[0] is not other[0] or one[1] is other[1]
