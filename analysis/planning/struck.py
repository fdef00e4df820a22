"""What is played at one place, as the search shares it out between letters."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.sounded import INFINITE, MOVED, Variant
from pedalsetter.analysis.planning.states import Ask
from pedalsetter.analysis.planning.weights import Weights
from pedalsetter.analysis.playing.strikes import Strike

__all__ = ["Note", "Option", "Struck", "bits", "lost_points", "narrow"]

Option = tuple[int, tuple[int, ...]]
"""One way to answer a moment: (points beyond those of the letters, for each letter the number of
the way in which it is needed, 0 for none)."""


@dataclass(slots=True)
class Note:
    """One wish at one place."""

    letters: list[int]
    """The letter of each choice, its number in pedal order."""
    positions: list[int]
    registers: list[tuple[int, ...]]
    prices: list[int]
    """Points of each choice."""
    until: int
    lasts: int
    """The last place at which it is struck again, or −1."""
    stroke: int
    """When it is struck for the last time, or −1 if it is struck once."""
    lost: int
    """Points if it does not sound."""
    kind: int
    share: int = 0
    caution: int = 1
    """By what the steps are divided by which the share is shifted where the feet differ."""
    rising: bool | None = None
    """Whether it was raised the last time."""

    def take(self, choice: int, *, shared: bool) -> tuple[int, int, int]:
        """(points if a letter sounds it, if another one does, if it should and cannot)."""
        if not shared:
            return 0, 0, self.lost - self.prices[choice]
        if len(self.letters) == 1:
            return self.prices[0], 0, self.lost
        if choice:
            return self.prices[1] - self.share, 0, self.lost - self.share
        return self.prices[0], self.share, self.lost


@dataclass(slots=True)
class Struck:
    """What is struck at one place."""

    notes: list[Note]
    answers: list[Answer]
    """As it is answered without a search first."""
    fixed: dict[int, Variant]
    """Letters that are needed whatever the answer."""
    moved: frozenset[int]
    """Letters that are decided to move right there."""
    incomplete: bool
    """Every answer leaves notes out, so that no price can be shared."""
    by_letter: dict[int, dict[tuple[int, ...], int]] = field(default_factory=dict)
    """For each letter and the notes that it sounds the number of that way, from 1."""
    _asked: dict[int, Ask] = field(default_factory=dict)
    _options: dict[tuple[int, ...], tuple[list[Option], list[list[int]]]] = field(
        default_factory=dict
    )

    def number(self) -> None:
        """Number the ways in which the answers need each letter."""
        self.by_letter = {}
        letters = {letter for note in self.notes for letter in note.letters}
        for letter in sorted(letters):
            ways: dict[tuple[int, ...], int] = {}
            for answer in self.answers:
                taken = self.taken(answer, letter)
                if taken:
                    ways.setdefault(taken, len(ways) + 1)
            if ways:
                self.by_letter[letter] = ways

    def forget(self) -> None:
        """The share of a note has changed."""
        self._asked.clear()

    def ask(self, place: int, letter: int) -> Ask:
        """How a letter is needed there: a variant for each set of notes that it can sound."""
        known = self._asked.get(letter)
        if known is None:
            known = self._asked[letter] = self._ask(place, letter)
        return known

    def _ask(self, place: int, letter: int) -> Ask:
        if letter in self.fixed:
            return place, (self.fixed[letter],), INFINITE
        shared = not self.incomplete
        variants = []
        for taken in self.by_letter[letter]:
            points = lost = 0
            kinds = []
            until, lasts, stroke = 0, -1, -1
            registers: set[int] = set()
            position = 0
            for number, note in enumerate(self.notes):
                if letter not in note.letters:
                    continue
                choice = note.letters.index(letter)
                sounded, passed, silent = note.take(choice, shared=shared)
                if number not in taken:
                    points, lost = points + passed, lost + passed
                    continue
                points, lost = points + sounded, lost + silent
                kinds.append(note.kind)
                position = note.positions[choice]
                until, lasts = max(until, note.until), max(lasts, note.lasts)
                stroke = max(stroke, note.stroke)
                registers.update(note.registers[choice])
            kind = min(kinds) | (MOVED if letter in self.moved else 0)
            variants.append(
                Variant(position, until, bits(registers), points, kind, lasts, stroke, lost)
            )
        passed = INFINITE
        if any(not self.taken(answer, letter) for answer in self.answers):
            passed = self._passed(letter)
        return place, tuple(variants), passed

    def options(self, letters: tuple[int, ...]) -> tuple[list[Option], list[list[int]]]:
        """The ways to answer for some letters, and which answers each stands for."""
        known = self._options.get(letters)
        if known is not None:
            return known
        found: dict[tuple[int, ...], int] = {}
        meant: dict[tuple[int, ...], list[int]] = {}
        for number, answer in enumerate(self.answers):
            needs = tuple(
                1
                if letter in self.fixed
                else self.by_letter.get(letter, {}).get(self.taken(answer, letter), 0)
                for letter in letters
            )
            extra = 0
            if self.incomplete:
                extra = sum(
                    note.prices[note.letters.index(choice[0].index)]
                    for note, choice in zip(self.notes, answer, strict=True)
                    if choice is not None and choice[0].index in letters
                )
            found[needs] = min(found.get(needs, extra), extra)
            meant.setdefault(needs, []).append(number)
        options = [(extra, needs) for needs, extra in found.items()]
        known = self._options[letters] = options, list(meant.values())
        return known

    def _passed(self, letter: int) -> int:
        """Points if the letter sounds none of the notes."""
        shared = not self.incomplete
        return sum(
            note.take(note.letters.index(letter), shared=shared)[1]
            for note in self.notes
            if letter in note.letters
        )

    def wants(self, number: int, letter: int, way: int) -> bool:
        """Whether a letter sounds a note if it is needed in one way (0 for none)."""
        return bool(way) and number in list(self.by_letter[letter])[way - 1]

    def contested(
        self, feet: Sequence[Sequence[int]], meant: Sequence[Sequence[int]]
    ) -> dict[int, bool]:
        """The notes that the feet answer differently.

        For each whether both letters pass it by, so that its share is too low. ``meant`` are the
        answers that each of the ``feet`` could agree to.
        """
        found: dict[int, bool] = {}
        chosen = [self.answers[min(one)] for one in meant]
        for number, note in enumerate(self.notes):
            if len(note.letters) != 2:
                continue
            taken = []
            for letter in note.letters:
                foot = next(at for at, letters in enumerate(feet) if letter in letters)
                choice = chosen[foot][number]
                taken.append(choice is not None and choice[0].index == letter)
            if taken[0] is taken[1]:
                found[number] = not taken[0]
        return found

    def taken(self, answer: Answer, letter: int) -> tuple[int, ...]:
        """The numbers of the notes that an answer gives to a letter."""
        return tuple(
            number
            for number, choice in enumerate(answer)
            if choice is not None and choice[0].index == letter
        )


def narrow(struck: Struck) -> None:
    """Leave each note only the letters that some answer gives it."""
    for number, note in enumerate(struck.notes):
        if len(note.letters) < 2:
            continue
        taken = {
            choice[0].index for answer in struck.answers if (choice := answer[number]) is not None
        }
        if len(taken) != 1:
            continue
        only = note.letters.index(next(iter(taken)))
        struck.notes[number] = Note(
            [note.letters[only]],
            [note.positions[only]],
            [note.registers[only]],
            [note.prices[only]],
            note.until,
            note.lasts,
            note.stroke,
            note.lost,
            note.kind,
        )


def lost_points(group: Sequence[Strike], weights: Weights) -> int:
    """Points of notes that cannot sound; what an ornament adds, or only goes on, counts half."""
    real = sum(strike.real for strike in group)
    beside = sum(strike.neighbour for strike in group)
    if not real and not beside:
        beside = 1
    return weights.lost * real + weights.lost // 2 * beside


def bits(registers: Iterable[int]) -> int:
    """A bit for each register."""
    return sum(1 << register for register in set(registers))
