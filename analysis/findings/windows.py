"""A few bars of a part as a part of their own, with the settings at their borders kept.

A plan of the window and what the whole plan has outside it make a plan of the whole part. So what
is found in the window can be had, and the whole may be planned better still. The borders are kept
by two chords that strike all seven letters, one before the window and one after it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.part import (
    Bar,
    Event,
    HarpPart,
    Head,
    NotatedLength,
    Place,
    SourceMark,
    TimeSignature,
)
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.playing.clock import Clock
from pedalsetter.analysis.playing.glissandi import find_glissandi
from pedalsetter.analysis.playing.moments import number_graces
from pedalsetter.analysis.playing.playing_order import playing_order
from pedalsetter.analysis.playing.sustained import Keys

__all__ = ["Window", "Windows"]

_BORDER = Fraction(4)
"""Quarters of a bar that holds nothing but the chord of a border."""

_ONE_BEAT = TimeSignature((((1,), 1),))


@dataclass(frozen=True, slots=True)
class Window:
    """Some bars of a part, ready to be planned alone."""

    part: HarpPart
    first: int
    """Index in the whole part of its first real bar …"""
    last: int
    """… and of its last."""
    lead: int
    """1 where a border stands before the first real bar, else 0."""
    everything: bool = False
    """It is the whole part, with its repeats and jumps."""

    def holds(self, place: Place) -> bool:
        """Whether a place of the window's own part is in its real bars."""
        return self.lead <= place.bar <= self.last - self.first + self.lead

    def outside(self, place: Place) -> Place:
        """A place of the window's own part as a place of the whole part."""
        return replace(place, bar=place.bar + self.first - self.lead)


class Windows:
    """Cuts windows out of one planned part."""

    def __init__(self, part: HarpPart, plan: PedalPlan) -> None:
        self._part = part
        self._plan = plan
        order = playing_order(part)
        self._visits = Counter(visit.bar for visit in order.visits)
        self._joined = {
            (before, after) for before, after in order.transitions() if after == before + 1
        }
        ways_in = Counter(after for _, after in order.transitions())
        ways_out = Counter(before for before, _ in order.transitions())
        # A border of a window may not lie where several ways meet, so windows end there.
        self._breaks = {
            bar.index
            for bar in part.bars
            if (bar.index - 1, bar.index) not in self._joined
            or ways_in[bar.index] != 1
            or ways_out[bar.index - 1] != 1
        }
        by_bar: list[list[Event]] = [[] for _ in part.bars]
        for event in part.events:
            by_bar[event.bar].append(event)
        self._events = by_bar
        self._given = _given(part)
        clock = Clock(part)
        self._times = [clock.seconds(bar.start) for bar in part.bars]
        self._times.append(clock.seconds(part.length))

    def around(self, first: int, last: int, seconds: Fraction) -> tuple[int, int]:
        """These bars with so much time on both sides, as far as they hang together."""
        begin, end = self._times[first], self._times[last + 1]
        while first > 0 and first not in self._breaks and begin - self._times[first] < seconds:
            first -= 1
        while (
            last + 1 < len(self._part.bars)
            and last + 1 not in self._breaks
            and self._times[last + 1] - end < seconds
        ):
            last += 1
        return first, last

    def together(self, bar: int, first: int, last: int) -> tuple[int, int]:
        """Of these bars the ones that hang together with ``bar``: no repeat or jump between."""
        begin = end = bar
        while begin > first and begin not in self._breaks:
            begin -= 1
        while end < last and end + 1 not in self._breaks:
            end += 1
        return begin, end

    def everything(self) -> Window:
        """The whole part, its repeats and jumps as they are."""
        return Window(self._part, 0, len(self._part.bars) - 1, 0, everything=True)

    def cut(self, first: int, last: int) -> Window:
        """The window of these bars; they must hang together."""
        part, plan = self._part, self._plan
        begins = self._begins(first)
        ends = self._ends(last)
        shift = part.bars[first].start - (Fraction(0) if begins else _BORDER)
        lead = 0 if begins else 1
        bars: list[Bar] = []
        events: list[Event] = []
        if not begins:
            # Inside a stretch the changes at the barline belong to what was before.
            grace = 0 if first not in self._breaks else -_BEFORE_ALL_GRACES
            setting = plan.setting_at(Place(first, Fraction(0), grace))
            bars.append(_border(0, Fraction(0)))
            events.append(_chord("in", 0, Fraction(0), setting))
        for bar in part.bars[first : last + 1]:
            index = bar.index - first + lead
            bars.append(
                replace(
                    bar,
                    index=index,
                    start=bar.start - shift,
                    movement=0,
                    repeat_start=False,
                    repeat_times=0,
                    ending=None,
                )
            )
            events += [
                replace(event, bar=index, onset=event.onset - shift)
                for event in self._events[bar.index]
            ]
        if not ends:
            start = part.bars[last].end - shift
            setting = plan.setting_at(Place(last, part.bars[last].length))
            bars.append(_border(len(bars), start))
            events.append(_chord("out", len(bars) - 1, start, setting))
        window = replace(
            part,
            bars=tuple(bars),
            events=tuple(events),
            directions=(),
            clefs=(),
            jumps=(),
            sections=tuple(
                replace(section, bar=section.bar - first + lead)
                for section in part.sections
                if first < section.bar <= last
            ),
            keys=tuple(replace(key, onset=key.onset - shift) for key in part.keys),
            tempi=tuple(replace(tempo, onset=tempo.onset - shift) for tempo in part.tempi),
            source_marks=tuple(
                replace(mark, bar=mark.bar - first + lead, onset=mark.onset - shift)
                for mark in (*part.source_marks, *self._given)
                if first <= mark.bar <= last
            ),
        )
        return Window(window, first, last, lead)

    def _begins(self, bar: int) -> bool:
        """Whether a movement begins here and nothing comes back to it: its opening is free."""
        bars = self._part.bars
        new = bar == 0 or bars[bar - 1].movement != bars[bar].movement
        return new and self._visits[bar] == 1

    def _ends(self, bar: int) -> bool:
        """Whether nothing is played after this bar."""
        bars = self._part.bars
        last = bar + 1 == len(bars) or bars[bar + 1].movement != bars[bar].movement
        return last and self._visits[bar] == 1


def _given(part: HarpPart) -> tuple[SourceMark, ...]:
    """Each glissando's own diagram, where it has that of a run, which may begin before a window."""
    return tuple(
        SourceMark(
            f"given-{line.start.id}",
            line.start.bar,
            line.start.onset,
            line.start.staff,
            "diagram",
            tuple((letter.value, int(position)) for letter, position in line.given),
        )
        for line in find_glissandi(part, Keys(part), number_graces(part))
        if line.given is not None
    )


_BEFORE_ALL_GRACES = 1_000


def _border(index: int, start: Fraction) -> Bar:
    return Bar(index, "", start, _BORDER, _ONE_BEAT)


def _chord(name: str, bar: int, onset: Fraction, setting: Setting) -> Event:
    """All seven letters at once, as they stand."""
    heads = tuple(
        Head(f"border-{name}-{letter.value}", _pitch(letter, position))
        for letter, position in setting
    )
    return Event(f"border-{name}", bar, onset, Fraction(1), 1, "border", NotatedLength(2), heads)


def _pitch(letter: Letter, position: Position) -> Pitch:
    return Pitch(letter, int(position), 4)
