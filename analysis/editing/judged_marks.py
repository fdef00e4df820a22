"""What is hard about a page whose marks are not the plan's: told from these very marks.

The times between changes, and the notes that sound on under them, are those of the printed marks;
only what lies in the notes themselves (a letter in two positions, the compass) is the same whatever
is printed. Several pedals of one foot in one stack are made one after the other, before their place
where their notes are struck there, after it where they come later.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.findings import judge_playing
from pedalsetter.analysis.findings.edits import as_played
from pedalsetter.analysis.instrument.harp import Harp
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import (
    Change,
    Finding,
    FindingKind,
    PedalPlan,
    Severity,
    StringUse,
)
from pedalsetter.analysis.planning import Weights
from pedalsetter.analysis.planning.demands import Demands, read_demands
from pedalsetter.analysis.planning.sentences import Why, respelled_notes
from pedalsetter.analysis.planning.telling import Teller
from pedalsetter.analysis.planning.timing import Move, Timing, time_moves
from pedalsetter.analysis.playing.clock import Clock
from pedalsetter.analysis.playing.moments import Moments, find_moments, number_graces
from pedalsetter.analysis.playing.playing_order import playing_order

__all__ = ["with_own_judgement"]

_OF_THE_NOTES = frozenset(
    (
        FindingKind.TWO_POSITIONS,
        FindingKind.NO_SETTING,
        FindingKind.OUT_OF_RANGE,
        FindingKind.NO_PEDAL,
        FindingKind.GLISSANDO,
        FindingKind.DOUBLE_ALTERATION,
        FindingKind.DECISION,
        FindingKind.SHAREABLE,
    )
)
"""What is the same whatever is printed."""


def with_own_judgement(
    part: HarpPart, marked: PedalPlan, planned: PedalPlan, harp: Harp, weights: Weights
) -> PedalPlan:
    """A plan that was told anew from marks, with the times and the findings of these marks.

    ``planned`` is the plan that the strings of the notes came from, as far as the marks allow.
    Linear in the moments of the part but for what stands around each change.
    """
    judge = _Judge(part, marked, harp, weights)
    changes, timings = judge.timed()
    marked = replace(marked, changes=changes)
    found = [
        *_of_the_notes(planned, marked),
        *_respelled_by_marks(part, planned, marked),
        *(
            finding
            for change, timing in zip(changes, timings, strict=True)
            if timing is not None
            for finding in judge.teller.judge(change, timing)
        ),
    ]
    marked = replace(marked, findings=tuple(found))
    found += judge_playing(part, marked, harp)
    order = list(Severity)
    found.sort(key=lambda one: (one.place, order.index(one.severity), one.what))
    return replace(marked, findings=tuple(found))


def _same(one: StringUse | None, other: StringUse | None) -> bool:
    return one is not None and other is not None and one.sounding == other.sounding


def _of_the_notes(planned: PedalPlan, marked: PedalPlan) -> Iterator[Finding]:
    """The plan's findings that no mark changes; of remarks on strings those that still hold."""
    for finding in planned.findings:
        silent = any(
            note in marked.strings and marked.strings[note].sounding is None
            for note in finding.notes
        )
        strings = finding.severity is Severity.REMARK and finding.what.startswith("Play ")
        if strings:
            if all(
                _same(planned.strings.get(note), marked.strings.get(note)) for note in finding.notes
            ):
                yield finding
        elif finding.kind in _OF_THE_NOTES or (
            finding.kind is FindingKind.FOOT_TOO_FAST and finding.staff is not None and silent
        ):
            yield finding


def _respelled_by_marks(part: HarpPart, planned: PedalPlan, marked: PedalPlan) -> Iterator[Finding]:
    """Notes that the printed pedals give another string than the plan would."""
    for event, head in part.notes():
        use = marked.strings.get(head.id)
        if use is None or use.sounding is None or not use.respelled or abs(use.written.alter) == 2:
            continue
        if not _same(use, planned.strings.get(head.id)):
            told = (event.staff, head, use.written, use.sounding)
            yield respelled_notes(part.place_of(event), [told], Why.MARKED)


class _Judge:
    """The marks as movements of the feet, and the notes as they are played on their strings."""

    def __init__(self, part: HarpPart, plan: PedalPlan, harp: Harp, weights: Weights) -> None:
        self._plan, self._weights = plan, weights
        played = as_played(part, plan)
        self._clock = Clock(played)
        self._order = playing_order(played)
        graces = number_graces(played)
        self._moments: Moments = find_moments(
            played, self._clock, graces, {change.place for change in plan.changes}
        )
        silent = {note: "" for note, use in plan.strings.items() if use.sounding is None}
        self._demands: Demands = read_demands(
            played, harp, self._moments, self._clock, graces, silent
        )
        self._part = part
        self.teller = Teller(part, graces, weights)

    def timed(self) -> tuple[tuple[Change, ...], list[Timing | None]]:
        """The changes with their times, and the timing of each that moves anything."""
        changes = [self._with_need(change) for change in self._as_they_follow()]
        moving = [number for number, change in enumerate(changes) if change.old is not change.new]
        times = self._times([changes[number] for number in moving])
        moving.sort(key=lambda number: (changes[number].place, times[id(changes[number])]))
        moves = [
            Move(
                changes[number].place,
                changes[number].letter,
                changes[number].foot,
                times[id(changes[number])],
            )
            for number in moving
        ]
        bars = [
            (self._clock.microseconds(bar.start), self._clock.microseconds(bar.end))
            for bar in self._part.bars
        ]
        found = time_moves(self._order, self._moments, self._demands, moves, bars)
        timings: list[Timing | None] = [None] * len(changes)
        for number, timing in zip(moving, found, strict=True):
            timings[number] = timing
            changes[number] = replace(
                changes[number],
                why=self.teller.as_marked(changes[number], timing),
                free_since=timing.free_place,
                seconds_free=_seconds(timing.free),
                seconds_since_same_foot=_seconds(timing.same_foot),
                struck_on=timing.struck_on,
            )
        return tuple(changes), timings

    def _as_they_follow(self) -> list[Change]:
        """Each change with the position that the pedal comes from, as the marks have it."""
        openings = {each.first_bar: each.opening for each in self._plan.movements}
        standing = None
        bar = -1
        found = []
        for change in self._plan.changes:
            while bar < change.place.bar:
                bar += 1
                standing = openings.get(bar, standing)
            if standing is not None:
                change = replace(change, old=standing[change.letter])
                standing = standing.moved(change.letter, change.new)
            found.append(change)
        return found

    def _with_need(self, change: Change) -> Change:
        """The change with the first note after it that wants its letter, if as it then stands."""
        for moment in range(self._moments.index(change.place), len(self._moments.places)):
            need = self._demands.needs[moment].get(change.letter)
            if need is not None and need.notes:
                place = self._moments.places[moment]
                if need.position is change.new:
                    return replace(change, needed=place, needed_by=need.notes)
                break
        return replace(change, needed=None, needed_by=())

    def _times(self, changes: Sequence[Change]) -> Mapping[int, int]:
        """When each change is made, in microseconds on the page, by its identity."""
        step = int(self._weights.comfortable_seconds * 1_000_000)
        stacks: dict[tuple[Place, object], list[Change]] = {}
        for change in changes:
            stacks.setdefault((change.place, change.foot), []).append(change)
        times: dict[int, int] = {}
        for (place, _), stack in stacks.items():
            now = self._time(place)
            due = [(self._due(change, now), change) for change in stack]
            due.sort(key=lambda one: (one[0], one[1].letter.index))
            at_once = [change for time, change in due if time <= now]
            for number, change in enumerate(reversed(at_once)):
                times[id(change)] = now - number * step
            first = 1 if at_once else 0
            for number, (time, change) in enumerate(due[len(at_once) :], first):
                times[id(change)] = min(time, now + number * step)
        return times

    def _due(self, change: Change, now: int) -> int:
        """When a change must be made at the latest."""
        return now + 60_000_000 if change.needed is None else self._time(change.needed)

    def _time(self, place: Place) -> int:
        moment = self._moments.index(place)
        if moment < len(self._moments.places) and self._moments.places[moment] == place:
            return self._moments.microseconds[moment]
        return self._clock.microseconds(self._part.onset_of(place))


def _seconds(microseconds: int | None) -> Fraction | None:
    return None if microseconds is None else Fraction(microseconds, 1_000_000)
