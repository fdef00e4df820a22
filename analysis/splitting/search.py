"""Which notes go to the second harp: the cheapest that leave both parts playable.

Problems are met one after the other. For each the ways to share its notes are tried on a window of
bars, cheapest first: single notes, pairs and more of one moment, the beam, the slur, a run in turn
by beats or between naturals and the rest. What is no longer needed is given back at the end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import combinations

from pedalsetter.analysis.findings.edits import altered, as_played
from pedalsetter.analysis.findings.judge import judge_playing
from pedalsetter.analysis.findings.limits import Limits
from pedalsetter.analysis.findings.scene import Scene, Scenes
from pedalsetter.analysis.findings.windows import Window, Windows
from pedalsetter.analysis.instrument.harp import Harp
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import (
    Finding,
    FindingKind,
    NoteEdit,
    PedalPlan,
    Severity,
)
from pedalsetter.analysis.planning import QUICK, plan_as_written, plan_changes
from pedalsetter.analysis.planning.weights import Weights
from pedalsetter.analysis.splitting.phrases import Phrases

__all__ = ["Searcher"]

_MARGIN = Fraction(1)
"""Seconds on each side of what matters in which both harps are planned."""

_MOST_TOGETHER = 4
"""Notes of one moment that are given away in every combination; beyond, only whole hands are."""

_MOST_TRIALS = 200
"""Combinations tried for one moment."""

_MOST_PUT_RIGHT = 2
"""Ways to share a run that are put right note by note."""

Bars = tuple[int, int] | None


class Searcher:
    """Shares the notes of one part between two harps."""

    def __init__(
        self, part: HarpPart, plan: PedalPlan, harp: Harp, weights: Weights, limits: Limits
    ) -> None:
        self._part, self._plan = part, plan
        self._harp, self._weights, self._limits = harp, weights, limits
        self._scenes = Scenes(part, plan)
        self._phrases = Phrases(part)
        self._windows = (Windows(as_played(part, plan), plan), Windows(part, plan))
        self._cut: dict[Bars, tuple[Window, Window]] = {}
        self._known_left: dict[tuple[Bars, frozenset[str]], list[Finding]] = {}
        self.moved: frozenset[str] = frozenset()
        """Noteheads that the second harp plays."""

    def solve(self, problems: Sequence[Finding]) -> None:
        """Give notes away for these findings; runs first, for they hold many of the others."""
        order = sorted(
            problems, key=lambda one: (one.kind is not FindingKind.CHROMATIC_RUN, one.place)
        )
        for finding in order:
            scene = self._scenes.around(finding)
            bars = self._bars(finding, scene)
            before = self._unplayable(bars, self.moved)
            if before:
                known = self.moved
                self._mend(finding, scene, bars, len(before))
                if finding.kind not in _AT_ONE_MOMENT:
                    self._give_back(self.moved - known, bars)

    def _mend(self, finding: Finding, scene: Scene, bars: Bars, before: int) -> None:
        """Give away what helps most for this finding; among equals what is cheapest."""
        found: list[tuple[int, int, frozenset[str]]] = []
        for way in self._ways(finding, scene):
            moved = self.moved - way if way <= self.moved else self.moved | way
            price = self._phrases.price(moved)
            if any(not left and known <= price for left, known, _ in found):
                continue
            found.append((len(self._unplayable(bars, moved)), price, moved))
        if finding.kind is FindingKind.CHROMATIC_RUN:
            # What is cheap and nearly right may be the cheapest when it is put right.
            solved = min((price for left, price, _ in found if not left), default=None)
            for left, price, moved in sorted(found)[:_MOST_PUT_RIGHT]:
                if left and (solved is None or price < solved):
                    found.append(self._put_right(finding, bars, moved))
        helping = [one for one in found if one[0] < before]
        if helping:
            self.moved = min(helping, key=lambda one: (*one[:2], sorted(one[2])))[2]

    def _put_right(
        self, finding: Finding, bars: Bars, moved: frozenset[str]
    ) -> tuple[int, int, frozenset[str]]:
        """Notes next to what is left change sides one by one, for as long as that helps."""
        left = self._unplayable(bars, moved)
        run = [note for note in finding.notes if note in self._phrases.events]
        while left:
            near: dict[str, None] = {}
            for note in (note for one in left for note in one.notes if note in run):
                place = run.index(note)
                near.update(dict.fromkeys(run[max(0, place - 2) : place + 2]))
            best = None
            for note in near:
                other = moved ^ self._phrases.whole([note])
                remain = self._unplayable(bars, other)
                rank = (len(remain), self._phrases.price(other))
                if len(remain) < len(left) and (best is None or rank < best[0]):
                    best = rank, other, remain
            if best is None:
                break
            _, moved, left = best
        return len(left), self._phrases.price(moved), moved

    def _ways(self, finding: Finding, scene: Scene) -> Iterator[frozenset[str]]:
        """Sets of notes to give away, small ones first."""
        seen: set[frozenset[str]] = set()
        for notes in self._every_way(finding, scene):
            whole = self._phrases.whole(notes)
            if whole and whole not in seen:
                seen.add(whole)
                yield whole

    def _every_way(self, finding: Finding, scene: Scene) -> Iterator[Sequence[str]]:
        named = [one.head.id for one in scene.notes]
        if finding.kind is FindingKind.CHROMATIC_RUN:
            yield from self._ways_of_a_run(finding)
            return
        if finding.kind in _AT_ONE_MOMENT:
            together = [one.head.id for one in scene.together]
            tried = 0
            for size in range(1, min(_MOST_TOGETHER, len(together)) + 1):
                for group in combinations(together, size):
                    tried += 1
                    if tried > _MOST_TRIALS:
                        break
                    yield group
            by_staff: dict[int, list[str]] = {}
            for one in scene.together:
                by_staff.setdefault(one.event.staff, []).append(one.head.id)
            yield from by_staff.values()
        for played in (scene.notes, scene.old, scene.rivals):
            ids = [one.head.id for one in played]
            yield ids
            for note in ids:
                yield [note]
        for note in (*named, *(one.head.id for one in (*scene.old, *scene.rivals))):
            yield sorted(self._phrases.beam_of(note))
            yield sorted(self._phrases.slur_of(note))

    def _ways_of_a_run(self, finding: Finding) -> Iterator[Sequence[str]]:
        notes = [note for note in finding.notes if note in self._phrases.events]
        events = [self._phrases.events[note] for note in notes]
        beams = list(dict.fromkeys(self._phrases.beam_of(note) for note in notes))
        for odd in (1, 0):
            yield [note for beam in beams[odd::2] for note in beam]
        beat = self._part.bars[events[0].bar].time.beat
        for odd in (1, 0):
            yield [
                note
                for note, event in zip(notes, events, strict=True)
                if int(event.onset // beat) % 2 == odd
            ]
        signed = [head.id for event in events for head in event.heads if head.pitch.alter]
        yield signed
        yield notes

    def _give_back(self, given: frozenset[str], bars: Bars) -> None:
        """Take back of the notes just given what both harps can do without, much at a time."""
        pieces = {self._phrases.beam_of(note) & given for note in given}
        pieces |= {self._phrases.whole([note]) for note in given}
        for piece in sorted(pieces, key=lambda one: (-len(one), sorted(one))):
            fewer = self.moved - piece
            if not piece <= self.moved or self._phrases.price(fewer) >= self._phrases.price(
                self.moved
            ):
                continue
            if len(self._unplayable(bars, fewer)) <= len(self._unplayable(bars, self.moved)):
                self.moved = fewer

    def _bars(self, finding: Finding, scene: Scene) -> Bars:
        if finding.kind in _OF_THE_WHOLE:
            return None
        notes = [self._phrases.events[note].bar for note in finding.notes if self._known(note)]
        first, last = min([scene.first, *notes]), max([scene.last, *notes])
        first, last = self._windows[0].together(finding.place.bar, first, last)
        return self._windows[0].around(first, last, _MARGIN)

    def _known(self, note: str) -> bool:
        return note in self._phrases.events

    def _unplayable(self, bars: Bars, moved: frozenset[str]) -> list[Finding]:
        """Findings of both harps in these bars that cannot be played."""
        if bars not in self._cut:
            played, written = self._windows
            self._cut[bars] = (
                (played.everything(), written.everything())
                if bars is None
                else (played.cut(*bars), written.cut(*bars))
            )
        played_window, window = self._cut[bars]
        here = moved & {head.id for _, head in window.part.notes()}
        if (bars, here) not in self._known_left:
            self._known_left[bars, here] = self._left(played_window, window, here)
        return self._known_left[bars, here]

    def _left(self, played: Window, written: Window, moved: frozenset[str]) -> list[Finding]:
        gone = [NoteEdit(note, None) for note in moved]
        first = self._grave(played, altered(played.part, gone), plan_as_written)
        stay = altered(written.part, gone)
        for make in (plan_as_written, plan_changes):
            # Without some of its notes the rest may be played on other letters.
            if first and moved:
                again = self._grave(written, stay, make)
                first = min(first, again, key=len)
        rest = [NoteEdit(head.id, None) for _, head in written.part.notes() if head.id not in moved]
        if not moved:
            return first
        return [*first, *self._grave(written, altered(written.part, rest), plan_changes)]

    def _grave(
        self, window: Window, part: HarpPart, make: Callable[..., PedalPlan]
    ) -> list[Finding]:
        plan = make(part, self._harp, self._weights, effort=QUICK)
        judged = judge_playing(part, plan, self._harp, self._limits)
        return [
            one
            for one in (*plan.findings, *judged)
            if one.severity is Severity.UNPLAYABLE
            and window.holds(one.place)
            and (not window.everything or one.kind in _OF_THE_WHOLE)
        ]


_OF_THE_WHOLE = {FindingKind.NO_PEDAL, FindingKind.REENTRY}
"""Kinds that show only in the whole part; nothing else is looked for there."""

_AT_ONE_MOMENT = {
    FindingKind.TWO_POSITIONS,
    FindingKind.NO_SETTING,
    FindingKind.HAND_FULL,
    FindingKind.WIDE_SPAN,
    FindingKind.GLISSANDO,
    FindingKind.NO_PEDAL,
}
