"""The plan, put together: from the part to every change, explained and timed.

The steps: unfold the playing order, find the moments, read the demands, search the best answers and
moves, and walk through the music once as it is played to tell how much time the feet really have.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.decisions.values import NO_DECISIONS, Decisions
from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Harp, Letter, Position, Setting
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import (
    Change,
    MovementPlan,
    PedalPlan,
)
from pedalsetter.analysis.planning.acceptance import accept, by_place, unhonoured, with_decisions
from pedalsetter.analysis.planning.alternatives import other_places
from pedalsetter.analysis.planning.attempt import Attempt, Source, attempt, printed
from pedalsetter.analysis.planning.claims import read_claims
from pedalsetter.analysis.planning.collector import idle_collector
from pedalsetter.analysis.planning.effort import QUICK, USUAL, Effort
from pedalsetter.analysis.planning.junctions import find_route
from pedalsetter.analysis.planning.pins import Pins, policy, weights_under
from pedalsetter.analysis.planning.telling import Made, Teller
from pedalsetter.analysis.planning.timing import Move, time_moves
from pedalsetter.analysis.planning.weights import Weights, less_free
from pedalsetter.analysis.planning.whys import remarks_elsewhere
from pedalsetter.analysis.playing.clock import Clock
from pedalsetter.analysis.playing.moments import find_moments, number_graces
from pedalsetter.analysis.playing.playing_order import playing_order
from pedalsetter.analysis.playing.strikes import read_strikes
from pedalsetter.analysis.playing.sustained import Keys

__all__ = ["plan_as_written", "plan_changes"]


def plan_changes(
    part: HarpPart,
    harp: Harp = Harp(),  # noqa: B008 - frozen
    weights: Weights = Weights(),  # noqa: B008 - frozen
    decisions: Decisions = NO_DECISIONS,
    *,
    effort: Effort = USUAL,
    elsewhere: bool = False,
) -> PedalPlan:
    """Return every movement of the feet for ``part``, with what cannot be played as findings.

    The plan is the cheapest under ``weights`` that is found with an ``effort``, whatever strings
    the notes are given; ``proved_optimal`` says whether no other costs less, and ``bound`` what
    none costs less than. It always comes out: a note that cannot sound has no string and a finding.
    An interruption (Ctrl-C) ends the search with the best plan so far, if there is one.

    ``decisions`` are the musician's: the plan is the cheapest of those that honour them. One that
    cannot hold, because it contradicts the notes or another before it, is left aside and told.
    With ``elsewhere`` each change also tells its other places and their prices.

    Where a foot may cross or move two pedals at once, and the plan is not proved, it is also made
    without that, so that a freedom never makes it dearer.

    Raises:
        DecisionsError: the times that were decided contradict each other.
    """
    planner = _Planner(part, harp, weights, decisions, respell=True)
    plan = planner.plan(effort, elsewhere=elsewhere)
    if plan.proved_optimal or planner.interrupted:
        return plan
    for fewer in less_free(weights_under(decisions, weights)):
        strict = replace(decisions, crossing=None, two_pedals=None)
        planner = _Planner(part, harp, fewer, strict, respell=True)
        other = planner.plan(effort, elsewhere=elsewhere)
        if other.cost < plan.cost and _refused(other) <= _refused(plan):
            plan = replace(other, proved_optimal=False, bound=min(plan.bound, other.cost))
    return plan


def plan_as_written(
    part: HarpPart,
    harp: Harp = Harp(),  # noqa: B008 - frozen
    weights: Weights = Weights(),  # noqa: B008 - frozen
    decisions: Decisions = NO_DECISIONS,
    *,
    effort: Effort = QUICK,
) -> PedalPlan:
    """Return a plan that takes the written letters, unless they clash at one moment.

    No other strings are weighed, so that it comes in a fraction of the time; for a part that is
    written as :func:`plan_changes` would have it played, the plan is the same.
    """
    return _Planner(part, harp, weights, decisions, respell=False).plan(effort)


class _Planner:
    def __init__(
        self,
        part: HarpPart,
        harp: Harp,
        weights: Weights,
        decisions: Decisions,
        *,
        respell: bool,
    ) -> None:
        weights = weights_under(decisions, weights)
        decisions = decisions.with_feet(
            crossing=weights.crossed is not None, two_pedals=weights.two_pedals is not None
        )
        self._part = part
        self._weights = weights
        self.interrupted = False
        self._clock = clock = Clock(part)
        self._order = playing_order(part)
        self._graces = number_graces(part)
        moments = find_moments(part, clock, self._graces)
        self._route = find_route(part, self._order)
        touching = [node for one in self._route.stretches for node in (one.entry, one.exit)]
        afresh = {node for _, _, node in self._route.openings if touching.count(node) == 1}
        self._claims, refused = read_claims(
            decisions,
            part,
            moments,
            self._graces,
            {number for number, _, node in self._route.openings if node in afresh},
        )
        self._refused = list(refused)
        self._read = {claim.told: claim for claim in self._claims}
        crossing = [claim for claim in self._claims if claim.crossed is not None]
        self._base = policy(decisions).with_claims(crossing)
        asked = {place for claim in self._claims for place, _, _ in claim.stands}
        if not asked <= set(moments.places):
            moments = find_moments(part, clock, self._graces, asked)
        self._moments = moments
        self._bar_times = [
            (clock.microseconds(bar.start), clock.microseconds(bar.end)) for bar in part.bars
        ]
        keys = Keys(part)
        if part.bars:
            self._source = Source(
                part,
                harp,
                weights,
                moments,
                clock,
                self._graces,
                read_strikes(part, harp, moments, clock, self._graces),
                self._route,
                afresh,
                {n: keys.setting(part.bars[bar].start) for n, bar, _ in self._route.openings},
                [end for _, end in self._bar_times],
                respell,
            )
        self._pins: Pins = self._base
        self._tell = Teller(part, self._graces, weights, self._base.crossed)

    @idle_collector()
    def plan(self, effort: Effort, *, elsewhere: bool = False) -> PedalPlan:
        if not self._part.bars:
            return PedalPlan((), (), {}, (), tempo_assumed=self._clock.assumed)
        self._accept()
        while True:
            found = self._attempt(self._source, self._pins, effort)
            plan = self._finish(found)
            wrong = unhonoured(self._part, self._claims, plan)
            if wrong is None:
                if self._claims or self._refused:
                    plan = with_decisions(self._part, plan, self._claims, self._refused, self._read)
                return self._elsewhere(plan, found) if elsewhere else plan
            claim, why = wrong
            self._refused.append(claim.refused(why))
            self._claims = tuple(one for one in self._claims if one is not claim)
            self._pins = self._base.with_claims(self._claims)

    def _attempt(self, source: Source, pins: Pins, effort: Effort) -> Attempt:
        """A plan; once one was interrupted, the others are made quickly."""
        found = attempt(source, pins, QUICK if self.interrupted else effort)
        self.interrupted = self.interrupted or found.interrupted
        return found

    def _accept(self) -> None:
        """Keep the decisions that hold."""
        if not any(claim.stands or claim.barred or claim.opening for claim in self._claims):
            return

        written = replace(self._source, respell=False)

        def tried(pins: Pins) -> Attempt:
            found = self._attempt(written, pins, USUAL)
            firm = found.demands.unmet or any(one.locked or one.stands for _, one in found.unmet)
            # No note is respelled only to free a pedal, or to move it away before it is to move.
            if not self._source.respell or firm or not (found.unmet or found.untimely):
                return found
            return self._attempt(self._source, pins, USUAL)

        floor = tried(self._base)
        self._claims, refused = accept(self._part, self._claims, self._base, floor, tried)
        self._refused += refused
        self._pins = self._base.with_claims(self._claims)

    def _elsewhere(self, plan: PedalPlan, found: Attempt) -> PedalPlan:
        """The plan, each change with its other places."""
        known: dict[tuple[Place, Letter], tuple[tuple[Place, Fraction], ...]] = {}
        at = {id(one.movement): one.place for one in found.made}
        for foot in (0, 1):
            own = sorted(
                (one for one in found.movements if one.foot == foot),
                key=lambda one: (one.place, -one.later),
            )
            for one, others in other_places(own, found.form, found.prices, self._weights):
                known[at[id(one)], one.letter] = tuple(
                    (
                        printed(self._source, found.form, place, 0, 0)[0],
                        Fraction(points, self._weights.change or 1),
                    )
                    for place, points in others
                )
        changes = tuple(
            replace(change, elsewhere=known.get((change.place, change.letter), ()))
            for change in plan.changes
        )
        return replace(plan, changes=changes)

    def _foot(self, made: Made) -> Foot:
        letter = made.movement.letter
        crossed = made.movement.crossed or letter in self._base.crossed
        return letter.foot.other if crossed else letter.foot

    def _finish(self, found: Attempt) -> PedalPlan:
        demands, made, bill = found.demands, found.made, found.bill
        travel = int(self._weights.crossing_seconds * 1_000_000)
        moves = [
            Move(
                one.place,
                one.movement.letter,
                self._foot(one),
                one.microseconds,
                one.together,
                travel if one.movement.crossed else 0,
            )
            for one in made
        ]
        timings = time_moves(self._order, self._moments, demands, moves, self._bar_times)
        changes = tuple(
            self._tell.change(one, timing) for one, timing in zip(made, timings, strict=True)
        )
        findings = list(demands.findings)
        times = self._moments.microseconds
        findings += remarks_elsewhere(demands, times, moves, self._weights)
        for change, timing in zip(changes, timings, strict=True):
            findings += self._tell.judge(change, timing)
        movements = tuple(
            MovementPlan(number, bar, _whole(found.settings[node]))
            for number, bar, node in self._route.openings
        )
        unit = self._weights.change or 1
        return PedalPlan(
            movements,
            changes,
            demands.strings,
            tuple(sorted(findings, key=by_place)),
            proved_optimal=found.proved and self._source.respell,
            cost=Fraction(bill.total, unit),
            cost_terms=tuple(
                (term, Fraction(points, unit)) for term, points in bill.terms.items() if points
            ),
            tempo_assumed=self._clock.assumed,
            entries=self._entries(found.settings, changes),
            neighbours=tuple(demands.neighbours),
            bound=Fraction(min(found.bound, bill.total) if self._source.respell else 0, unit),
        )

    def _entries(
        self, settings: Sequence[Mapping[Letter, Position]], changes: Sequence[Change]
    ) -> tuple[tuple[int, Setting], ...]:
        """Bars entered with another setting than the bar printed before them leaves."""
        by_bar: dict[int, list[Change]] = {}
        for change in changes:
            by_bar.setdefault(change.place.bar, []).append(change)
        enters: dict[int, Setting] = {}
        leaves: dict[int, Setting] = {}
        for stretch in self._route.stretches:
            setting = _whole(settings[stretch.entry])
            for bar in stretch.bars:
                enters[bar] = setting
                for change in by_bar.get(bar, ()):
                    setting = setting.moved(change.letter, change.new)
                leaves[bar] = setting
        opening = {bar for _, bar, _ in self._route.openings}
        return tuple(
            (bar, enters[bar])
            for bar in range(1, len(self._part.bars))
            if bar not in opening and enters[bar] != leaves[bar - 1]
        )


def _refused(plan: PedalPlan) -> set[str]:
    return {one.told for one in plan.decisions if one.refused}


def _whole(setting: Mapping[Letter, Position]) -> Setting:
    return Setting(tuple(setting[letter] for letter in LETTERS))
