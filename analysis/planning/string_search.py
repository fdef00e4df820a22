"""The best strings for all notes, together with the moves of both feet and the settings at repeats.

The feet share nothing but the notes that a letter of either could sound (D♯/E♭ and A♯/B♭). With the
prices of those shared out (:mod:`pedalsetter.analysis.planning.shared_notes`) each foot is solved
for itself, exactly; what the two cost together is a lower bound of every plan. Where they answer a
note differently, the shares are shifted and both are solved again. As soon as they agree the bound
is reached, and the plan is the optimum.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pedalsetter.analysis.harp import LETTERS, Letter, Position
from pedalsetter.analysis.planning.best_way import Rises, best_way
from pedalsetter.analysis.planning.both_feet import BothFeet
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.crossing import may_cross
from pedalsetter.analysis.planning.dear_stands import affordable
from pedalsetter.analysis.planning.foot_programme import (
    FootProgramme,
    Found,
    OutOfEffortError,
    least_points,
)
from pedalsetter.analysis.planning.foot_step import Option
from pedalsetter.analysis.planning.junction_settings import (
    Ends,
    StandChoice,
    count_asked,
    open_stands,
)
from pedalsetter.analysis.planning.letter_bound import (
    MOVED,
    UNSET,
    Ask,
    LetterBound,
    Variant,
    beginning,
)
from pedalsetter.analysis.planning.search_terms import BestStrings, Effort, Whole
from pedalsetter.analysis.planning.shared_notes import SharedNotes
from pedalsetter.analysis.planning.weighed_trills import answered

__all__ = ["best_strings"]

Stand = tuple[int, ...]

_Key = tuple[int, Stand | None, Stand | None]
"""A stretch between two settings: its index, where the foot's letters stand at its beginning (None
where they are set afresh) and at its end (None where nothing follows)."""

_ROUNDS = 8
"""How often the shares of the letters are balanced before the feet are solved."""

_MEETINGS = 16
"""How often the shares of the feet are shifted until they agree."""

_LITTLE = 10
_LEAST_SHARE = 16
_IDLE = 3
"""Fewer, if the bound rises by so few points, or by so small a share of what is left to the plan
that is known, in so many meetings."""

_MOST_BRANCHES = 14
"""How many notes are decided for one foot and the other where the feet never agree."""

_FEW_STRETCHES = 500
"""Pairs of settings that are weighed for all stretches without first leaving out the dear ones."""

_MOST_STRETCHES = 20_000
"""Pairs of settings that are weighed for all stretches; most by their letters alone."""


_SPENT = 4
_FAR_OFF = 6
_MANY = 5
"""Where one part of so many of the effort is spent, the bound is still further from the plan that
is known than such a part of its points, and the feet differ about more notes than these, the plan
is not reached with the rest."""


def best_strings(whole: Whole, effort: Effort) -> BestStrings:
    """Return the best strings of all notes, with a proof where it is found within an effort."""
    return _Search(whole, effort).run()


@dataclass(frozen=True, slots=True)
class _Solved:
    """One foot along one stretch between two settings."""

    points: int
    options: Mapping[int, int]


@dataclass(frozen=True, slots=True)
class _Settled:
    """One foot along all stretches."""

    points: int
    """Of the best way, or less."""
    options: Sequence[Mapping[int, int]] | None
    """By stretch and place the options of the best way; None if it costs too much to be found."""
    exact: bool
    """No choice of settings costs less than ``points``."""
    stands: Sequence[tuple[Position, ...]]
    """Where its letters stand at each junction."""


_Apart = tuple[int, int, int, bool]
"""A note that the feet differ about: stretch, place, wish, and whether both pass it by."""

_Told = tuple[list[list[Option]], list[list[set[int]]]]
"""By place a foot's options, and which answers each stands for."""


@dataclass(slots=True)
class _Foot:
    """What is known of one foot as the shares of its notes are now."""

    letters: tuple[Letter, ...]
    told: dict[int, _Told] = field(default_factory=dict)
    """By stretch."""
    stands: tuple[list[list[tuple[Position, ...]]], bool] | None = None
    """For each junction where the letters may stand, and whether these are all."""
    solved: dict[_Key, _Solved] = field(default_factory=dict)
    alone: dict[_Key, int] = field(default_factory=dict)
    """Points of the letters by themselves."""
    above: dict[_Key, int] = field(default_factory=dict)
    """What is known to be paid beyond those."""
    rises: dict[tuple[int, Stand | None], Rises] = field(default_factory=dict)
    """By stretch and its end what the letters cost more than by themselves."""


class _Search:
    def __init__(self, whole: Whole, effort: Effort) -> None:
        self._whole = whole
        self._notes = [
            SharedNotes(line, whole.demands, whole.moments, prices.weights)
            for line, prices in zip(whole.lines, whole.prices, strict=True)
        ]
        self._bounds: dict[tuple[int, Letter, int | None], LetterBound] = {}
        self._feet = [_Foot(letters) for letters in whole.feet]
        self._best: dict[int, Answer] = {}
        self._stands: dict[int, dict[Letter, Position]] = {}
        # Notes that have no choice may be respelled too.
        now = answered(whole.demands)
        self._settled = whole.respelled - sum(notes.points(now) for notes in self._notes)
        self._known = whole.known - self._settled
        self._effort = sum(
            effort.least + effort.for_each_moment * len(line.moments) for line in whole.lines
        )
        self._granted, self._patient = self._effort, effort.patient

    def run(self) -> BestStrings:
        self._balance()
        try:
            least = self._branch(_MOST_BRANCHES)
        except OutOfEffortError:
            least = None
        if least is not None:
            # Ways that cost more than the plan that is known were not followed to their end.
            least = min(least, self._known) + self._settled
        return BestStrings(self._best, least, self._stands)

    def _branch(self, depth: int) -> int | None:
        """Let the feet agree; where they never do, decide for one and for the other in turn.

        Returns the least points of any plan under what is decided, or any number beyond those of
        the plan that is known.
        """
        least: int | None = None
        apart: list[_Apart] = []
        idle = 0
        for _ in range(_MEETINGS):
            settled = [self._settle(foot, 0) for foot in self._feet]
            for number, foot in enumerate(self._feet):
                others = sum(one.points for one in settled) - settled[number].points
                settled[number] = self._settle(foot, self._known - others)
                if settled[number].options is None:
                    break
            points = sum(one.points for one in settled)
            little = max(_LITTLE, (self._known - points) // _LEAST_SHARE)
            idle = 0 if least is None or points > least + little else idle + 1
            exact = all(one.exact for one in settled)
            if exact and (least is None or points > least):
                least = points
            if least is not None and least >= self._known:
                return least
            picks = [one.options for one in settled if one.options is not None]
            if len(picks) < len(settled):
                return least
            answers, apart = self._meet(picks)
            if not self._best or not apart:
                self._best = answers
                self._stands = self._told_stands([one.stands for one in settled])
            if not apart:
                if exact:
                    self._known = min(self._known, points)
                return points if exact else None
            if self._hopeless(points, len(apart)):
                raise OutOfEffortError
            if idle == _IDLE:
                break
            self._shift(apart, self._known - points)
        if not depth:
            return least
        index, place, wish, _ = apart[0]
        notes = self._notes[index]
        bounds: list[int | None] = []
        kept = self._best
        known = self._known
        for choice in (0, 1):
            self._forget(index, place)
            before = notes.decide(place, wish, choice)
            bounds.append(self._branch(depth - 1))
            notes.restore(place, before)
            self._forget(index, place)
            if self._known < known:
                kept, known = self._best, self._known
            self._best = kept
        if any(bound is None for bound in bounds):
            return least
        return min(bound for bound in bounds if bound is not None)

    def _hopeless(self, points: int, apart: int) -> bool:
        """Whether a bound is so far off after so much effort that the rest of it is saved.

        ``apart`` is how many notes the feet differ about.
        """
        spent = self._granted - self._effort
        far = self._known - points > self._known // _FAR_OFF and apart > _MANY
        return far and not self._patient and spent > self._granted // _SPENT

    def _forget(self, index: int, place: int) -> None:
        """Shares or decisions about the notes of a place in a stretch have changed."""
        letters = self._notes[index].letters_at(place)
        for key in [key for key in self._bounds if key[0] == index and key[1] in letters]:
            del self._bounds[key]
        for foot in self._feet:
            # What a foot can afford depends on the other one too.
            foot.stands = None
            if not letters.isdisjoint(foot.letters):
                foot.told.pop(index, None)
                for known in (foot.solved, foot.alone, foot.above):
                    for key_of in [one for one in known if one[0] == index]:
                        del known[key_of]
                for (stretch, _), rises in foot.rises.items():
                    if stretch == index:
                        rises.forget(place)

    # Letters.

    def _bound(self, index: int, letter: Letter, leave: int | None) -> LetterBound:
        key = (index, letter, leave)
        if key not in self._bounds:
            asks = self._notes[index].asks(letter)
            self._bounds[key] = LetterBound(self._whole.prices[index], asks, leave)
        return self._bounds[key]

    def _balance(self) -> None:
        """Share out the prices of respelled notes so that the letters come near the whole."""
        for index, notes in enumerate(self._notes):
            if not notes.open:
                continue
            concerned = set(LETTERS)
            ways: dict[Letter, Mapping[int, Variant]] = {}
            for _ in range(_ROUNDS):
                for letter in LETTERS:
                    if letter in concerned:
                        self._bounds.pop((index, letter, None), None)
                        bound = self._bound(index, letter, None)
                        ways[letter] = bound.way(beginning(UNSET))
                concerned = notes.balance(ways)
                if not concerned:
                    break
        self._bounds.clear()

    # Feet.

    def _told(self, foot: _Foot, index: int) -> _Told:
        if index not in foot.told:
            foot.told[index] = self._notes[index].options(foot.letters)
        return foot.told[index]

    def _told_stands(
        self, chosen: Sequence[Sequence[tuple[Position, ...]]]
    ) -> dict[int, dict[Letter, Position]]:
        """Where all letters stand at the junctions, told by the feet."""
        return {
            node: {
                letter: position
                for foot, stands in zip(self._feet, chosen, strict=True)
                for letter, position in zip(foot.letters, stands[node], strict=True)
            }
            for node in range(self._whole.route.junctions)
            if node not in self._whole.afresh and node not in self._whole.route.ends
        }

    def _open_stands(self, foot: _Foot) -> tuple[list[list[tuple[Position, ...]]], bool]:
        """For each junction where the foot's letters may stand, and whether these are all."""
        route = self._whole.route
        ends = [
            {
                letter: Ends.of([_possible(ask) for ask in self._bound(index, letter, None).asks])
                for letter in foot.letters
            }
            for index in range(len(route.stretches))
        ]
        given = (foot.letters, route, ends, self._whole.home, self._whole.fixed, self._whole.afresh)
        pairs = self._whole.prices[0].weights.two_pedals is not None
        stands = self._affordable(foot, open_stands(*given, pairs=pairs))
        if not pairs or count_asked(route, stands) <= _MOST_STRETCHES:
            return stands, True
        return open_stands(*given), False

    def _affordable(
        self, foot: _Foot, stands: list[list[tuple[Position, ...]]]
    ) -> list[list[tuple[Position, ...]]]:
        """Where there are many, those with which a plan may cost less than the known one."""
        if count_asked(self._whole.route, stands) <= _FEW_STRETCHES:
            return stands

        def price(number: int, index: int, entry: Position, leave: Position | None) -> int:
            letter = foot.letters[number]
            _, begin, end = self._key(index, (entry,), None if leave is None else (leave,))
            bound = self._bound(index, letter, None if end is None else end[0])
            return least_points([bound], begin)

        others = sum(
            least_points([self._bound(index, letter, None)], None)
            for other in self._feet
            if other is not foot
            for letter in other.letters
            for index in range(len(self._whole.route.stretches))
        )
        return affordable(self._whole.route, stands, price, self._known - others)

    def _settle(self, foot: _Foot, most: int) -> _Settled:
        """The best settings at the junctions and the best ways between them.

        They are followed as long as they can cost less than ``most`` points.
        """
        route = self._whole.route
        if foot.stands is None:
            foot.stands = self._open_stands(foot)
        stands, whole = foot.stands

        def price(
            index: int, entry: tuple[Position, ...], leave: tuple[Position, ...] | None
        ) -> int:
            key = self._key(index, entry, leave)
            if key in foot.solved:
                return foot.solved[key].points
            if key not in foot.alone:
                foot.alone[key] = least_points(self._bounds_of(foot, key), key[1])
            return foot.alone[key] + max(foot.above.get(key, 0), self._rises(foot, key).least)

        while True:
            chosen, proved = StandChoice(route, stands, price, _MOST_STRETCHES).best()
            ways = [
                (
                    index,
                    chosen[stretch.entry],
                    None if stretch.exit in route.ends else chosen[stretch.exit],
                )
                for index, stretch in enumerate(route.stretches)
            ]
            points = sum(price(*way) for way in ways)
            keys = [self._key(*way) for way in ways]
            if points >= most:
                return _Settled(points, None, proved and whole, chosen)
            unsolved = next((key for key in keys if key not in foot.solved), None)
            if unsolved is None:
                break
            self._solve(foot, unsolved, most - points)
        options = [foot.solved[key].options for key in keys]
        return _Settled(points, options, proved and whole, chosen)

    def _key(self, index: int, entry: Sequence[Position], leave: Sequence[Position] | None) -> _Key:
        afresh = self._whole.route.stretches[index].entry in self._whole.afresh
        return (
            index,
            None if afresh else tuple(int(position) for position in entry),
            None if leave is None else tuple(int(position) for position in leave),
        )

    def _bounds_of(self, foot: _Foot, key: _Key) -> list[LetterBound]:
        index, _, leave = key
        return [
            self._bound(index, letter, None if leave is None else leave[number])
            for number, letter in enumerate(foot.letters)
        ]

    @staticmethod
    def _rises(foot: _Foot, key: _Key) -> Rises:
        return foot.rises.setdefault((key[0], key[2]), Rises())

    def _programme(self, foot: _Foot, key: _Key) -> FootProgramme:
        index, entry, leave = key
        options, _ = self._told(foot, index)
        if leave is not None:
            last = tuple((position, 0, (), 0, 0, -1, -1) for position in leave)
            options = [*options, [(0, last)]]
        bounds, prices = self._bounds_of(foot, key), self._whole.prices[index]
        letters, shared = foot.letters, None
        if letters == LETTERS:
            apart = self._whole.apart
            return BothFeet(prices, bounds, options, entry, self._effort, apart)
        if prices.weights.crossed is not None:
            shared = next((letters.index(one) for one in letters if may_cross(one, letters)), None)
        return FootProgramme(prices, bounds, options, entry, self._effort, letters, shared)

    def _solve(self, foot: _Foot, key: _Key, most: int) -> None:
        """Solve a foot along a stretch, unless that rises by ``most`` points or more."""
        programme, rises = self._programme(foot, key), self._rises(foot, key)
        most += max(foot.above.get(key, 0), rises.least)
        try:
            found = best_way(programme, most, rises)
        finally:
            self._effort = programme.effort
        if isinstance(found, Found):
            foot.solved[key] = _Solved(programme.least + found.rank, found.options)
        else:
            foot.above[key] = found

    # Both.

    def _meet(
        self, picks: Sequence[Sequence[Mapping[int, int]]]
    ) -> tuple[dict[int, Answer], list[_Apart]]:
        """The answers that both feet give, and the notes that they differ about."""
        answers: dict[int, Answer] = {}
        apart: list[_Apart] = []
        for index, (notes, line) in enumerate(zip(self._notes, self._whole.lines, strict=True)):
            told = [self._told(foot, index)[1] for foot in self._feet]
            for place, moment in enumerate(line.moments):
                ways = notes.answers(place)
                if not ways:
                    continue
                meant = [
                    meanings[place][picked[index].get(place, 0)]
                    for meanings, picked in zip(told, picks, strict=True)
                ]
                both = set.intersection(*meant)
                if both:
                    answers[moment] = ways[notes.cheapest(place, both)]
                    continue
                answers[moment] = ways[0]
                contested = notes.contested(place, self._whole.feet, meant)
                apart += [(index, place, wish, low) for wish, low in contested.items()]
        return answers, apart

    def _shift(self, apart: Sequence[_Apart], gap: int) -> None:
        """Shift the shares of the notes that the feet differ about.

        By so much that the feet would reach the plan that is known, ``gap`` points away, if they
        went on to differ (B. T. Polyak's step, from memory).
        """
        step = gap // max(1, len(apart))
        for index, place, wish, low in apart:
            self._notes[index].shift(place, wish, low, step)
            self._forget(index, place)


def _possible(ask: Ask) -> tuple[tuple[int, ...], tuple[int, ...], bool]:
    """Where a letter may best stand before an ask, where for it, and whether it must be met."""
    _, variants, skip = ask
    positions = tuple(variant[0] for variant in variants)
    before = positions
    if any(variant[4] & MOVED for variant in variants):
        # Decided to move there, it comes from elsewhere: best from a notch away.
        before = tuple(one for one in (-1, 0, 1) if any(abs(one - to) == 1 for to in positions))
    return before, positions, skip is None
