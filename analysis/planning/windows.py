"""The changes that the music forces, each with the window of moments in which it may be made.

Letter by letter: between two needs in different positions lies one change, and it goes straight
from the one to the other. A pedal is never moved to where no note needs it, not even where two
steps of a notch each, at two moments, would leave the foot more time than one of two: a mark that
no note asks for puzzles whoever reads it (a rule of ours, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from pedalsetter.analysis.harp import LETTERS, Letter, Position
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.junctions import Stretch
from pedalsetter.analysis.planning.moments import Moments
from pedalsetter.analysis.planning.needs import Need
from pedalsetter.analysis.planning.two_pedals import Distance

__all__ = [
    "Line",
    "Track",
    "Window",
    "distance",
    "find_windows",
    "follow",
    "lay_line",
    "lay_tracks",
    "stands_already",
]


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
    """What needs the new position; None if it only prepares a re-entry. Without notes it is a
    decision of the musician."""
    before: Need | None
    """What needed the old position last; None if nothing in the stretch did."""
    held: int
    """Microseconds (of the line) until which a note on the old position is written to sound."""
    plucked: tuple[int | None, ...]
    """For each register when the letter's strings were last plucked, in microseconds."""
    notches: int
    """1, or 2 where the pedal passes the natural notch."""
    goal: int
    """The place of the letter's next note, from which on the move is no longer early; ``last`` but
    where a decision lets the pedal move only before it."""
    last_stroke: int
    """When ``before`` was struck for the last time, in microseconds of the line."""
    pinned: bool = False
    """Decided to be made exactly at ``last``, and printed there."""
    crossed: bool = False
    """Made by the foot of the other side, which crosses for it."""


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


def distance(window: Window) -> Distance | None:
    """How the pedal moves, where its change could be made with a neighbour's; else None."""
    return None if window.crossed else (window.letter, window.old, window.new)


Track = Sequence[tuple[int, Need]]
"""The needs of one letter along a line, as (place, need), by place."""


def lay_tracks(line: Line, demands: Demands) -> dict[Letter, list[tuple[int, Need]]]:
    """The track of every letter along a line."""
    tracks: dict[Letter, list[tuple[int, Need]]] = {letter: [] for letter in LETTERS}
    for place, moment in enumerate(line.moments):
        for letter, need in demands.needs[moment].items():
            tracks[letter].append((place, need))
    return tracks


def find_windows(
    letter: Letter,
    track: Track,
    line: Line,
    moments: Moments,
    entry: Position,
    leave: Position | None,
) -> list[Window]:
    """Every change that one letter needs along a line, by latest moment.

    ``entry`` is where it stands at the beginning; ``leave`` where it must stand at the end, None
    where nothing follows.
    """
    return list(follow(letter, track, line, moments, entry, leave, None))


def follow(
    letter: Letter,
    track: Iterable[tuple[int, Need]],
    line: Line,
    moments: Moments,
    entry: Position,
    leave: Position | None,
    known: Window | None,
) -> Iterator[Window]:
    """As :func:`find_windows`, one after the other.

    If a window is ``known``, begin with it; the track then begins at its need.
    """
    standing, since, held, stroke = entry, 0, 0, 0
    before: Need | None = None
    plucked: list[int | None] = [None] * 3
    if known is not None:
        standing, since, held, before = known.old, known.first, known.held, known.before
        plucked, stroke = list(known.plucked), known.last_stroke
    # Changes that a decision wants before the next note of their letter.
    waiting: list[Window] = []
    for place, need in track:
        time = line.times[place]
        moves = need.position is not standing or need.moved
        if moves:
            first = place if need.moved else since
            if need.position is standing:
                # A pedal that is to move to where it stands: it stood elsewhere if nothing speaks
                # against it, else there is no such move.
                free = known is None and not since
                standing = _beside(need.position) if free else standing
                first = place if free else place + 1
            window = Window(
                letter,
                standing,
                need.position,
                first,
                place,
                need,
                before,
                held,
                tuple(plucked),
                standing.notches_to(need.position),
                place,
                stroke,
                need.moved,
            )
            standing = need.position
            if not need.notes:
                waiting.append(window)
        shift = time - moments.microseconds[line.moments[place]]
        again = time if need.stroke is None else need.stroke + shift
        if need.notes:
            yield from _towards(waiting, place, need)
            waiting.clear()
            if moves:
                yield window
            before, stroke = need, again
        elif moves:
            # The letter has moved since its last note, which no longer hurries it.
            before = None
        since = place + 1
        held = max(held, need.until + shift)
        for register in need.registers:
            plucked[register] = again
    last = len(line.moments)
    yield from _towards(waiting, last, None)
    if leave is not None and standing is not leave:
        notches = standing.notches_to(leave)
        rings = tuple(plucked)
        yield Window(
            letter,
            standing,
            leave,
            since,
            last,
            None,
            before,
            held,
            rings,
            notches,
            last,
            stroke,
        )


def _towards(waiting: Sequence[Window], goal: int, need: Need | None) -> Iterator[Window]:
    """Decided changes, now that the next note of their letter is known."""
    for window in waiting:
        serves = need is not None and need.position is window.new and window is waiting[-1]
        yield replace(window, goal=goal, need=need if serves else window.need)


def _beside(position: Position) -> Position:
    """A position one notch away."""
    return Position.FLAT if position is Position.NATURAL else Position.NATURAL


def stands_already(track: Track, entry: Position) -> bool:
    """Whether a letter is first of all to move to where it stands already, which it cannot."""
    return bool(track) and track[0][1].moved and track[0][1].position is entry
