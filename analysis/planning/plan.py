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
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.clock import Clock
from pedalsetter.analysis.planning.collector import idle_collector
from pedalsetter.analysis.planning.demands import read_demands
from pedalsetter.analysis.planning.equivalents import Trial, better_answers
from pedalsetter.analysis.planning.feet import place_quickly
from pedalsetter.analysis.planning.junction_settings import homes, letters_of
from pedalsetter.analysis.planning.junctions import find_route
from pedalsetter.analysis.planning.letter_bound import INFINITE
from pedalsetter.analysis.planning.moments import find_moments, number_graces
from pedalsetter.analysis.planning.optimum import place_best
from pedalsetter.analysis.planning.pins import Pins, policy, read_claims, weights_under
from pedalsetter.analysis.planning.placing import Attempt, PlaceFoot, Placer
from pedalsetter.analysis.planning.playing_order import playing_order
from pedalsetter.analysis.planning.proof import nothing_pays
from pedalsetter.analysis.planning.sentences import decision_refused
from pedalsetter.analysis.planning.strikes import read_strikes
from pedalsetter.analysis.planning.string_search import (
    BOTH_EFFORT,
    FIRST_EFFORT,
    LAST_EFFORT,
    Effort,
    Whole,
    best_strings,
)
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
        self._freer = weights.crossed is not None or weights.two_pedals is not None
        """A foot may do more than move its own pedals one by one."""
        self._part = part
        self._harp = harp
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
        self._base = self._pins = policy(decisions).with_claims(crossing)
        self._feet = [letters_of(foot, self._base.crossed) for foot in Foot]
        asked = {place for claim in self._claims for place, _, _ in claim.stands}
        if not asked <= set(self._moments.places):
            self._moments = find_moments(part, self._clock, self._graces, asked)
        self._strikes = read_strikes(part, harp, self._moments, self._clock, self._graces)
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
        self._homes = homes(self._route, signatures)
        self._placer = Placer(
            part,
            self._moments,
            self._clock,
            self._route,
            self._lines,
            signatures,
            self._feet,
            weights,
            place_foot,
        )
        self._tell = Teller(part, self._graces, weights, self._base.crossed)
        self._held: dict[int, Answer] = {}
        """By moment how what is trilled or slid there is answered, where that is not left to it."""

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
            self._pins = self._base.with_claims(self._claims)

    def _settled(self, lost: dict[str, str]) -> Attempt:
        """The best attempt; ``lost`` gains the notes for whose pedals no moment is left."""
        while True:
            attempt = self._playable(lost)
            if self._respell and not attempt.failed:
                attempt = self._respelled(lost, attempt)
                if attempt.proved and (lost or self._held_may_pay(attempt)):
                    attempt = replace(attempt, proved=False)
            found = self._without_time(attempt.failed)
            if not found.keys() - lost.keys():
                return attempt
            lost.update(found)

    def _held_may_pay(self, attempt: Attempt) -> bool:
        """Whether other strings for what is trilled or slid, which nobody weighs, could pay."""
        bill = attempt.bill
        spare = bill.total if attempt.demands.cramped else bill.played
        for chord, answer in attempt.demands.held.values():
            now = chord.respelled(answer)
            for other in chord.answers(chord.lost(answer)):
                dearer = max(0, chord.respelled(other) - now) * self._weights.respelled
                if other != answer and dearer < spare:
                    return True
        return False

    def _accept(self) -> dict[str, str]:
        """Keep the decisions that hold; return the notes that are lost without any of them."""
        lost: dict[str, str] = {}
        if not any(claim.stands or claim.barred or claim.opening for claim in self._claims):
            return lost
        attempt = self._playable(lost)
        while found := {
            note: why
            for note, why in self._without_time(attempt.failed).items()
            if note not in lost
        }:
            lost |= found
            attempt = self._playable(lost)

        def tried(pins: Pins) -> Attempt:
            self._pins = pins
            return self._playable(lost)

        self._claims, refused = accept(self._part, self._claims, self._base, attempt, tried)
        self._refused += refused
        self._pins = self._base.with_claims(self._claims)
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

    def _playable(self, lost: Mapping[str, str]) -> Attempt:
        """The attempt as written, or, where pedals find no moment so, on strings that leave one.

        They may find none on other strings either. Where a pedal is decided to move to where it
        stands, no note is respelled only to move it away before.
        """
        self._held = {}
        attempt = self._attempt(lost, {})
        if not self._respell:
            return attempt
        if attempt.demands.cramped:
            attempt = self._uncramped(lost, attempt)
        idle = any(window.old is window.new for window in attempt.failed)
        if attempt.failed and not idle:
            attempt = self._exactly(lost, attempt, FIRST_EFFORT)
        return attempt

    def _uncramped(self, lost: Mapping[str, str], attempt: Attempt) -> Attempt:
        """Other strings for what is trilled or slid, where others' notes then have one too."""
        tries = _MOST_HELD
        silent = dict(attempt.demands.cramped)
        while silent and tries:
            _, begun = silent.popitem()
            for moment in sorted(begun & attempt.demands.held.keys()):
                chord, now = attempt.demands.held[moment]
                for other in chord.others(now)[:tries]:
                    tries -= 1
                    before, self._held = self._held, {**self._held, moment: other}
                    found = self._attempt(lost, {})
                    if _silenced(found) < _silenced(attempt):
                        attempt, silent = found, dict(found.demands.cramped)
                    else:
                        self._held = before
        return attempt

    def _attempt(
        self,
        lost: Mapping[str, str],
        answers: Mapping[int, Answer],
        stands: Mapping[int, Mapping[Letter, Position]] | None = None,
    ) -> Attempt:
        """Read the demands and place every change, some moments answered as prescribed."""
        demands = read_demands(
            self._part,
            self._harp,
            self._moments,
            self._clock,
            self._graces,
            lost,
            {**self._held, **answers},
            self._pins,
            self._strikes,
        )
        return self._placer.place(demands, {**self._fixed, **(stands or {})})

    def _respelled(self, lost: Mapping[str, str], attempt: Attempt) -> Attempt:
        """The attempt with the best strings, or with better ones where the best are not found."""
        demands = attempt.demands
        decided = self._fixed or self._pins.stands
        only = self._route.stretches[0]
        straight = only.entry in self._afresh and only.exit in self._route.ends
        plain = len(self._lines) == 1 and straight and not decided and not self._freer
        if plain and attempt.proved:
            trial = Trial(
                self._lines[0], self._placer.prices(self._lines[0], demands), None, None, self._feet
            )
            if nothing_pays(trial, demands, self._moments):
                return attempt
        attempt = self._exactly(lost, attempt, FIRST_EFFORT)
        if attempt.proved:
            return attempt
        # A better plan to begin with leaves less to be looked for.
        attempt = self._exactly(lost, self._improved(lost, attempt), LAST_EFFORT)
        if attempt.proved or not attempt.bounded or self._weights.crossed is None:
            return attempt
        # The feet one by one leave open what a crossing foot misses on its own side.
        return self._exactly(lost, attempt, BOTH_EFFORT, together=True)

    def _exactly(
        self,
        lost: Mapping[str, str],
        attempt: Attempt,
        effort: Effort,
        *,
        together: bool = False,
    ) -> Attempt:
        """The attempt with the best strings of all, where they are found and proved in time."""
        demands = attempt.demands
        whole = Whole(
            self._route,
            self._lines,
            [self._placer.prices(line, demands) for line in self._lines],
            demands,
            self._moments,
            [LETTERS] if together else self._feet,
            self._homes,
            self._fixed,
            {node for node in self._afresh if not self._fixed.get(node)},
            attempt.bill.terms["respelled"],
            INFINITE if attempt.failed else attempt.bill.played,
            self._feet,
        )
        best = best_strings(whole, effort)
        attempt = self._if_better(lost, attempt, best.answers)
        dearer = best.least is not None and attempt.bill.played > best.least
        if self._freer and best.stands and dearer:
            # What the feet may do besides can want settings that the notes do not ask for.
            attempt = self._if_better(lost, attempt, best.answers, best.stands)
        proved = attempt.bill.played == best.least and not attempt.failed
        return replace(attempt, proved=proved, bounded=best.least is not None)

    def _if_better(
        self,
        lost: Mapping[str, str],
        attempt: Attempt,
        answers: Mapping[int, Answer],
        stands: Mapping[int, Mapping[Letter, Position]] | None = None,
    ) -> Attempt:
        """The attempt with some moments answered otherwise, if that costs less or can be done.

        ``stands`` are positions at junctions, if they are not to be chosen.
        """
        now = {moment: answer for moment, (_, answer) in attempt.demands.chords.items()}
        if stands is None and all(now[moment] == answer for moment, answer in answers.items()):
            return attempt
        other = self._attempt(lost, {**now, **answers}, stands)
        cheaper = attempt.failed or other.bill.total < attempt.bill.total
        return other if cheaper and not other.failed else attempt

    def _improved(self, lost: Mapping[str, str], attempt: Attempt) -> Attempt:
        """The attempt, improved step by step for as long as that lowers its cost."""
        while True:
            better: dict[int, Answer] = {}
            for index, stretch in enumerate(self._route.stretches):
                leave = attempt.settings[stretch.exit]
                trial = Trial(
                    self._lines[index],
                    self._placer.prices(self._lines[index], attempt.demands),
                    None if stretch.entry in self._afresh else attempt.settings[stretch.entry],
                    None if stretch.exit in self._route.ends else leave,
                    self._feet,
                )
                better |= better_answers(trial, attempt.demands, self._moments)
            improved = self._if_better(lost, attempt, better)
            if improved is attempt:
                return attempt
            attempt = improved
            if len(self._route.stretches) == 1:
                # No setting at a junction has changed that could open new ways.
                return attempt

    @property
    def _fixed(self) -> dict[int, Mapping[Letter, Position]]:
        """Positions at junctions that the musician has decided."""
        return {
            node: self._pins.openings[number]
            for number, _, node in self._route.openings
            if number in self._pins.openings
        }

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


_MOST_HELD = 24
"""How many other strings are tried for what is trilled or slid over notes that it silences."""

_NOWHERE = Place(0, Fraction(0))
"""Where findings are shown that have no place in the score."""


def _silenced(attempt: Attempt) -> tuple[int, int]:
    """Points of the notes that have no string, and how many pedals find no moment."""
    return attempt.bill.terms["lost"], len(attempt.failed)


def _refused(plan: PedalPlan) -> set[str]:
    return {one.told for one in plan.decisions if one.refused}


def _whole(setting: Mapping[Letter, Position]) -> Setting:
    return Setting(tuple(setting[letter] for letter in LETTERS))


def _by_place(finding: Finding) -> tuple[Place, int, str]:
    return finding.place, list(Severity).index(finding.severity), finding.what
