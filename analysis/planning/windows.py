"""The changes that the music forces, each with the window of moments in which it may be made.

Letter by letter: between two needs in different positions lies one change. At junctions a letter
has one position for all ways in and out; it is chosen so that the fewest changes follow.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pedalsetter.analysis.harp import LETTERS, Letter, Position, Setting
from pedalsetter.analysis.planning.demands import Demands, Need
from pedalsetter.analysis.planning.junctions import Route, Stretch
from pedalsetter.analysis.planning.moments import Moments

__all__ = ["Line", "Window", "choose_settings", "find_windows", "lay_line"]


@dataclass(frozen=True, slots=True)
class Line:
    """The moments of one stretch, in playing order."""

    moments: tuple[int, ...]
    """Indices of moments."""
    times: tuple[int, ...]
    """Microseconds since the beginning of the stretch."""
    end: int
    """Microseconds from the beginning of the stretch to its last barline."""


@dataclass(frozen=True, slots=True)
class Window:
    """One forced change; places are indices into the stretch's line of moments."""

    letter: Letter
    old: Position
    new: Position
    first: int
    """The earliest place at which the pedal may move."""
    last: int
    """The latest one; the length of the line stands for "after the last moment"."""
    need: Need | None
    """What needs the new position; None if it only prepares a re-entry."""
    before: Need | None
    """What needed the old position last; None if nothing in the stretch did."""
    held: int
    """Microseconds (of the line) until which a note on the old position is written to sound."""
    plucked: tuple[int | None, ...]
    """For each register when the letter's strings were last plucked, in microseconds."""
    notches: int
    """1, or 2 where the pedal passes the natural notch."""


def lay_line(stretch: Stretch, moments: Moments, bar_ends: Sequence[int]) -> Line:
    """Set the moments of a stretch in a line; ``bar_ends`` are microseconds on the page."""
    found: list[int] = []
    times: list[int] = []
    shift = -moments.microseconds[moments.first_of_bar[stretch.bars[0]]]
    end = 0
    for place, bar in enumerate(stretch.bars):
        inside = moments.of_bar(bar)
        if place and bar != stretch.bars[place - 1] + 1:
            begin = bar_ends[bar - 1] if bar else 0
            shift = end - begin
        found.extend(inside)
        times.extend(max(0, moments.microseconds[index] + shift) for index in inside)
        end = bar_ends[bar] + shift
    return Line(tuple(found), tuple(times), max(end, times[-1] if times else 0))


def choose_settings(
    route: Route,
    lines: Sequence[Line],
    demands: Demands,
    signatures: Mapping[int, Setting],
) -> list[dict[Letter, Position]]:
    """The setting at every junction; ``signatures`` gives each movement's key signature."""
    settings: list[dict[Letter, Position]] = [{} for _ in range(route.junctions)]
    home = _home(route, signatures)
    for letter in LETTERS:
        ends = [_first_and_last(line, demands, letter) for line in lines]
        values = _settle_letter(route, ends, [home[node][letter] for node in range(len(home))])
        for node, position in enumerate(values):
            settings[node][letter] = position
    return settings


def _home(route: Route, signatures: Mapping[int, Setting]) -> list[Setting]:
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


@dataclass(frozen=True, slots=True)
class _Ends:
    """The first and the last need of one letter in a stretch."""

    first: Position | None
    at_once: bool
    """The first need stands at the very first moment."""
    last: Position | None
    to_the_end: bool
    """The last need stands at the very last moment."""


def _first_and_last(line: Line, demands: Demands, letter: Letter) -> _Ends:
    first = last = None
    at_once = to_the_end = False
    for place, moment in enumerate(line.moments):
        need = demands.needs[moment].get(letter)
        if need is not None:
            first, at_once = need.position, place == 0
            break
    for place in range(len(line.moments) - 1, -1, -1):
        need = demands.needs[line.moments[place]].get(letter)
        if need is not None:
            last, to_the_end = need.position, place == len(line.moments) - 1
            break
    return _Ends(first, at_once, last, to_the_end)


_CHANGE = 10
_AT_THE_BARLINE = 4
"""Extra: the change falls on the first note of a stretch, in nobody's free time."""
_AFTER_THE_LAST = 6
"""Extra: the change falls between the last note of a stretch and its barline."""


def _settle_letter(route: Route, ends: Sequence[_Ends], home: Sequence[Position]) -> list[Position]:
    """One letter's position at each junction; repeated improvement from a good beginning."""
    around: list[list[int]] = [[] for _ in home]
    for index, stretch in enumerate(route.stretches):
        around[stretch.entry].append(index)
        if stretch.exit != stretch.entry:
            around[stretch.exit].append(index)
    values = list(home)
    for node, touching in enumerate(around):
        wanted = [
            position
            for index in touching
            for position, here in (
                (ends[index].first, route.stretches[index].entry),
                (ends[index].last, route.stretches[index].exit),
            )
            if here == node and position is not None
        ]
        if wanted:
            values[node] = max(Position, key=lambda one: (wanted.count(one), one is home[node]))

    def cost(node: int, position: Position) -> int:
        total = 0
        for index in around[node]:
            stretch, end = route.stretches[index], ends[index]
            before = position if stretch.entry == node else values[stretch.entry]
            after = position if stretch.exit == node else values[stretch.exit]
            if stretch.exit in route.ends:
                after = end.last if end.last is not None else before
            if end.first is None or end.last is None:
                total += _CHANGE * (before is not after)
                continue
            if end.first is not before:
                total += _CHANGE + _AT_THE_BARLINE * end.at_once
            if end.last is not after:
                total += _CHANGE + _AFTER_THE_LAST * end.to_the_end
        return total

    for _ in range(2 * len(values) + 1):
        improved = False
        for node in range(len(values)):
            best = min(Position, key=lambda one: (cost(node, one), one is not values[node]))
            if best is not values[node]:
                values[node] = best
                improved = True
        if not improved:
            break
    for stretch, end in zip(route.stretches, ends, strict=True):
        if stretch.exit in route.ends:
            values[stretch.exit] = end.last if end.last is not None else values[stretch.entry]
    return values


def find_windows(
    stretch: Stretch,
    line: Line,
    moments: Moments,
    demands: Demands,
    settings: Sequence[Mapping[Letter, Position]],
    ends: frozenset[int],
) -> list[Window]:
    """Every change that one stretch needs between its two junctions, by latest moment."""
    found: list[Window] = []
    standing = dict(settings[stretch.entry])
    since = dict.fromkeys(LETTERS, 0)
    before: dict[Letter, Need | None] = dict.fromkeys(LETTERS)
    held = dict.fromkeys(LETTERS, 0)
    plucked: dict[Letter, list[int | None]] = {letter: [None] * 3 for letter in LETTERS}

    def window(letter: Letter, new: Position, last: int, need: Need | None) -> Window:
        old = standing[letter]
        return Window(
            letter,
            old,
            new,
            since[letter],
            last,
            need,
            before[letter],
            held[letter],
            tuple(plucked[letter]),
            old.notches_to(new),
        )

    for place, moment in enumerate(line.moments):
        shift = line.times[place] - moments.microseconds[moment]
        for letter, need in demands.needs[moment].items():
            if need.position is not standing[letter]:
                found.append(window(letter, need.position, place, need))
                standing[letter] = need.position
            since[letter] = place + 1
            before[letter] = need
            held[letter] = max(held[letter], need.until + shift)
            for register in need.registers:
                plucked[letter][register] = line.times[place]
    if stretch.exit not in ends:
        for letter, position in settings[stretch.exit].items():
            if standing[letter] is not position:
                found.append(window(letter, position, len(line.moments), None))
    return found
