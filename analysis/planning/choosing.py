"""Which strings sound the notes: the best of all, as far as they can be found and proved.

Every *attempt* answers the demands in one way and places every change for it. It begins as written;
where pedals find no moment so, or what is trilled silences other notes, other strings are tried.
Then the best strings of all are looked for, with more effort where little does not suffice.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from pedalsetter.analysis.harp import LETTERS, Harp, Letter, Position, Setting
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.clock import Clock
from pedalsetter.analysis.planning.demands import read_demands
from pedalsetter.analysis.planning.equivalents import Trial, better_answers
from pedalsetter.analysis.planning.letter_bound import INFINITE
from pedalsetter.analysis.planning.moments import Moments
from pedalsetter.analysis.planning.pins import Pins
from pedalsetter.analysis.planning.placing import Attempt, Placer
from pedalsetter.analysis.planning.proof import nothing_pays
from pedalsetter.analysis.planning.search_terms import (
    BOTH_EFFORT,
    FIRST_EFFORT,
    LAST_EFFORT,
    Effort,
    Whole,
)
from pedalsetter.analysis.planning.strikes import Strike
from pedalsetter.analysis.planning.string_search import best_strings
from pedalsetter.analysis.planning.weighed_trills import answered, weighed

__all__ = ["Source", "StringChoice"]

_MOST_HELD = 24
"""How many other strings are tried for what is trilled or slid over notes that it silences."""


@dataclass(frozen=True, slots=True)
class Source:
    """What the demands are read from."""

    part: HarpPart
    harp: Harp
    moments: Moments
    clock: Clock
    graces: Mapping[str, int]
    strikes: Mapping[int, list[Strike]]


class StringChoice:
    """The strings of a part, chosen around what is decided."""

    def __init__(
        self,
        source: Source,
        placer: Placer,
        home: Sequence[Setting],
        afresh: Collection[int],
        pins: Pins,
        respell: bool,
    ) -> None:
        """``home`` tells for each junction where letters without a need stand.

        At the junctions ``afresh`` the pedals are set as the first notes want them. Without
        ``respell`` notes take the written letters unless they clash at one moment.
        """
        self.pins = pins
        """What is decided, which may change from one attempt to the next."""
        self._source = source
        self._placer = placer
        self._home = home
        self._afresh = afresh
        self._respell = respell
        weights = placer.weights
        self._freer = weights.crossed is not None or weights.two_pedals is not None
        """A foot may do more than move its own pedals one by one."""
        self._held: dict[int, Answer] = {}
        """By moment how what is trilled or slid there is answered, where that is not left to it."""

    def best(self, lost: Mapping[str, str]) -> Attempt:
        """The best attempt, ``lost`` notes left out; its pedals may find no moment all the same."""
        attempt = self.playable(lost)
        if self._respell and not attempt.failed:
            attempt = self._respelled(lost, attempt)
            if attempt.proved and (lost or self._held_may_pay(attempt, searched=True)):
                attempt = replace(attempt, proved=False)
        return attempt

    def playable(self, lost: Mapping[str, str]) -> Attempt:
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
        source = self._source
        demands = read_demands(
            source.part,
            source.harp,
            source.moments,
            source.clock,
            source.graces,
            lost,
            {**self._held, **answers},
            self.pins,
            source.strikes,
        )
        return self._placer.place(demands, {**self._fixed, **(stands or {})})

    def _respelled(self, lost: Mapping[str, str], attempt: Attempt) -> Attempt:
        """The attempt with the best strings, or with better ones where the best are not found."""
        demands = attempt.demands
        decided = self._fixed or self.pins.stands
        only = self._placer.route.stretches[0]
        straight = only.entry in self._afresh and only.exit in self._placer.route.ends
        plain = len(self._placer.lines) == 1 and straight and not decided and not self._freer
        if plain and attempt.proved:
            trial = Trial(
                self._placer.lines[0],
                self._placer.prices(self._placer.lines[0], demands),
                None,
                None,
                self._placer.feet,
            )
            held = self._held_may_pay(attempt, searched=False)
            if not held and nothing_pays(trial, demands, self._source.moments):
                return attempt
        attempt = self._exactly(lost, attempt, FIRST_EFFORT)
        if attempt.proved:
            return attempt
        # A better plan to begin with leaves less to be looked for.
        attempt = self._exactly(lost, self._improved(lost, attempt), LAST_EFFORT)
        if attempt.proved or not attempt.bounded or self._placer.weights.crossed is None:
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
            self._placer.route,
            self._placer.lines,
            [self._placer.prices(line, demands) for line in self._placer.lines],
            demands,
            self._source.moments,
            [LETTERS] if together else self._placer.feet,
            self._home,
            self._fixed,
            {node for node in self._afresh if not self._fixed.get(node)},
            attempt.bill.terms["respelled"],
            INFINITE if attempt.failed else attempt.bill.played,
            self._placer.feet,
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
        now = answered(attempt.demands)
        if stands is None and all(now[moment] == answer for moment, answer in answers.items()):
            return attempt
        other = self._attempt(lost, {**now, **answers}, stands)
        cheaper = attempt.failed or other.bill.total < attempt.bill.total
        return other if cheaper and not other.failed else attempt

    def _improved(self, lost: Mapping[str, str], attempt: Attempt) -> Attempt:
        """The attempt, improved step by step for as long as that lowers its cost."""
        while True:
            better: dict[int, Answer] = {}
            for index, stretch in enumerate(self._placer.route.stretches):
                leave = attempt.settings[stretch.exit]
                trial = Trial(
                    self._placer.lines[index],
                    self._placer.prices(self._placer.lines[index], attempt.demands),
                    None if stretch.entry in self._afresh else attempt.settings[stretch.entry],
                    None if stretch.exit in self._placer.route.ends else leave,
                    self._placer.feet,
                )
                better |= better_answers(trial, attempt.demands, self._source.moments)
            improved = self._if_better(lost, attempt, better)
            if improved is attempt:
                return attempt
            attempt = improved
            if len(self._placer.route.stretches) == 1:
                # No setting at a junction has changed that could open new ways.
                return attempt

    @property
    def _fixed(self) -> dict[int, Mapping[Letter, Position]]:
        """Positions at junctions that the musician has decided."""
        return {
            node: self.pins.openings[number]
            for number, _, node in self._placer.route.openings
            if number in self.pins.openings
        }

    def _held_may_pay(self, attempt: Attempt, *, searched: bool) -> bool:
        """Whether other strings for what is trilled or slid could pay.

        Where they have been ``searched``, at moments that the search does not weigh. But where
        notes are silent for it other strings might let them sound, which it does not weigh either.
        """
        bill, demands = attempt.bill, attempt.demands
        spare = bill.total if demands.cramped else bill.played
        known: set[int] = set()
        if searched and not demands.cramped:
            known = known.union(*(weighed(line, demands) for line in self._placer.lines))
        for moment, (chord, answer) in demands.held.items():
            if moment in known:
                continue
            now = chord.respelled(answer)
            for other in chord.answers(chord.lost(answer)):
                dearer = max(0, chord.respelled(other) - now) * self._placer.weights.respelled
                if other != answer and dearer < spare:
                    return True
        return False


def _silenced(attempt: Attempt) -> tuple[int, int]:
    """Points of the notes that have no string, and how many pedals find no moment."""
    return attempt.bill.terms["lost"], len(attempt.failed)
