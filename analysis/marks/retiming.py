"""Changes moved to where a house style wants their letters, as far as the notes allow.

A letter stands where the foot moves, so to print it elsewhere is to move the pedal elsewhere: what
comes out is a plan of its own, and every mark made from it can be proved like any other. A change
stays inside its *stretch* (bars played one after the other on every pass), after the last note that
needs the old position, before or at the first that needs the new one, off glissandi, and in its
order among the moves of its foot. Where the wished moment is not free, the next best one is taken,
at last the planned one. What the musician has decided stays: a change with a place of its own, and
every change on its side of a place about which there is a decision.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Foot, Letter
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Change, PedalPlan
from pedalsetter.analysis.planning.junctions import find_route
from pedalsetter.analysis.playing.clock import Clock
from pedalsetter.analysis.playing.glissandi import find_glissandi, held_by
from pedalsetter.analysis.playing.moments import (
    GRACE_MICROSECONDS,
    Strength,
    find_moments,
    number_graces,
    place_of,
)
from pedalsetter.analysis.playing.playing_order import playing_order
from pedalsetter.analysis.playing.sustained import Keys, tied_ends

__all__ = ["COMFORTABLE_SECONDS", "QUIET_SECONDS", "Stand", "retimed"]

COMFORTABLE_SECONDS = Fraction(1, 2)
"""Between two moves of one foot (common practice, no source); less only where planned so."""

QUIET_SECONDS = Fraction(1)
"""From a strike in the old position to a move that is made earlier than planned, so that its
string does not buzz (common practice, no source); less only where planned so."""


class Stand(Enum):
    """Where the letter of a change stands."""

    PLANNED = "planned"
    """At the moment that the plan has chosen."""
    AT_NEED = "at-need"
    """At the note that needs the new position."""
    BEAT_BEFORE = "beat-before"
    """At the last beat before that note."""
    BARLINE_BEFORE = "barline-before"
    """At the last barline before that note."""


def retimed(part: HarpPart, plan: PedalPlan, stand: Stand) -> PedalPlan:
    """The plan with each change as near as may be to where ``stand`` wants its letter.

    What only prepares a repeat, or a note on the far side of a jump, stays where it was planned.
    Cost: linear in moments and changes, but for sorting.
    """
    if stand is Stand.PLANNED or not plan.changes:
        return plan
    timeline = _Timeline(part, plan)
    stretches: dict[int, list[Change]] = {}
    for change in plan.changes:
        stretches.setdefault(timeline.stretch_of[change.place.bar], []).append(change)
    changes = [
        change
        for of_stretch in stretches.values()
        for change in _Stretch(timeline, of_stretch).moved(stand)
    ]
    turn = {(one.place, one.letter): at for at, one in enumerate(plan.changes)}
    changes.sort(
        key=lambda one: (one.place, turn.get((one.place, one.letter), -1), one.letter.index)
    )
    if tuple(changes) == plan.changes:
        return plan
    return replace(plan, changes=tuple(changes), proved_optimal=False)


@dataclass(frozen=True, slots=True)
class _Moment:
    """A moment inside a stretch."""

    place: Place
    seconds: Fraction
    """From the beginning of the stretch."""
    strength: Strength
    sliding: frozenset[Letter]
    """Letters of which a glissando that is under way has strings to come: they do not move."""


class _Timeline:
    """Every stretch as moments in the order of playing."""

    def __init__(self, part: HarpPart, plan: PedalPlan) -> None:
        clock, graces = Clock(part), number_graces(part)
        moments = find_moments(part, clock, graces)
        sliding = held_by(find_glissandi(part, Keys(part), graces), part, moments, graces)
        self.stretch_of: dict[int, int] = {}
        self.moments: list[list[_Moment]] = []
        self.lengths: list[Fraction] = []
        self.order: dict[Place, int] = {}
        for number, stretch in enumerate(find_route(part, playing_order(part)).stretches):
            seconds = Fraction(0)
            here: list[_Moment] = []
            for index in stretch.bars:
                self.stretch_of[index] = number
                bar = part.bars[index]
                begin = clock.seconds(bar.start)
                for at in moments.of_bar(index):
                    place = moments.places[at]
                    passed = clock.seconds(bar.start + place.offset) - begin
                    early = Fraction(place.grace * GRACE_MICROSECONDS, 1_000_000)
                    self.order[place] = len(here)
                    here.append(
                        _Moment(
                            place,
                            max(seconds + passed + early, here[-1].seconds if here else seconds),
                            moments.strengths[at],
                            sliding.get(at, frozenset()),
                        )
                    )
                seconds += clock.seconds(bar.end) - begin
            self.moments.append(here)
            self.lengths.append(seconds)
        self.held = self._held(part, plan, graces)
        self.openings = {Place(one.first_bar, Fraction(0)) for one in plan.movements}
        """Where the opening is set: nothing that comes later moves there."""
        self.barriers: dict[int, list[int]] = {}
        for decision in plan.decisions:
            where = decision.place
            if where is not None and decision.diagram is None and where in self.order:
                self.barriers.setdefault(self.stretch_of[where.bar], []).append(self.order[where])

    def _held(
        self, part: HarpPart, plan: PedalPlan, graces: dict[str, int]
    ) -> dict[tuple[int, Letter], list[tuple[int, int]]]:
        """(stretch, letter) to (moment of the strike, first moment after the written end)."""
        ends, _ = tied_ends(part)
        found: dict[tuple[int, Letter], list[tuple[int, int]]] = {}
        for event, head in part.notes():
            use = plan.strings.get(head.id)
            if use is None or use.sounding is None or event.bar not in self.stretch_of:
                continue
            place = place_of(part, event, graces)
            stretch = self.stretch_of[event.bar]
            here = self.moments[stretch]
            begin = self.order.get(place)
            if begin is None:
                continue
            end = begin
            until = ends.get(head.id, event.end)
            while end < len(here) and part.onset_of(here[end].place) < until:
                if here[end].place.bar < event.bar:
                    break  # what follows here is printed earlier: the tie goes another way
                end += 1
            found.setdefault((stretch, use.sounding.letter), []).append((begin, end))
        return found


class _Stretch:
    """The changes of one stretch, in the order of playing."""

    def __init__(self, timeline: _Timeline, changes: Sequence[Change]) -> None:
        self.order = timeline.order
        self.number = timeline.stretch_of[changes[0].place.bar]
        self.stretch_of = timeline.stretch_of
        self.moments = timeline.moments[self.number]
        self.length = timeline.lengths[self.number]
        self.held = timeline.held
        self.barriers = timeline.barriers.get(self.number, ())
        self.openings = timeline.openings
        self.changes = sorted(
            (change for change in changes if change.place in self.order),
            key=lambda change: self.order[change.place],
        )
        self.fixed = [change for change in changes if change.place not in self.order]
        self.now = [self.order[change.place] for change in self.changes]
        self.sooner = self._turns()
        self.made_at = Counter((one.place, one.foot) for one in self.changes)
        """How many changes each foot makes at each place."""

    def _turns(self) -> list[Fraction]:
        """How many seconds before its place each change is made.

        Only where one foot makes several, that is, with the diagram of a section.
        """
        found = [Fraction(0)] * len(self.changes)
        following: dict[tuple[Place, Foot], tuple[int, Change]] = {}
        for index in reversed(range(len(self.changes))):
            change = self.changes[index]
            key = (change.place, change.foot)
            if change.together is None and key in following:
                after, one = following[key]
                found[index] = found[after] + (one.seconds_since_same_foot or 0)
            following[key] = (index, change)
        return found

    def moved(self, stand: Stand) -> list[Change]:
        """The changes where they stand now; the last is moved first, so that others may follow."""
        for index in reversed(range(len(self.changes))):
            change = self.changes[index]
            # Two pedals at once stay together, and a crossing where the other foot is free for it.
            if change.decided or change.together is not None or change.crossed:
                continue
            if self.made_at[change.place, change.foot] > 1:
                # Read in the diagram there.
                continue
            for wished in self._wished(self.changes[index], self.now[index], stand):
                if self._is_free(index, wished):
                    self.now[index] = wished
                    break
        return [*self.fixed, *(self._told(index) for index in range(len(self.changes)))]

    def _wished(self, change: Change, planned: int, stand: Stand) -> Iterator[int]:
        """Moments from the best wish to the planned one."""
        need = self._need(change, planned)
        if need is None:
            return
        if stand is Stand.AT_NEED:
            # Where the note itself is not free, the nearest moment before it is.
            yield from (at for at in range(need, planned, -1))
            return
        least = Strength.BARLINE if stand is Stand.BARLINE_BEFORE else Strength.BEAT
        good = [at for at in range(need) if self.moments[at].strength <= least]
        if good:
            yield good[-1]
        if stand is Stand.BARLINE_BEFORE:
            yield from self._wished(change, planned, Stand.BEAT_BEFORE)

    def _need(self, change: Change, planned: int) -> int | None:
        """The moment that needs the change, if it comes after it in this stretch."""
        place = change.needed
        if place is None or self.stretch_of.get(place.bar) != self.number:
            return None
        at = self.order.get(place)
        return at if at is not None and at >= planned else None

    def _is_free(self, index: int, wished: int) -> bool:
        """Whether a change may move at a moment."""
        change, planned = self.changes[index], self.now[index]
        if wished == planned:
            return True
        if (
            change.letter in self.moments[wished].sliding
            or self.moments[wished].place in self.openings
        ):
            return False
        if any((planned <= at) != (wished <= at) for at in self.barriers):
            return False
        seconds = self.moments[wished].seconds
        if not self._old_is_done(change, planned, wished):
            return False
        for other in range(len(self.changes)):
            one = self.changes[other]
            if other == index or (one.foot is not change.foot and one.letter is not change.letter):
                continue
            then = self.moments[self.now[other]].seconds - self.sooner[other]
            between = abs(then - seconds)
            was = abs(then - self.moments[planned].seconds)
            ordered = (self.now[other] < planned) == (self.now[other] < wished)
            if not ordered or self.now[other] == wished:
                return False
            if between < (was if one.crossed else min(was, COMFORTABLE_SECONDS)):
                return False
        return self._fits_the_ends(index, seconds)

    def _old_is_done(self, change: Change, planned: int, wished: int) -> bool:
        """Whether nothing between needs the old position, and its strings are not disturbed."""
        need = self._need(change, planned)
        if need is not None and wished > need:
            return False
        if wished > planned:
            return True
        place = change.free_since
        since = -1
        if place is not None and self.stretch_of.get(place.bar) == self.number:
            at = self.order.get(place, planned)
            since = at if at < planned else -1
        if wished <= since:
            return False
        earlier = self.moments[planned].seconds - self.moments[wished].seconds
        free = change.seconds_free
        if free is not None and free - earlier < min(free, QUIET_SECONDS):
            return False
        return not any(
            begin < planned and begin <= wished < end
            for begin, end in self.held.get((self.number, change.letter), ())
        )

    def _fits_the_ends(self, index: int, seconds: Fraction) -> bool:
        """Whether the foot has time for its moves before and after the stretch."""
        change = self.changes[index]
        planned = self.moments[self.now[index]].seconds
        gap = change.seconds_since_same_foot
        mine = [at for at, one in enumerate(self.changes) if one.foot is change.foot]
        if seconds < planned and index == mine[0] and gap is not None:
            return gap - (planned - seconds) >= min(gap, COMFORTABLE_SECONDS)
        if seconds > planned and index == mine[-1]:
            return self.length - seconds >= min(self.length - planned, COMFORTABLE_SECONDS)
        return True

    def _told(self, index: int) -> Change:
        """A change with its new place, and its seconds counted anew."""
        change = self.changes[index]
        moment = self.moments[self.now[index]]
        planned = self.moments[self.order[change.place]]
        if moment.place == change.place and not self._moved_before(index):
            return change
        later = moment.seconds - planned.seconds
        free, since = change.seconds_free, change.seconds_since_same_foot
        before = self._before(index)
        if since is not None:
            since += later
            if before is not None:
                since = moment.seconds - self.sooner[index]
                since -= self.moments[self.now[before]].seconds - self.sooner[before]
        return replace(
            change,
            place=moment.place,
            seconds_free=None if free is None else free + later,
            seconds_since_same_foot=since,
            why=_why(change, moment.place),
            elsewhere=(),
        )

    def _before(self, index: int) -> int | None:
        """The move of the same foot before this one in the stretch."""
        foot: Foot = self.changes[index].foot
        return next(
            (at for at in range(index - 1, -1, -1) if self.changes[at].foot is foot),
            None,
        )

    def _moved_before(self, index: int) -> bool:
        before = self._before(index)
        return before is not None and self.now[before] != self.order[self.changes[before].place]


def _why(change: Change, place: Place) -> str:
    """The plan's sentence up to its seconds, which are no longer those of this place."""
    if place == change.place:
        return change.why
    return change.why.split("; ")[0].rstrip(".") + "; the house style has moved its letter here."
