"""The plan, put together: from the part to every change, explained and timed.

The steps: unfold the playing order, find the moments, read the demands, cut at junctions, find the
forced changes, give each its moment, and walk through the music once as it is played to tell how
much time the feet really have.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.decisions import NO_DECISIONS, Decisions
from pedalsetter.analysis.harp import LETTERS, Foot, Harp, Letter, Position, Setting
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import (
    Change,
    Finding,
    MovementPlan,
    PedalPlan,
    Severity,
)
from pedalsetter.analysis.planning.acceptance import accept, unhonoured
from pedalsetter.analysis.planning.alternatives import other_places
from pedalsetter.analysis.planning.choosing import Source, StringChoice
from pedalsetter.analysis.planning.clock import Clock
from pedalsetter.analysis.planning.collector import idle_collector
from pedalsetter.analysis.planning.feet import place_quickly
from pedalsetter.analysis.planning.junction_settings import homes, letters_of
from pedalsetter.analysis.planning.junctions import find_route
from pedalsetter.analysis.planning.moments import find_moments, number_graces
from pedalsetter.analysis.planning.optimum import place_best
from pedalsetter.analysis.planning.pins import Pins, policy, read_claims, weights_under
from pedalsetter.analysis.planning.placing import Attempt, PlaceFoot, Placer
from pedalsetter.analysis.planning.playing_order import playing_order
from pedalsetter.analysis.planning.sentences import decision_refused
from pedalsetter.analysis.planning.strikes import read_strikes
from pedalsetter.analysis.planning.sustained import Keys
from pedalsetter.analysis.planning.telling import Teller
from pedalsetter.analysis.planning.timing import Move, time_moves
from pedalsetter.analysis.planning.weights import Weights, less_free
from pedalsetter.analysis.planning.windows import (
    Window,
    lay_line,
)

__all__ = ["plan_as_written", "plan_changes", "plan_quickly"]


def plan_changes(
    part: HarpPart,
    harp: Harp = Harp(),  # noqa: B008 - frozen
    weights: Weights = Weights(),  # noqa: B008 - frozen
    decisions: Decisions = NO_DECISIONS,
    *,
    elsewhere: bool = False,
) -> PedalPlan:
    """Return every movement of the feet for ``part``, with what cannot be played as findings.

    The plan is the cheapest under ``weights`` for the strings that it gives the notes, and where
    ``proved_optimal`` says so, for all strings that the notes could have. It always comes out: a
    note that cannot sound has no string and a finding. Time grows evenly with the notes and the
    bars played.

    ``decisions`` are the musician's: the plan is the cheapest of those that honour them. One that
    cannot hold, because it contradicts the notes or another before it, is left aside and told.
    With ``elsewhere`` each change also tells its other places and their prices.

    Where a foot may cross or move two pedals at once, and the plan is not proved, it is also made
    without that, so that a freedom never makes it dearer.

    Raises:
        DecisionsError: the times that were decided contradict each other.
    """
    planner = _Planner(part, harp, weights, place_best, decisions, respell=True)
    plan = planner.plan(elsewhere=elsewhere)
    if plan.proved_optimal:
        return plan
    for fewer in less_free(weights_under(decisions, weights)):
        strict = replace(decisions, crossing=None, two_pedals=None)
        other = _Planner(part, harp, fewer, place_best, strict, respell=True).plan(
            elsewhere=elsewhere
        )
        if other.cost < plan.cost and _refused(other) <= _refused(plan):
            plan = replace(other, proved_optimal=False)
    return plan


def plan_as_written(
    part: HarpPart,
    harp: Harp = Harp(),  # noqa: B008 - frozen
    weights: Weights = Weights(),  # noqa: B008 - frozen
    decisions: Decisions = NO_DECISIONS,
) -> PedalPlan:
    """Return the cheapest plan that takes the written letters, unless they clash at one moment.

    No other strings are weighed, so that it comes in a fraction of the time; for a part that is
    written as :func:`plan_changes` would have it played, the plan is the same.
    """
    return _Planner(part, harp, weights, place_best, decisions, respell=False).plan()


def plan_quickly(
    part: HarpPart,
    harp: Harp = Harp(),  # noqa: B008 - frozen
    weights: Weights = Weights(),  # noqa: B008 - frozen
    decisions: Decisions = NO_DECISIONS,
) -> PedalPlan:
    """Return a correct plan, each change placed once: the upper bound of :func:`plan_changes`."""
    return _Planner(part, harp, weights, place_quickly, decisions, respell=False).plan()


class _Planner:
    def __init__(
        self,
        part: HarpPart,
        harp: Harp,
        weights: Weights,
        place_foot: PlaceFoot,
        decisions: Decisions,
        *,
        respell: bool,
    ) -> None:
        weights = weights_under(decisions, weights)
        decisions = decisions.with_feet(
            crossing=weights.crossed is not None, two_pedals=weights.two_pedals is not None
        )
        self._respell = respell
        self._part = part
        self._weights = weights
        self._clock = Clock(part)
        self._order = playing_order(part)
        self._graces = number_graces(part)
        self._moments = find_moments(part, self._clock, self._graces)
        self._route = find_route(part, self._order)
        touching = [node for one in self._route.stretches for node in (one.entry, one.exit)]
        self._afresh = {node for _, _, node in self._route.openings if touching.count(node) == 1}
        """Junctions at which pedals are set as the first notes want them."""
        self._claims, refused = read_claims(
            decisions,
            part,
            self._moments,
            self._graces,
            {number for number, _, node in self._route.openings if node in self._afresh},
        )
        self._refused = list(refused)
        crossing = [claim for claim in self._claims if claim.crossed is not None]
        self._base = policy(decisions).with_claims(crossing)
        feet = [letters_of(foot, self._base.crossed) for foot in Foot]
        asked = {place for claim in self._claims for place, _, _ in claim.stands}
        if not asked <= set(self._moments.places):
            self._moments = find_moments(part, self._clock, self._graces, asked)
        self._bar_times = [
            (self._clock.microseconds(bar.start), self._clock.microseconds(bar.end))
            for bar in part.bars
        ]
        ends = [end for _, end in self._bar_times]
        self._lines = [lay_line(stretch, self._moments, ends) for stretch in self._route.stretches]
        keys = Keys(part)
        signatures = {
            number: keys.setting(part.bars[bar].start) for number, bar, _ in self._route.openings
        }
        self._placer = Placer(
            part,
            self._moments,
            self._clock,
            self._route,
            self._lines,
            signatures,
            feet,
            weights,
            place_foot,
        )
        strikes = read_strikes(part, harp, self._moments, self._clock, self._graces)
        source = Source(part, harp, self._moments, self._clock, self._graces, strikes)
        home = homes(self._route, signatures)
        self._strings = StringChoice(source, self._placer, home, self._afresh, self._base, respell)
        self._tell = Teller(part, self._graces, weights, self._base.crossed)

    @idle_collector()
    def plan(self, *, elsewhere: bool = False) -> PedalPlan:
        if not self._part.bars:
            return PedalPlan((), (), {}, (), tempo_assumed=self._clock.assumed)
        lost = self._accept()
        while True:
            attempt = self._settled(lost)
            plan = self._finish(attempt)
            wrong = unhonoured(self._part, self._claims, plan)
            if wrong is None:
                plan = self._with_decisions(plan)
                return self._elsewhere(plan, attempt) if elsewhere else plan
            claim, why = wrong
            self._refused.append(claim.refused(why))
            self._claims = tuple(one for one in self._claims if one is not claim)
            self._strings.pins = self._base.with_claims(self._claims)

    def _settled(self, lost: dict[str, str]) -> Attempt:
        """The best attempt; ``lost`` gains the notes for whose pedals no moment is left."""
        while True:
            attempt = self._strings.best(lost)
            found = self._without_time(attempt.failed)
            if not found.keys() - lost.keys():
                return attempt
            lost.update(found)

    def _accept(self) -> dict[str, str]:
        """Keep the decisions that hold; return the notes that are lost without any of them."""
        lost: dict[str, str] = {}
        if not any(claim.stands or claim.barred or claim.opening for claim in self._claims):
            return lost
        attempt = self._strings.playable(lost)
        while found := {
            note: why
            for note, why in self._without_time(attempt.failed).items()
            if note not in lost
        }:
            lost |= found
            attempt = self._strings.playable(lost)

        def tried(pins: Pins) -> Attempt:
            self._strings.pins = pins
            return self._strings.playable(lost)

        self._claims, refused = accept(self._part, self._claims, self._base, attempt, tried)
        self._refused += refused
        self._strings.pins = self._base.with_claims(self._claims)
        return lost

    def _with_decisions(self, plan: PedalPlan) -> PedalPlan:
        if not (self._claims or self._refused):
            return plan
        findings = [
            decision_refused(one.told, one.place or _NOWHERE, one.refused) for one in self._refused
        ]
        results = [claim.result for claim in self._claims] + self._refused
        results.sort(key=lambda one: (one.place or _NOWHERE, one.told))
        return replace(
            plan,
            findings=tuple(sorted((*plan.findings, *findings), key=_by_place)),
            decisions=tuple(results),
        )

    def _elsewhere(self, plan: PedalPlan, attempt: Attempt) -> PedalPlan:
        """The plan, each change with its other places."""
        found: dict[tuple[Place, Letter], tuple[tuple[Place, Fraction], ...]] = {}
        at = {id(one.window): one.place for one in attempt.made}
        for index, schedule in attempt.schedules:
            prices = self._placer.prices(self._lines[index], attempt.demands)
            for window, others in other_places(schedule, prices):
                found[at[id(window)], window.letter] = tuple(
                    (
                        self._placer.on_page(prices, window, place, 0).place,
                        Fraction(points, self._weights.change or 1),
                    )
                    for place, points in others
                )
        changes = tuple(
            replace(change, elsewhere=found.get((change.place, change.letter), ()))
            for change in plan.changes
        )
        return replace(plan, changes=changes)

    def _foot(self, window: Window) -> Foot:
        foot = window.letter.foot
        return foot.other if window.crossed or window.letter in self._base.crossed else foot

    def _without_time(self, failed: Sequence[Window]) -> dict[str, str]:
        """Heads that must be left out because no moment remains for their pedal, with reasons."""
        lost: dict[str, str] = {}
        for window in failed:
            need = window.need or window.before
            if need is None:
                continue
            text = f"{window.letter.value}{window.new.sign}"
            foot = self._foot(window).value
            reason = f"no moment is left in which the {foot} foot could set {text}"
            if window.need is None:
                reason = f"after it no moment is left to set {text} again for the repeat"
            lost.update(dict.fromkeys(need.notes, reason))
        return lost

    def _finish(self, attempt: Attempt) -> PedalPlan:
        demands, made = attempt.demands, attempt.made
        settings, bill = attempt.settings, attempt.bill
        travel = int(self._weights.crossing_seconds * 1_000_000)
        moves = [
            Move(
                one.place,
                one.window.letter,
                self._foot(one.window),
                one.microseconds,
                one.together,
                travel if one.window.crossed else 0,
            )
            for one in made
        ]
        timings = time_moves(self._order, self._moments, demands, moves, self._bar_times)
        changes = tuple(
            self._tell.change(one, timing) for one, timing in zip(made, timings, strict=True)
        )
        findings = list(demands.findings)
        for change, timing in zip(changes, timings, strict=True):
            findings += self._tell.judge(change, timing)
        for window in attempt.failed:
            findings += self._tell.reentry(window)
        movements = tuple(
            MovementPlan(number, bar, _whole(settings[node]))
            for number, bar, node in self._route.openings
        )
        return PedalPlan(
            movements,
            changes,
            demands.strings,
            tuple(sorted(findings, key=_by_place)),
            proved_optimal=attempt.proved and self._respell,
            cost=Fraction(bill.total, self._weights.change or 1),
            cost_terms=tuple(
                (term, Fraction(points, self._weights.change or 1))
                for term, points in bill.terms.items()
                if points
            ),
            tempo_assumed=self._clock.assumed,
            entries=self._entries(settings, changes),
            neighbours=demands.neighbours,
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


_NOWHERE = Place(0, Fraction(0))
"""Where findings are shown that have no place in the score."""


def _refused(plan: PedalPlan) -> set[str]:
    return {one.told for one in plan.decisions if one.refused}


def _whole(setting: Mapping[Letter, Position]) -> Setting:
    return Setting(tuple(setting[letter] for letter in LETTERS))


def _by_place(finding: Finding) -> tuple[Place, int, str]:
    return finding.place, list(Severity).index(finding.severity), finding.what
