"""Notes that two letters can sound, and how the price of a respelling is shared between the two.

Whether F♯ or G♭ sounds a note is one choice, but it bears on two letters. To follow each letter by
itself the choice is cut in two: not to be needed costs the written letter its *share*, and to be
needed instead costs the other letter what is left of the price. Whatever the share is, the letters
by themselves never cost more together than the whole plan; the better it is chosen, the nearer they
come. It is raised where neither letter wants the note and lowered where both do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from pedalsetter.analysis.harp import Letter
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.foot_step import Option
from pedalsetter.analysis.planning.letter_bound import DECIDED, MOVED, Ask, Variant
from pedalsetter.analysis.planning.moments import Moments
from pedalsetter.analysis.planning.needs import Chord, Need
from pedalsetter.analysis.planning.strikes import Strike
from pedalsetter.analysis.planning.weighed_trills import weighed
from pedalsetter.analysis.planning.weights import Weights, register_of
from pedalsetter.analysis.planning.windows import Line

__all__ = ["SharedNotes", "Struck"]

_Take = tuple[int, int, tuple[int, ...], int, int | None, int, int, int]
"""One note on one letter: (position, written until, registers, points if the letter sounds it,
points if it does not or None if it must, kind, last place at which it is struck again or −1, time
of its last stroke or −1)."""

_FIRST_STEP = 300
_LAST_STEP = 40
_LEAST_STEP = 5


@dataclass(slots=True)
class _Shared:
    """One wish at one place."""

    takes: list[tuple[Letter, int, int, tuple[int, ...]]]
    """For each choice: letter, position, written until, registers."""
    again: tuple[int, int]
    """The last place at which it is struck again or −1, and the time of its last stroke or −1."""
    prices: list[int]
    """Points of each choice."""
    share: int
    """Points to the first letter if it does not sound the note."""
    kind: int = 0
    """``DECIDED`` if it is no note, but a decision where a pedal is to stand."""
    caution: int = 1
    """By what the steps are divided by which the share is shifted where the feet differ."""
    rising: bool | None = None
    """Whether it was raised the last time."""


@dataclass(frozen=True, slots=True)
class Struck:
    """What is struck at one place."""

    fixed: Mapping[Letter, Variant] | None
    """Needs without a choice."""
    wishes: tuple[_Shared, ...]
    answers: tuple[Answer, ...]
    """Every way to answer the wishes; as it is answered now first."""
    lost: bool
    """Some of the notes have no string, and which is open."""
    moved: frozenset[Letter] = frozenset()
    """Letters that are decided to move right there."""


class SharedNotes:
    """The notes along a line, as asks of letters and as options of feet."""

    def __init__(self, line: Line, demands: Demands, moments: Moments, weights: Weights) -> None:
        self._line = line
        self._moments: list[Struck] = []
        self._step = _FIRST_STEP
        trilled = weighed(line, demands)
        for place, moment in enumerate(line.moments):
            shift = line.times[place] - moments.microseconds[moment]
            chord = demands.chords.get(moment)
            if moment in trilled:
                chord = chord or demands.held.get(moment)
            answers: list[Answer] = []
            if chord is not None:
                answers = chord[0].answers(chord[0].lost(chord[1]))
            if chord is None or len(answers) < 2:
                needs = demands.needs[moment]
                lasts: dict[Letter, int] = {}
                if moment in trilled:
                    # What goes on here has been told where it begins.
                    needs = chord[0].needs(chord[1]) if chord is not None else {}
                    lasts = _lasts(chord, moment, place)
                fixed = {
                    letter: _variant(need, shift, lasts.get(letter, -1))
                    for letter, need in needs.items()
                }
                self._moments.append(Struck(fixed, (), (), lost=False))
                continue
            whole, now = chord
            answers.sort(key=lambda answer, now=now: answer != now)  # type: ignore[misc]
            wishes = []
            for (wish, group), taken in zip(whole.groups, now, strict=True):
                real = weights.respelled * sum(strike.counts for strike in group)
                until = max((strike.until + shift for strike in group), default=0)
                lasting = _last(group, moment, place) if moment in trilled else -1
                strokes = [one.last_stroke + shift for one in group if one.last_stroke is not None]
                again = (lasting, max(strokes, default=-1))
                takes = []
                prices = []
                for choice in wish.open:
                    registers = {register_of(strike.on(choice).string.octave) for strike in group}
                    letter, position = choice
                    takes.append((letter, int(position), until, tuple(sorted(registers))))
                    prices.append(real * wish.strays(wish.choices.index(choice)))
                share = prices[1] - prices[0] if len(prices) == 2 else 0
                if len(takes) == 2 and taken is not None and wish.open.index(taken):
                    # Played otherwise than written: the written letter would pay dearly for it.
                    share += _FIRST_STEP
                kind = 0 if group else DECIDED
                wishes.append(_Shared(takes, again, prices, share, kind=kind))
            lost = bool(whole.lost(now))
            self._moments.append(Struck(None, tuple(wishes), tuple(answers), lost, whole.moved))

    @property
    def open(self) -> bool:
        """Whether any moment can be answered in several ways."""
        return any(moment.answers for moment in self._moments)

    def points(self, answers: Mapping[int, Answer]) -> int:
        """Points of the respelled notes at the moments with a choice, given their answers."""
        return sum(
            wish.prices[_index(wish, choice)]
            for place, moment in enumerate(self._moments)
            if moment.answers
            for wish, choice in zip(moment.wishes, answers[self._line.moments[place]], strict=True)
            if choice is not None
        )

    def answers(self, place: int) -> Sequence[Answer]:
        """The ways to answer a place, the present one first; none if there is no choice."""
        return self._moments[place].answers

    def asks(self, letter: Letter) -> list[Ask]:
        """Where and how one letter is needed."""
        found: list[Ask] = []
        for place, moment in enumerate(self._moments):
            if moment.fixed is not None:
                if letter in moment.fixed:
                    found.append((place, (moment.fixed[letter],), None))
                continue
            takes = self._takes(moment, letter)
            if not takes:
                continue
            variants: dict[Variant, None] = {}
            for count in range(1, len(takes) + 1):
                for some in combinations(takes, count):
                    variant = _together(takes, some, letter in moment.moved)
                    if variant is not None:
                        variants[variant] = None
            found.append((place, tuple(variants), _passed(takes)))
        return found

    def options(self, letters: Sequence[Letter]) -> tuple[list[list[Option]], list[list[set[int]]]]:
        """For each place its options for some letters, and which answers each stands for."""
        options: list[list[Option]] = []
        meanings: list[list[set[int]]] = []
        for moment in self._moments:
            if moment.fixed is not None:
                options.append([(0, tuple(moment.fixed.get(letter) for letter in letters))])
                meanings.append([set()])
                continue
            found: dict[tuple[Variant | None, ...], int] = {}
            meant: dict[tuple[Variant | None, ...], set[int]] = {}
            takes = [self._takes(moment, letter) for letter in letters]
            for number, answer in enumerate(moment.answers):
                needs = tuple(
                    self._answered(moment, letter, of_letter, answer)
                    for letter, of_letter in zip(letters, takes, strict=True)
                )
                extra = 0
                if moment.lost:
                    extra = sum(
                        wish.prices[_index(wish, choice)]
                        for wish, choice in zip(moment.wishes, answer, strict=True)
                        if choice is not None and choice[0] in letters
                    )
                found[needs] = min(found.get(needs, extra), extra)
                meant.setdefault(needs, set()).add(number)
            options.append([(extra, needs) for needs, extra in found.items()])
            meanings.append(list(meant.values()))
        return options, meanings

    def _takes(self, moment: Struck, letter: Letter) -> list[_Take]:
        """The notes of a moment that one letter can sound."""
        found: list[_Take] = []
        for wish in moment.wishes:
            for number, (own, position, until, registers) in enumerate(wish.takes):
                if own is not letter:
                    continue
                points = wish.prices[number]
                skipped: int | None = 0 if number else wish.share
                if wish.kind:
                    points, skipped = 0, None
                elif moment.lost:
                    points, skipped = 0, 0
                elif len(wish.takes) == 1:
                    skipped = None
                elif number:
                    points -= wish.share
                found.append((position, until, registers, points, skipped, wish.kind, *wish.again))
        return found

    def _answered(
        self, moment: Struck, letter: Letter, takes: Sequence[_Take], answer: Answer
    ) -> Variant | None:
        """How an answer needs one letter."""
        taken = []
        number = 0
        for wish, choice in zip(moment.wishes, answer, strict=True):
            for own, position, _, _ in wish.takes:
                if own is letter:
                    if choice is not None and choice[0] is letter and int(choice[1]) == position:
                        taken.append(takes[number])
                    number += 1
        return _together(takes, taken, letter in moment.moved) if taken else None

    def balance(self, ways: Mapping[Letter, Mapping[int, Variant]]) -> set[Letter]:
        """Change the shares of notes that no letter wants, or two; return the letters concerned.

        ``ways`` are the cheapest ways of the letters by themselves. Each call takes smaller steps.
        """
        step = max(_LAST_STEP, self._step)
        self._step = self._step * 2 // 3
        concerned: set[Letter] = set()
        for place, moment in enumerate(self._moments):
            if moment.lost:
                continue
            for wish in moment.wishes:
                if len(wish.takes) != 2:
                    continue
                (first, at, _, _), (second, other, _, _) = wish.takes
                own, its = ways[first].get(place), ways[second].get(place)
                wanted = own is not None and own[0] == at
                instead = its is not None and its[0] == other
                if wanted is instead and (not wanted or wish.prices[1] < wish.share):
                    wish.share += -step if wanted else step
                    concerned |= {first, second}
        return concerned

    def cheapest(self, place: int, among: set[int]) -> int:
        """The answer that respells least; among equals the first."""
        moment = self._moments[place]
        return min(
            sorted(among),
            key=lambda number: sum(
                wish.prices[_index(wish, choice)]
                for wish, choice in zip(moment.wishes, moment.answers[number], strict=True)
                if choice is not None
            ),
        )

    def contested(
        self,
        place: int,
        feet: Sequence[Sequence[Letter]],
        meant: Sequence[set[int]],
    ) -> dict[int, bool]:
        """The wishes of a place that the feet answer differently.

        For each whether both letters pass it by, so that its share is too low. ``meant`` are the
        answers that each of the ``feet`` could agree to.
        """
        moment = self._moments[place]
        found: dict[int, bool] = {}
        chosen = [moment.answers[min(one)] for one in meant]
        for number, wish in enumerate(moment.wishes):
            if len(wish.takes) != 2:
                continue
            first, second = wish.takes[0][0], wish.takes[1][0]
            taken = []
            for letter in (first, second):
                foot = next(at for at, letters in enumerate(feet) if letter in letters)
                choice = chosen[foot][number]
                taken.append(choice is not None and choice[0] is letter)
            if taken[0] is taken[1]:
                found[number] = not taken[0]
        return found

    def shift(self, place: int, number: int, rising: bool, step: int) -> None:
        """Raise or lower the share of a wish by a step, or by less where it has gone to and fro.

        So it narrows to where the feet agree.
        """
        wish = self._moments[place].wishes[number]
        if wish.rising is rising:
            wish.caution = max(1, wish.caution // 2)
        elif wish.rising is not None:
            wish.caution *= 2
        wish.rising = rising
        step = max(_LEAST_STEP, step // wish.caution)
        wish.share += step if rising else -step

    def letters_at(self, place: int) -> set[Letter]:
        """The letters that could sound the notes of a place."""
        return {take[0] for wish in self._moments[place].wishes for take in wish.takes}

    def decide(self, place: int, number: int, choice: int) -> Struck:
        """Give one wish of a place one of its strings; return what :meth:`restore` takes back."""
        moment = self._moments[place]
        wish = moment.wishes[number]
        letter = wish.takes[choice][0]
        single = _Shared([wish.takes[choice]], wish.again, [wish.prices[choice]], 0)
        answers = tuple(
            answer
            for answer in moment.answers
            if answer[number] is None or answer[number][0] is letter  # type: ignore[index]
        )
        wishes = (*moment.wishes[:number], single, *moment.wishes[number + 1 :])
        self._moments[place] = replace(moment, wishes=wishes, answers=answers)
        return moment

    def restore(self, place: int, moment: Struck) -> None:
        """Undo a decision."""
        self._moments[place] = moment


def _last(group: Sequence[Strike], moment: int, place: int) -> int:
    """The last place at which notes that are struck at a place are struck again, or that itself."""
    return place + max((strike.lasts - moment for strike in group), default=0)


def _lasts(chord: tuple[Chord, Answer] | None, moment: int, place: int) -> dict[Letter, int]:
    """The same by letter, for notes that have no choice."""
    found: dict[Letter, int] = {}
    if chord is not None:
        for (_, group), choice in zip(chord[0].groups, chord[1], strict=True):
            if choice is not None:
                last = _last(group, moment, place)
                found[choice[0]] = max(last, found.get(choice[0], last))
    return found


def _variant(need: Need, shift: int, lasts: int = -1) -> Variant:
    kind = (0 if need.notes else DECIDED) | (MOVED if need.moved else 0)
    stroke = -1 if need.stroke is None else need.stroke + shift
    return (int(need.position), need.until + shift, need.registers, 0, kind, lasts, stroke)


def _index(wish: _Shared, choice: tuple[Letter, int]) -> int:
    return next(number for number, take in enumerate(wish.takes) if take[0] is choice[0])


def _passed(takes: Sequence[_Take]) -> int | None:
    """Points if the letter sounds none of the notes; None if it must sound one."""
    total = 0
    for take in takes:
        if take[4] is None:
            return None
        total += take[4]
    return total


def _together(takes: Sequence[_Take], some: Sequence[_Take], moved: bool) -> Variant | None:
    """How the letter is needed if it sounds some of the notes; None if that cannot be."""
    if len({take[0] for take in some}) != 1:
        return None
    points = sum(take[3] for take in some)
    chosen = [id(take) for take in some]
    for take in takes:
        if id(take) not in chosen:
            if take[4] is None:
                return None
            points += take[4]
    registers = {register for take in some for register in take[2]}
    kind = min(take[5] for take in some) | (MOVED if moved else 0)
    return (
        some[0][0],
        max(take[1] for take in some),
        tuple(sorted(registers)),
        points,
        kind,
        max(take[6] for take in some),
        max(take[7] for take in some),
    )
