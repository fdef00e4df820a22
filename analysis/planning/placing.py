"""Given strings: the settings at junctions, and a place for every change.

Each foot is placed for itself, unless a foot may cross: then both are placed together, once each by
itself has shown good settings.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from pedalsetter.analysis.harp import LETTERS, Letter, Position, Setting
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.planning.bill import Bill
from pedalsetter.analysis.planning.clock import Clock
from pedalsetter.analysis.planning.crossing import place_across
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.feet import Schedule, turns_taken
from pedalsetter.analysis.planning.junction_settings import Stand, choose_stands
from pedalsetter.analysis.planning.junctions import Route
from pedalsetter.analysis.planning.moments import Moments
from pedalsetter.analysis.planning.optimum import place_best
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.telling import Made
from pedalsetter.analysis.planning.weights import Weights
from pedalsetter.analysis.planning.windows import (
    Line,
    Track,
    Window,
    find_windows,
    lay_tracks,
    stands_already,
)

__all__ = ["Attempt", "PlaceFoot", "Placer"]

PlaceFoot = Callable[[Sequence[Window], Prices], Schedule]
"""Places one foot's changes along one line."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """One way to answer the demands, with every change in its place."""

    demands: Demands
    settings: list[dict[Letter, Position]]
    """At each junction."""
    made: list[Made]
    failed: list[Window]
    """Changes for which no moment is left."""
    failed_at: list[tuple[Letter, Place, Place]]
    """For each of them its letter, and the places between which it would have to be made."""
    schedules: list[tuple[int, Schedule]]
    """Each foot's changes along a stretch, with the index of the stretch."""
    bill: Bill
    proved: bool
    """No other plan is cheaper."""
    bounded: bool = False
    """It is known what no plan can cost less than."""


@dataclass(frozen=True, slots=True)
class Placer:
    """Places the changes of a part; everything but the strings is given."""

    part: HarpPart
    moments: Moments
    clock: Clock
    route: Route
    lines: Sequence[Line]
    signatures: Mapping[int, Setting]
    feet: Sequence[tuple[Letter, ...]]
    weights: Weights
    place_foot: PlaceFoot

    def place(self, demands: Demands, fixed: Mapping[int, Mapping[Letter, Position]]) -> Attempt:
        """Choose the settings at the junctions that are not ``fixed``, and place every change."""
        route = self.route
        settings: list[dict[Letter, Position]] = [{} for _ in range(route.junctions)]
        made: list[Made] = []
        schedules: list[tuple[int, Schedule]] = []
        failed: list[Window] = []
        failed_at: list[tuple[Letter, Place, Place]] = []
        bill, all_proved = Bill(), True
        bill.add_strings(demands, self.weights)
        tracks = [lay_tracks(line, demands) for line in self.lines]
        priced = [self.prices(line, demands) for line in self.lines]
        teams = [_Team(self, letters, tracks, priced) for letters in self.feet]
        apart: list[dict[Letter, Position]] | None = None
        if self.weights.crossed is not None:
            apart = [{} for _ in range(route.junctions)]
            for team in teams:
                team.choose(fixed, None, apart)
            teams = [_Team(self, LETTERS, tracks, priced)]
        for team in teams:
            stands, proved = team.choose(fixed, apart, settings)
            all_proved = all_proved and proved
            for index, stretch in enumerate(route.stretches):
                leave = None if stretch.exit in route.ends else stands[stretch.exit]
                for chosen in team.schedule(index, stands[stretch.entry], leave):
                    bill.add_schedule(chosen, priced[index])
                    failed += chosen.failed
                    failed_at += [self._span(index, window) for window in chosen.failed]
                    schedules.append((index, chosen))
                    made += self._made(chosen, priced[index])
        made.sort(key=lambda one: (one.place, one.window.letter.index))
        return Attempt(demands, settings, made, failed, failed_at, schedules, bill, all_proved)

    def _made(self, chosen: Schedule, prices: Prices) -> Iterator[Made]:
        """The changes of one foot along one line, at their places on the page."""
        for turn in turns_taken(chosen, prices):
            for window in turn.windows:
                one = self.on_page(prices, window, turn.place, turn.later)
                other = next((it.letter for it in turn.windows if it is not window), None)
                yield replace(one, together=other)

    def prices(self, line: Line, demands: Demands) -> Prices:
        """The prices along a line."""
        sounding = [
            any(need.notes for need in demands.needs[moment].values()) for moment in line.moments
        ]
        return Prices(line, self.moments, demands.frozen, sounding, self.weights)

    def on_page(self, prices: Prices, window: Window, place: int, later: int) -> Made:
        """Find the printed place of a change that ``later`` others of its foot share."""
        places = self.moments.places
        line = prices.line
        needed = None
        if window.need is not None and window.need.notes:
            needed = places[line.moments[window.goal]]
        after: Place | None = None
        halves = later + 1
        if place < len(line.moments):
            after, halves = places[line.moments[place]], later
            if not later:
                time = self.moments.microseconds[line.moments[place]]
                return Made(window, after, time, needed)
        before = places[line.moments[place - 1]]
        bar = self.part.bars[before.bar]
        limit = after.offset if after is not None and after.bar == before.bar else bar.length
        offset = before.offset + (limit - before.offset) / 2**halves
        return Made(
            window, Place(before.bar, offset), self.clock.microseconds(bar.start + offset), needed
        )

    def _span(self, index: int, window: Window) -> tuple[Letter, Place, Place]:
        """The places between which a change would have to be made."""
        moments = self.lines[index].moments
        ends = (min(place, len(moments) - 1) for place in (max(0, window.first - 1), window.last))
        first, last = (self.moments.places[moments[place]] for place in ends)
        return window.letter, min(first, last), max(first, last)

    def schedules(
        self, windows: Sequence[Window], prices: Prices, letters: Sequence[Letter]
    ) -> tuple[Schedule, ...]:
        """The schedule of one foot's changes, or one for each foot if they are of both."""
        if letters is not LETTERS:
            return (self.place_foot(windows, prices),)
        if self.place_foot is place_best:
            return place_across(windows, prices, self.feet)
        return tuple(
            self.place_foot([one for one in windows if one.letter in own], prices)
            for own in self.feet
        )


class _Team:
    """Letters that are placed together: those of one foot, or all where a foot may cross."""

    def __init__(
        self,
        placer: Placer,
        letters: tuple[Letter, ...],
        tracks: Sequence[Mapping[Letter, Track]],
        priced: Sequence[Prices],
    ) -> None:
        self._placer = placer
        self._letters = letters
        self._tracks = tracks
        self._priced = priced
        self._known: dict[tuple[int, Stand, Stand | None], tuple[Schedule, ...]] = {}

    def choose(
        self,
        fixed: Mapping[int, Mapping[Letter, Position]],
        apart: Sequence[Mapping[Letter, Position]] | None,
        settings: Sequence[dict[Letter, Position]],
    ) -> tuple[list[Stand], bool]:
        """The stands at the junctions, and whether they are proved; ``settings`` gain them."""
        placer = self._placer
        stands, proved = choose_stands(
            self._letters,
            placer.route,
            self._tracks,
            placer.signatures,
            self._price,
            fixed,
            apart,
        )
        for setting, stand in zip(settings, stands, strict=True):
            setting.update(zip(self._letters, stand, strict=True))
        return stands, proved

    def schedule(self, index: int, entry: Stand, leave: Stand | None) -> tuple[Schedule, ...]:
        """The changes along one stretch between two stands, by foot."""
        key = (index, entry, leave)
        if key not in self._known:
            self._known[key] = self._scheduled(index, entry, leave)
        return self._known[key]

    def _scheduled(self, index: int, entry: Stand, leave: Stand | None) -> tuple[Schedule, ...]:
        placer, tracks = self._placer, self._tracks[index]
        windows = [
            window
            for letter, begin, end in zip(self._letters, entry, leave or entry, strict=True)
            for window in find_windows(
                letter,
                tracks[letter],
                placer.lines[index],
                placer.moments,
                begin,
                end if leave is not None else None,
            )
        ]
        stuck = {
            letter
            for letter, begin in zip(self._letters, entry, strict=True)
            if stands_already(tracks[letter], begin)
        }
        if stuck:
            wrong = tuple(one for one in windows if one.letter in stuck)[:1]
            return (Schedule((), wrong),)
        return placer.schedules(windows, self._priced[index], self._letters)

    def _price(self, index: int, entry: Stand, leave: Stand | None) -> int:
        points = Bill()
        failed = 0
        for chosen in self.schedule(index, entry, leave):
            points.add_schedule(chosen, self._priced[index])
            failed += len(chosen.failed)
        return points.total + failed * self._placer.weights.lost
