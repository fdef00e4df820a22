"""Where the pedals stand at the barlines that several ways meet at, chosen exactly.

At a junction every letter has one position for all ways in and out. Only positions between those
that the notes around it ask for can be best, so most letters have no choice. The rest is a small
problem on the graph of stretches, foot by foot, and is solved by eliminating one junction after
the other.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

from pedalsetter.analysis.harp import LETTERS, Foot, Letter, Position, Setting
from pedalsetter.analysis.planning.junctions import Route
from pedalsetter.analysis.planning.windows import Track

__all__ = [
    "Ends",
    "Stand",
    "StandChoice",
    "choose_stands",
    "count_asked",
    "homes",
    "letters_of",
    "open_stands",
]

Stand = tuple[Position, ...]
"""Where the pedals of one foot stand, in pedal order."""

PriceOfStretch = Callable[[int, Stand, Stand | None], int]
"""Points for one foot along a stretch, from its stand at the beginning to that at the end."""

_MOST_STRETCHES = 1_500
"""Stretches priced before the choice is made by improvement only, and not proved."""

_FEW_STRETCHES = 300
"""Stretches priced where a good choice is known already."""

_MOST_ENTRIES = 20_000
"""Size of the largest table of the elimination."""


@dataclass(frozen=True, slots=True)
class Ends:
    """The positions in which a letter can be needed first and last along a stretch."""

    firsts: frozenset[Position]
    lasts: frozenset[Position]
    certain: bool
    """It is needed in any case."""

    @classmethod
    def of(cls, asks: Sequence[tuple[Sequence[int], Sequence[int], bool]]) -> Ends:
        """From where the letter may be needed.

        For each such place the positions in which it best comes to it, those in which it is needed
        there, and whether it must be.
        """
        sides: list[frozenset[Position]] = []
        for number, side in enumerate((asks, asks[::-1])):
            positions: set[Position] = set()
            for *possible, must in side:
                positions.update(map(Position, possible[number]))
                if must:
                    break
            sides.append(frozenset(positions))
        return cls(sides[0], sides[1], any(must for *_, must in asks))


def letters_of(foot: Foot, crossed: frozenset[Letter] = frozenset()) -> tuple[Letter, ...]:
    """The letters of one foot, in pedal order; those ``crossed`` belong to the other foot."""
    return tuple(letter for letter in LETTERS if (letter.foot is foot) is not (letter in crossed))


def choose_stands(
    letters: Sequence[Letter],
    route: Route,
    tracks: Sequence[Mapping[Letter, Track]],
    signatures: Mapping[int, Setting],
    price: PriceOfStretch,
    fixed: Mapping[int, Mapping[Letter, Position]],
    known: Sequence[Mapping[Letter, Position]] | None = None,
) -> tuple[list[Stand], bool]:
    """Return the stand of one foot's letters at every junction, and whether it is proved best.

    ``fixed`` are positions at junctions that the musician has decided. Among equals the stand
    nearer to the key signature wins, then the flatter one. ``known`` are good positions at every
    junction: they are taken where there are many others to weigh.
    """
    home = homes(route, signatures)
    choices: list[list[Position]]
    by_letter = []
    for letter in letters:
        needs = [_ends(track[letter]) for track in tracks]
        given = {node: known[letter] for node, known in fixed.items() if letter in known}
        found = _candidates(route, needs, [setting[letter] for setting in home], given)
        for stretch, track in zip(route.stretches, tracks, strict=True):
            first = track[letter][0][1] if track[letter] else None
            if first is not None and first.moved:
                found[stretch.entry] = _elsewhere(found[stretch.entry], first.position)
        by_letter.append(found)
    stands: list[list[Stand]] = []
    for junction in range(route.junctions):
        choices = [candidates[junction] for candidates in by_letter]
        stands.append(list(product(*choices)))
    if known is not None and count_asked(route, stands) > _FEW_STRETCHES:
        return [tuple(at[letter] for letter in letters) for at in known], False
    return StandChoice(route, stands, price).best()


def open_stands(
    letters: Sequence[Letter],
    route: Route,
    ends: Sequence[Mapping[Letter, Ends]],
    home: Sequence[Setting],
    fixed: Mapping[int, Mapping[Letter, Position]],
    afresh: Collection[int],
    *,
    pairs: bool = False,
) -> list[list[Stand]]:
    """For each junction the stands of one foot that can be best, strings being open.

    At the junctions ``afresh`` the pedals are set as the first notes want them, so that only one
    stand is given there, which says nothing. With ``pairs`` one foot may move two pedals at once:
    then a letter may stand anywhere, since it may have gone so far along with its neighbour.
    """
    by_letter = []
    for letter in letters:
        given = {node: known[letter] for node, known in fixed.items() if letter in known}
        own = [stretch[letter] for stretch in ends]
        found = _candidates(route, own, [setting[letter] for setting in home], given, pairs)
        by_letter.append(found)
    return [
        list(
            product(
                *(
                    candidates[node][:1] if node in afresh else candidates[node]
                    for candidates in by_letter
                )
            )
        )
        for node in range(route.junctions)
    ]


def homes(route: Route, signatures: Mapping[int, Setting]) -> list[Setting]:
    """For each junction the key signature of its movement: where letters without a need stand."""
    home: dict[int, Setting] = {}
    for number, _, node in route.openings:
        home[node] = signatures[number]
    for stretch in route.stretches:
        # Stretches come by first bar, so that a junction is known before it is left forwards.
        known = home.get(stretch.entry) or home.get(stretch.exit)
        for node in (stretch.entry, stretch.exit):
            if known is not None:
                home.setdefault(node, known)
    fallback = next(iter(signatures.values()))
    return [home.get(node, fallback) for node in range(route.junctions)]


def _ends(track: Track) -> Ends:
    """The ends of one letter, its strings being given."""
    ends = Ends.of([((need.position,), (need.position,), True) for _, need in track])
    if not track or not track[0][1].moved:
        return ends
    # Decided to move there first of all, it must come from elsewhere: best from a notch away.
    first = track[0][1].position
    beside = frozenset(one for one in Position if one.notches_to(first) == 1)
    return replace(ends, firsts=beside)


def _elsewhere(positions: Sequence[Position], moved_to: Position) -> list[Position]:
    """Candidates for a letter that is decided to move to a position, and so comes from another."""
    others = [one for one in positions if one is not moved_to]
    return others or [one for one in Position if one.notches_to(moved_to) == 1]


def _candidates(
    route: Route,
    ends: Sequence[Ends],
    home: Sequence[Position],
    fixed: Mapping[int, Position],
    anywhere: bool = False,
) -> list[list[Position]]:
    """For each junction the positions of one letter that can be best, nearest to home first."""
    wanted: list[set[Position]] = [set() for _ in range(route.junctions)]
    for node, position in fixed.items():
        wanted[node].add(position)
    for stretch, own in zip(route.stretches, ends, strict=True):
        wanted[stretch.entry] |= own.firsts
        if stretch.exit not in route.ends:
            wanted[stretch.exit] |= own.lasts
    # A stretch without a need of the letter carries wishes from one end to the other.
    changed = True
    while changed:
        changed = False
        for stretch, own in zip(route.stretches, ends, strict=True):
            if not own.certain and stretch.exit not in route.ends:
                union = wanted[stretch.entry] | wanted[stretch.exit]
                for node in (stretch.entry, stretch.exit):
                    if wanted[node] != union:
                        wanted[node] = set(union)
                        changed = True
    found = []
    for node, positions in enumerate(wanted):
        if node in fixed or not positions:
            found.append([fixed.get(node, home[node])])
            continue
        between = [one for one in Position if anywhere or min(positions) <= one <= max(positions)]
        found.append(sorted(between, key=lambda one: (one.notches_to(home[node]), one)))
    return found


def count_asked(route: Route, stands: Sequence[Sequence[Stand]]) -> int:
    """How many stretches between two stands an exact choice has to price."""
    asked = 0
    for stretch in route.stretches:
        ways = len(stands[stretch.entry])
        if stretch.exit not in route.ends and stretch.exit != stretch.entry:
            ways *= len(stands[stretch.exit])
        asked += ways if ways > 1 else 0
    return asked


@dataclass(slots=True)
class _Table:
    """Points for every joint choice of some junctions, given by indices into their stands."""

    junctions: tuple[int, ...]
    points: dict[tuple[int, ...], int]


class StandChoice:
    """The choice of a stand at every junction, by the prices of the stretches between them."""

    def __init__(
        self,
        route: Route,
        stands: Sequence[Sequence[Stand]],
        price: PriceOfStretch,
        most: int = _MOST_STRETCHES,
    ) -> None:
        self._most = most
        self._route = route
        self._stands = stands
        self._price = price

    def best(self) -> tuple[list[Stand], bool]:
        """The stands of least price, and whether that is proved."""
        asked = count_asked(self._route, self._stands)
        if not asked:
            return [stands[0] for stands in self._stands], True
        if asked <= self._most:
            chosen = self._eliminate([self._table(index) for index in self._open_stretches()])
            if chosen is not None:
                return [self._stands[node][pick] for node, pick in enumerate(chosen)], True
        return self._improve(), False

    def _open_stretches(self) -> list[int]:
        """Stretches on whose ends something depends."""
        return [
            index
            for index, stretch in enumerate(self._route.stretches)
            if self._junctions(index)
            and any(len(self._stands[node]) > 1 for node in (stretch.entry, stretch.exit))
        ]

    def _junctions(self, index: int) -> tuple[int, ...]:
        stretch = self._route.stretches[index]
        ends = {stretch.entry}
        if stretch.exit not in self._route.ends:
            ends.add(stretch.exit)
        return tuple(sorted(node for node in ends if len(self._stands[node]) > 1))

    def _priced(self, index: int, picks: Mapping[int, int]) -> int:
        stretch = self._route.stretches[index]
        entry = self._stands[stretch.entry][picks.get(stretch.entry, 0)]
        leave = None
        if stretch.exit not in self._route.ends:
            leave = self._stands[stretch.exit][picks.get(stretch.exit, 0)]
        return self._price(index, entry, leave)

    def _table(self, index: int) -> _Table:
        junctions = self._junctions(index)
        sizes = [range(len(self._stands[node])) for node in junctions]
        return _Table(
            junctions,
            {
                picks: self._priced(index, dict(zip(junctions, picks, strict=True)))
                for picks in product(*sizes)
            },
        )

    def _eliminate(self, tables: list[_Table]) -> list[int] | None:
        """Bucket elimination, the junction with the smallest table first; None if too large."""
        order: list[tuple[int, tuple[int, ...], dict[tuple[int, ...], int]]] = []
        left = sorted({node for table in tables for node in table.junctions})
        while left:
            sizes = {}
            for node in left:
                around = {
                    one for table in tables if node in table.junctions for one in table.junctions
                }
                size = 1
                for one in around:
                    size *= len(self._stands[one])
                sizes[node] = size
            node = min(left, key=lambda one: (sizes[one], one))
            if sizes[node] > _MOST_ENTRIES:
                return None
            bucket = [table for table in tables if node in table.junctions]
            tables = [table for table in tables if node not in table.junctions]
            others = tuple(
                sorted({one for table in bucket for one in table.junctions if one != node})
            )
            points: dict[tuple[int, ...], int] = {}
            picked: dict[tuple[int, ...], int] = {}
            for picks in product(*(range(len(self._stands[one])) for one in others)):
                given = dict(zip(others, picks, strict=True))
                totals = []
                for pick in range(len(self._stands[node])):
                    given[node] = pick
                    totals.append(
                        sum(
                            table.points[tuple(given[one] for one in table.junctions)]
                            for table in bucket
                        )
                    )
                points[picks] = min(totals)
                picked[picks] = totals.index(points[picks])
            order.append((node, others, picked))
            tables.append(_Table(others, points))
            left.remove(node)
        chosen = [0] * self._route.junctions
        for node, others, picked in reversed(order):
            chosen[node] = picked[tuple(chosen[one] for one in others)]
        return chosen

    def _improve(self) -> list[Stand]:
        """Change one junction at a time for the better until none can be."""
        picks = dict.fromkeys(range(self._route.junctions), 0)
        around: dict[int, list[int]] = {}
        for index in self._open_stretches():
            for node in self._junctions(index):
                around.setdefault(node, []).append(index)

        def total(node: int, pick: int) -> int:
            return sum(self._priced(index, {**picks, node: pick}) for index in around[node])

        for _ in range(4):
            before = dict(picks)
            for node in sorted(around):
                count = min(len(self._stands[node]), 32)
                picks[node] = min(range(count), key=lambda pick: (total(node, pick), pick))
            if picks == before:
                break
        return [self._stands[node][picks[node]] for node in range(self._route.junctions)]
