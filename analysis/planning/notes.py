"""The notes of a part as the search sees them: what letters are asked for and feet answer.

At every moment there are one or more *answers*: which letter sounds each note. An answer bears on
several letters. To follow a letter by itself the price of a respelling is cut in two (a Lagrangian
share): not to sound the note costs the written letter its *share*, and to sound it instead costs
the other letter what is left. Whatever the share is, the letters by themselves never cost more
together than the whole plan; it is raised where neither wants the note and lowered where both do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

from pedalsetter.analysis.planning.chord import Answer, Wish
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.form import Form
from pedalsetter.analysis.planning.needs import Chord, Need
from pedalsetter.analysis.planning.sounded import DECIDED, MOVED, Variant
from pedalsetter.analysis.planning.states import Ask
from pedalsetter.analysis.planning.struck import Note, Option, Struck, bits, lost_points, narrow
from pedalsetter.analysis.planning.weights import Weights, register_of
from pedalsetter.analysis.playing.moments import Moments
from pedalsetter.analysis.playing.strikes import Strike

__all__ = ["Notes"]

_UNMET = 100
"""A decision of the musician that is not met costs so many lost notes."""

_FIRST_STEP = 300
_LAST_STEP = 40
_LEAST_STEP = 5


class Notes:
    """The notes of a part along its form."""

    def __init__(
        self, form: Form, demands: Demands, moments: Moments, weights: Weights, respell: bool
    ) -> None:
        """Without ``respell`` only the present answers are open."""
        self._form = form
        self._weights = weights
        self._step = _FIRST_STEP
        self._struck: dict[int, Struck] = {}
        for place, moment in enumerate(form.moments):
            if moment >= 0 and demands.needs[moment]:
                self._read(place, moment, demands, moments, respell)
        self._asks: dict[int, list[Ask]] = {}

    def _read(
        self, place: int, moment: int, demands: Demands, moments: Moments, respell: bool
    ) -> None:
        form, shift = self._form, self._form.shift(place, moments)
        end = form.begins[form.stretch_of[place] + 1] - 2
        known = demands.chords.get(moment) or demands.held.get(moment)
        chord, now = known if known is not None else (Chord(()), ())
        sliding = moment in demands.sliding
        last = demands.lasting.get(moment, moment) - moment + place
        answers = [now]
        if respell and not sliding and chord.groups and last <= end:
            answers = chord.answers(chord.least_lost())
            answers.sort(key=lambda answer: answer != now)
        fixed: dict[int, Variant] = {}
        if sliding or place == form.begins[form.stretch_of[place]]:
            own = {} if sliding else chord.needs(answers[0])
            for letter, need in demands.needs[moment].items():
                if letter not in own:
                    held = demands.keeps.get((moment, letter), moment) - moment + place
                    fixed[letter.index] = self._fixed(need, shift, place, min(held, end))
        notes = []
        for (wish, group), choice in zip(chord.groups, answers[0], strict=True):
            if sliding:
                break
            notes.append(self._note(wish, group, choice, moment, place, shift, end))
        if sliding:
            answers = [()]
        struck = Struck(
            notes,
            answers,
            fixed,
            frozenset(letter.index for letter in chord.moved),
            any(choice is None for choice in answers[0]),
        )
        if len(answers) == 1:
            narrow(struck)
        self._struck[place] = struck
        struck.number()

    def _fixed(self, need: Need, shift: int, place: int, held: int) -> Variant:
        kind = (0 if need.notes else DECIDED) | (MOVED if need.moved else 0)
        stroke = -1 if need.stroke is None else need.stroke + shift
        lasts = held if held > place else -1
        lost = self._weights.lost * (_UNMET if kind & DECIDED else max(1, len(need.notes)))
        return Variant(
            int(need.position),
            need.until + shift,
            bits(need.registers),
            0,
            kind,
            lasts,
            stroke,
            lost,
        )

    def _note(
        self,
        wish: Wish,
        group: Sequence[Strike],
        taken: object,
        moment: int,
        place: int,
        shift: int,
        end: int,
    ) -> Note:
        weights = self._weights
        real = weights.respelled * sum(strike.counts for strike in group)
        lasts = max((strike.lasts for strike in group), default=moment) - moment + place
        strokes = [one.last_stroke + shift for one in group if one.last_stroke is not None]
        note = Note(
            [letter.index for letter, _ in wish.open],
            [int(position) for _, position in wish.open],
            [
                tuple(sorted({register_of(strike.on(choice).string.octave) for strike in group}))
                for choice in wish.open
            ],
            [real * wish.strays(wish.choices.index(choice)) for choice in wish.open],
            max((strike.until + shift for strike in group), default=0),
            min(lasts, end) if lasts > place else -1,
            max(strokes, default=-1),
            lost_points(group, weights) if group else weights.lost * _UNMET,
            0 if group else DECIDED,
        )
        if len(note.letters) == 2:
            note.share = note.prices[1] - note.prices[0]
            if taken is not None and wish.open.index(taken):
                # Played otherwise than written: the written letter would pay dearly for it.
                note.share += _FIRST_STEP
        return note

    # What the search asks for.

    @property
    def open(self) -> bool:
        """Whether any moment can be answered in several ways."""
        return any(len(struck.answers) > 1 for struck in self._struck.values())

    @cached_property
    def moved(self) -> list[tuple[int, int]]:
        """Places and letters that the musician wants to move right there."""
        return [
            (place, letter)
            for place, struck in self._struck.items()
            for letter in sorted({*struck.fixed, *struck.moved})
            if letter in struck.moved or struck.fixed[letter].kind & MOVED
        ]

    def asks(self, letter: int) -> list[Ask]:
        """Where and how one letter is needed."""
        found = self._asks.get(letter)
        if found is None:
            found = self._asks[letter] = [
                struck.ask(place, letter)
                for place, struck in self._struck.items()
                if letter in struck.fixed or letter in struck.by_letter
            ]
        return found

    def options(self, letters: tuple[int, ...]) -> tuple[list[list[Option]], list[list[list[int]]]]:
        """For each place its options for some letters, and which answers each stands for."""
        nothing: tuple[list[Option], list[list[int]]] = ([(0, (0,) * len(letters))], [[0]])
        found = [
            self._struck[place].options(letters) if place in self._struck else nothing
            for place in range(len(self._form.moments))
        ]
        return [one for one, _ in found], [one for _, one in found]

    def answers(self, place: int) -> list[Answer]:
        """The ways to answer a place, the present one first; none where nothing is struck."""
        struck = self._struck.get(place)
        return struck.answers if struck is not None else []

    def at(self, place: int) -> Struck:
        """What is played at a place at which something is."""
        return self._struck[place]

    def every(self) -> list[tuple[int, list[Answer]]]:
        """Every place at which something is struck, with the ways to answer it."""
        return [(place, struck.answers) for place, struck in self._struck.items()]

    def cheapest(self, place: int, among: set[int]) -> int:
        """The answer that respells least; among equals the first."""
        struck = self._struck[place]
        return min(
            sorted(among),
            key=lambda number: sum(
                note.prices[note.letters.index(choice[0].index)]
                for note, choice in zip(struck.notes, struck.answers[number], strict=True)
                if choice is not None
            ),
        )

    def letters_of(self, place: int, number: int) -> list[int]:
        """The letters that can sound one note of a place."""
        return self._struck[place].notes[number].letters

    def needed(self, place: int, answer: Answer, letter: int) -> Variant | None:
        """How an answer needs one letter at a place."""
        struck = self._struck[place]
        if letter in struck.fixed:
            return struck.fixed[letter]
        way = struck.by_letter.get(letter, {}).get(struck.taken(answer, letter))
        return None if way is None else struck.ask(place, letter)[1][way - 1]

    @property
    def silent(self) -> int:
        """Points of the notes that every answer leaves out."""
        total = 0
        for struck in self._struck.values():
            if struck.incomplete:
                total += min(
                    sum(
                        note.lost
                        for note, choice in zip(struck.notes, answer, strict=True)
                        if choice is None
                    )
                    for answer in struck.answers
                )
        return total

    # Shares and decisions.

    def balance(self, ways: Mapping[int, Mapping[int, int]]) -> set[int]:
        """Change the shares of notes that no letter wants, or two; return the letters concerned.

        ``ways`` tell for each letter how it is needed at each place when it is followed by itself.
        Each call takes smaller steps.
        """
        step = max(_LAST_STEP, self._step)
        self._step = self._step * 2 // 3
        concerned: set[int] = set()
        for place, struck in self._struck.items():
            if struck.incomplete or len(struck.answers) < 2:
                continue
            for number, note in enumerate(struck.notes):
                if len(note.letters) != 2:
                    continue
                wanted = [
                    struck.wants(number, one, ways[one].get(place, 0)) for one in note.letters
                ]
                if wanted[0] is wanted[1] and (not wanted[0] or note.prices[1] < note.share):
                    note.share += -step if wanted[0] else step
                    struck.forget()
                    concerned.update(note.letters)
        self.forget(concerned)
        return concerned

    def shift(self, place: int, number: int, rising: bool, step: int) -> list[int]:
        """Raise or lower the share of a note by a step, or by less where it has gone to and fro.

        So it narrows to where the feet agree. Returns the letters concerned.
        """
        note = self._struck[place].notes[number]
        if note.rising is rising:
            note.caution = max(1, note.caution // 2)
        elif note.rising is not None:
            note.caution *= 2
        note.rising = rising
        step = max(_LEAST_STEP, step // note.caution)
        note.share += step if rising else -step
        self._struck[place].forget()
        self.forget(note.letters)
        return note.letters

    def forget(self, letters: Sequence[int] | set[int]) -> None:
        """What is asked of some letters has changed."""
        for letter in letters:
            self._asks.pop(letter, None)

    def shares(self) -> dict[tuple[int, int], int]:
        """The shares of all notes, by place and number."""
        return {
            (place, number): note.share
            for place, struck in self._struck.items()
            for number, note in enumerate(struck.notes)
            if len(note.letters) == 2
        }

    def share_out(self, shares: Mapping[tuple[int, int], int]) -> set[int]:
        """Make these the shares; return the letters concerned."""
        concerned: set[int] = set()
        for (place, number), share in shares.items():
            notes = self._struck[place].notes
            if number < len(notes) and len(notes[number].letters) == 2:
                note = notes[number]
                if note.share != share:
                    note.share = share
                    self._struck[place].forget()
                    concerned.update(note.letters)
        self.forget(concerned)
        return concerned

    def decide(self, place: int, answers: Sequence[int]) -> tuple[Struck, set[int]]:
        """Leave only some answers of a place.

        Returns what :meth:`restore` takes, and the letters concerned.
        """
        before = self._struck[place]
        struck = Struck(
            list(before.notes),
            [before.answers[number] for number in answers],
            before.fixed,
            before.moved,
            before.incomplete,
        )
        narrow(struck)
        self._struck[place] = struck
        struck.number()
        concerned = {letter for note in before.notes for letter in note.letters}
        self.forget(concerned)
        return before, concerned

    def restore(self, place: int, struck: Struck) -> set[int]:
        """Undo a decision; return the letters concerned."""
        self._struck[place] = struck
        # Shares may have changed in the meantime.
        struck.forget()
        concerned = {letter for note in struck.notes for letter in note.letters}
        self.forget(concerned)
        return concerned
