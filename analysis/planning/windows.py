"""The changes that the music forces, each with the window of moments in which it may be made.

Letter by letter: between two needs in different positions lies one change, and it goes straight
from the one to the other, since a second move would cost more than it could spare.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pedalsetter.analysis.harp import Letter, Position
from pedalsetter.analysis.planning.demands import Demands, Need
from pedalsetter.analysis.planning.junctions import Stretch
from pedalsetter.analysis.planning.moments import Moments

__all__ = ["Line", "Window", "find_windows", "lay_line"]


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


def find_windows(
    line: Line,
    moments: Moments,
    demands: Demands,
    entry: Mapping[Letter, Position],
    leave: Mapping[Letter, Position],
) -> list[Window]:
    """Every change that some letters need along a line, by latest moment.

    ``entry`` gives the letters, and where they stand at the beginning; ``leave`` where they must
    stand at the end, empty where nothing follows.
    """
    found: list[Window] = []
    standing = dict(entry)
    since = dict.fromkeys(entry, 0)
    before: dict[Letter, Need | None] = dict.fromkeys(entry)
    held = dict.fromkeys(entry, 0)
    plucked: dict[Letter, list[int | None]] = {letter: [None] * 3 for letter in entry}

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
            if letter not in standing:
                continue
            if need.position is not standing[letter]:
                found.append(window(letter, need.position, place, need))
                standing[letter] = need.position
            since[letter] = place + 1
            before[letter] = need
            held[letter] = max(held[letter], need.until + shift)
            for register in need.registers:
                plucked[letter][register] = line.times[place]
    for letter, position in leave.items():
        if standing[letter] is not position:
            found.append(window(letter, position, len(line.moments), None))
    return found
