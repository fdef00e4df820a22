"""What every parallel context must agree on: the run of bars, and the time that graces take."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from pedalsetter.analysis.part import (
    Bar,
    BarlineStyle,
    DirectionKind,
    Event,
    HarpPart,
    Place,
)
from pedalsetter.engrave.notation.escaping import comment

__all__ = [
    "BarUnit",
    "GraceGroup",
    "bar_comment",
    "bar_units",
    "grace_groups",
    "grace_length",
    "grace_skips",
    "is_trailing",
]


@dataclass(frozen=True, slots=True)
class BarUnit:
    """One bar, or a run of silent bars that is printed as one multi-bar rest."""

    first: int
    """Index of the first bar."""
    last: int
    """Index of the last bar, included."""
    start: Fraction
    """Quarters from the beginning of the score."""
    length: Fraction
    """Quarters of all its bars together."""
    gathered: bool
    """True for a run of at least two bars of rest."""

    @property
    def count(self) -> int:
        """How many bars it holds."""
        return self.last - self.first + 1


def bar_units(part: HarpPart, wanted_places: Iterable[Place] = ()) -> tuple[BarUnit, ...]:
    """Single bars, and runs of silent bars gathered into one multi-bar rest.

    A run begins anew at a bar that opens with anything printed (a mark, a sign, a change of key,
    clef or time, a section) and ends before or with a bar that has something printed inside or at
    its right barline. ``wanted_places`` are places where a mark of ours will stand.
    """
    silent = _silent_bars(part)
    opens, inside, closes = _printed(part, wanted_places)
    units: list[BarUnit] = []
    run: list[Bar] = []

    def flush() -> None:
        if run:
            units.append(
                BarUnit(
                    run[0].index,
                    run[-1].index,
                    run[0].start,
                    run[-1].end - run[0].start,
                    len(run) > 1,
                )
            )
            run.clear()

    for bar in part.bars:
        alone = bar.index not in silent or bar.index in inside
        if alone or bar.index in opens or (run and run[-1].length != bar.length):
            flush()
        run.append(bar)
        if alone or bar.index in closes:
            flush()
    flush()
    return tuple(units)


def bar_comment(part: HarpPart, unit: BarUnit) -> str:
    """Printed numbers of a unit, for the comment at the end of its line."""
    first = comment(part.printed_bar(unit.first))
    return f"{first}-{comment(part.printed_bar(unit.last))}" if unit.gathered else first


def _silent_bars(part: HarpPart) -> set[int]:
    by_bar: dict[int, list[Event]] = defaultdict(list)
    for event in part.events:
        by_bar[event.bar].append(event)
    silent = set()
    for bar in part.bars:
        events = by_bar[bar.index]
        whole = [event for event in events if event.visible and event.length == bar.length]
        plain = all(
            event.is_rest
            and not event.knocks
            and event.grace is None
            and not event.fermatas
            and not event.lyrics
            and not event.dynamics
            and (not event.visible or event.length == bar.length)
            for event in events
        )
        if plain and whole and bar.length == bar.time.length and not bar.inner_barlines:
            silent.add(bar.index)
    return silent


def _printed(part: HarpPart, wanted_places: Iterable[Place]) -> tuple[set[int], set[int], set[int]]:
    """Indices of bars that open with, hold, and close with something printed."""
    opens: set[int] = {section.bar for section in part.sections}
    inside: set[int] = set()
    closes: set[int] = set()
    at_start: list[tuple[int, Fraction]] = [
        (direction.bar, direction.onset)
        for direction in part.directions
        if direction.kind is not DirectionKind.JUMP_WORDS
    ]
    at_start += [(change.bar, change.onset) for change in part.clefs]
    at_start += [(change.bar, change.onset) for change in part.keys]
    at_start += [(mark.bar, mark.onset) for mark in part.source_marks]
    at_start += [(place.bar, part.onset_of(place)) for place in wanted_places]
    for index, onset in at_start:
        bar = part.bars[index]
        (opens if onset == bar.start else closes if onset == bar.end else inside).add(index)
    for direction in part.directions:
        if direction.kind is DirectionKind.JUMP_WORDS:
            closes.add(direction.bar)
    for before, bar in zip((None, *part.bars), part.bars, strict=False):
        if before is None or before.time != bar.time or before.movement != bar.movement:
            opens.add(bar.index)
        if bar.repeat_start or bar.left is not BarlineStyle.REGULAR or bar.new_page:
            opens.add(bar.index)
        if bar.ending is not None:
            opens.add(bar.index)
            closes.add(bar.index)
        if bar.repeat_times or bar.right is not BarlineStyle.REGULAR or bar.barline_fermatas:
            closes.add(bar.index)
    return opens, inside, closes


@dataclass(frozen=True, slots=True)
class GraceGroup:
    """The grace notes that one voice has at one moment, on one staff."""

    bar: int
    offset: Fraction
    """Quarters after the bar's left barline."""
    events: tuple[Event, ...]
    after: bool
    """They follow the note before them instead of leading to one."""

    @property
    def length(self) -> Fraction:
        """Their written length in quarters, which is their length in grace time."""
        return sum((grace_length(event) for event in self.events), Fraction(0))


def grace_length(event: Event) -> Fraction:
    """Written length of a grace note in quarters; an eighth where the source prints none."""
    length = event.notated.quarters if event.notated is not None else Fraction(1, 2)
    for group in event.tuplets:
        length *= Fraction(group.normal, group.actual)
    return length


def is_trailing(part: HarpPart, event: Event) -> bool:
    """Whether a grace note follows the note before it: it says so, or nothing comes behind it.

    At the left barline there is none to follow, so there it leads to the next note.
    """
    assert event.grace is not None  # noqa: S101
    bar = part.bars[event.bar]
    return (event.grace.after and event.onset > bar.start) or event.onset >= bar.end


def grace_groups(part: HarpPart) -> tuple[GraceGroup, ...]:
    """All grace notes, gathered by bar, moment, staff and voice."""
    groups: dict[tuple[int, Fraction, int, str, bool], list[Event]] = defaultdict(list)
    for event in part.events:
        if event.grace is not None:
            after = is_trailing(part, event)
            groups[event.bar, event.onset, event.staff, event.voice, after].append(event)
    return tuple(
        GraceGroup(bar, onset - part.bars[bar].start, tuple(events), after)
        for (bar, onset, _, _, after), events in groups.items()
    )


def grace_skips(part: HarpPart) -> Mapping[tuple[int, Fraction], Fraction]:
    """Grace time in quarters that every context must spend, by (bar index, offset in quarters).

    It is the longest group of graces that stands there before a note. LilyPond misplaces clefs,
    keys and barlines where contexts disagree about grace time.
    """
    skips: dict[tuple[int, Fraction], Fraction] = {}
    for group in grace_groups(part):
        if not group.after:
            key = (group.bar, group.offset)
            skips[key] = max(skips.get(key, Fraction(0)), group.length)
    return MappingProxyType(skips)
