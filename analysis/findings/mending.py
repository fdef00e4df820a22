"""Mends that have been tried: each altered part is planned again, and only what helps is offered.

A proposal is tried on a window of a few bars, with the settings at its borders kept; what helps
there is tried once more on a wider one. Both are planned with the strings that the plan of the
whole part has chosen and searched for with the same little effort, so that before and after differ
by the mend alone. What is found can therefore be had in the whole part; its own best plan may be
better still.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from pedalsetter.analysis.findings.edits import altered, as_played, followers
from pedalsetter.analysis.findings.judge import judge_playing
from pedalsetter.analysis.findings.limits import Limits
from pedalsetter.analysis.findings.proposals import Proposal, misprints, propose
from pedalsetter.analysis.findings.scene import Played, Scene, Scenes
from pedalsetter.analysis.findings.windows import Window, Windows
from pedalsetter.analysis.instrument.harp import Harp, Letter, Position
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.patience import trials_ended
from pedalsetter.analysis.pedal_plan import (
    Finding,
    FindingKind,
    Mend,
    MendKind,
    NoteEdit,
    PedalPlan,
    Severity,
)
from pedalsetter.analysis.planning import QUICK, Weights, plan_as_written, plan_changes

__all__ = ["with_mends"]

_MARGIN = Fraction(3, 2)
"""Seconds on each side of what matters, in the first trial …"""

_WIDE_MARGIN = Fraction(6)
"""… and in the second."""

_MOST_OFFERED = 3
"""Mends of one finding that are offered, each of another kind; for mere comfort one is enough."""


def with_mends(
    part: HarpPart,
    plan: PedalPlan,
    harp: Harp = Harp(),  # noqa: B008 - frozen
    weights: Weights = Weights(),  # noqa: B008 - frozen
    limits: Limits = Limits(),  # noqa: B008 - frozen
    tell: Callable[[int], None] = lambda _number: None,
) -> PedalPlan:
    """Return the plan with tried mends for its findings, those of hands and strings included.

    ``plan`` is that of ``part``, with all its findings. Takes a few hundredths of a second for
    each finding; ``tell`` is given the number of each, from 1. Where time is up
    (:func:`trials_ended`) the rest stay as they are.
    """
    bench = _Bench(part, plan, harp, weights, limits)
    tried = []
    for number, one in enumerate(plan.findings, 1):
        tell(number)
        tried.append(one if trials_ended() else _said(bench.mended(one)))
    return replace(plan, findings=tuple(tried))


def _said(finding: Finding) -> Finding:
    """The finding without advice that was not tried."""
    if finding.severity not in (Severity.UNPLAYABLE, Severity.RISKY):
        return finding
    return replace(finding, mend=finding.mends[0].what if finding.mends else "")


_Bars = tuple[int, int] | None
"""The first and the last bar of a window; None for the whole part."""


@dataclass(frozen=True, slots=True)
class _Outcome:
    """What a window is like when it is planned."""

    counts: tuple[int, int, int]
    """Findings that cannot be played, are risky, are uncomfortable."""
    cost: Fraction
    findings: tuple[Finding, ...]
    moves: tuple[tuple[Place, Letter, Position], ...]

    @property
    def total(self) -> int:
        """Findings other than remarks."""
        return sum(self.counts)


class _Bench:
    """Tries mends on one part."""

    def __init__(
        self, part: HarpPart, plan: PedalPlan, harp: Harp, weights: Weights, limits: Limits
    ) -> None:
        self._part, self._plan = part, plan
        self._harp, self._weights, self._limits = harp, weights, limits
        self._written = as_played(part, plan)
        self._scenes = Scenes(part, plan)
        self._windows = Windows(self._written, plan)
        self._as_read = Windows(part, plan)
        self._cut: dict[_Bars, tuple[Window, _Outcome]] = {}
        self._runs = {
            note
            for one in plan.findings
            if one.kind is FindingKind.CHROMATIC_RUN and one.severity is not Severity.REMARK
            for note in one.notes
        }
        self._unplayable = sum(one.severity is Severity.UNPLAYABLE for one in plan.findings)

    def mended(self, finding: Finding) -> Finding:
        """The finding with the mends that help."""
        if finding.kind in _OF_A_RUN and any(note in self._runs for note in finding.notes):
            return finding
        scene = self._scenes.around(finding)
        proposals = propose(self._part, self._scenes, scene, self._harp)
        if finding.severity is Severity.UNCOMFORTABLE:
            proposals = [one for one in proposals if self._is_light(one)]
        if not proposals:
            return finding
        if finding.severity is Severity.REMARK:
            found = [*self._misprint(finding, scene), *map(self._rewritten, proposals)]
            return replace(finding, mends=tuple(found))
        windows = self._windows_for(finding, scene, proposals)
        if windows is None:
            return finding
        near, wide = windows
        most = 1 if finding.severity is Severity.UNCOMFORTABLE else _MOST_OFFERED
        mends: dict[MendKind, Mend] = {}
        for proposal in proposals:
            if len(mends) == most or trials_ended():
                break
            if proposal.kind in mends:
                continue
            outcome = self._helps(finding, proposal, near)
            truly = self._as_it_works(scene, proposal, outcome) if outcome is not None else None
            if truly is None or truly.kind in mends:
                continue
            if near != wide:
                outcome = self._helps(finding, truly, wide)
            if outcome is not None and self._second_harp_plays(truly, near):
                mends[truly.kind] = self._mend(
                    truly, outcome, self._base(wide)[1], self._shown(near)
                )
        found = sorted(
            mends.values(),
            key=lambda one: (
                one.kind is not MendKind.MISPRINT,
                one.unplayable[1],
                -one.removes,
                list(MendKind).index(one.kind),
            ),
        )
        return replace(finding, mends=tuple(found))

    def _misprint(self, finding: Finding, scene: Scene) -> list[Mend]:
        """The accidental that is probably wrong where a note is only respelled; none or one.

        It must save several changes, with all strings free on both sides of the comparison.
        """
        best: tuple[Fraction, Mend] | None = None
        if finding.kind is not FindingKind.TWO_POSITIONS or trials_ended():
            return []
        for proposal in misprints(self._part, self._scenes, scene, self._harp):
            bar = finding.place.bar
            window = self._as_read.cut(*self._as_read.around(bar, bar, _WIDE_MARGIN))
            before = self._free(window.part)
            after = self._free(altered(window.part, proposal.edits))
            saved = len(before.changes) - len(after.changes)
            if saved < _SEVERAL or _unplayable(after) > _unplayable(before):
                continue
            cost = self._plan.cost + after.cost - before.cost
            mend = Mend(
                proposal.kind,
                proposal.what,
                proposal.edits,
                0,
                (self._unplayable, self._unplayable),
                (self._plan.cost, cost),
            )
            if best is None or cost < best[0]:
                best = cost, mend
        return [] if best is None else [best[1]]

    def _free(self, part: HarpPart) -> PedalPlan:
        """A window planned with all strings."""
        return plan_changes(part, self._harp, self._weights, effort=QUICK)

    def _is_light(self, proposal: Proposal) -> bool:
        """What one would do for the sake of comfort: no note is given up or changed for that.

        And few are spelled otherwise, for each costs the reader something.
        """
        if proposal.kind in (MendKind.DOUBLING, MendKind.SHORTEN, MendKind.OCTAVE):
            return True
        return len(proposal.edits) <= _FEW and all(
            not edit.plain
            and edit.pitch is not None
            and edit.pitch.midi == self._scenes.notes[edit.note].pitch.midi
            for edit in proposal.edits
        )

    def _windows_for(
        self, finding: Finding, scene: Scene, proposals: Sequence[Proposal]
    ) -> tuple[_Bars, _Bars] | None:
        """The bars to plan in the first trial and in the second; None if they do not show it.

        A string without pedal is tuned for a whole movement, and what fails at a repeat does not
        show beside it: there the whole part is planned.
        """
        if finding.kind in _OF_THE_WHOLE:
            return (None, None) if _present(finding, self._base(None)[1]) else None
        notes = [edit.note for proposal in proposals for edit in proposal.edits]
        bars = [self._scenes.notes[note].place.bar for note in notes if note in self._scenes.notes]
        first, last = self._windows.together(
            finding.place.bar, min([scene.first, *bars]), max([scene.last, *bars])
        )
        wide = self._windows.around(first, last, _WIDE_MARGIN)
        for bars_tried in (self._windows.around(first, last, _MARGIN), wide):
            if _present(finding, self._base(bars_tried)[1]):
                return bars_tried, wide
        return None

    def _base(self, bars: _Bars) -> tuple[Window, _Outcome]:
        """A window, and what it is like without any mend."""
        if bars not in self._cut:
            window = self._windows.everything() if bars is None else self._windows.cut(*bars)
            self._cut[bars] = window, self._outcome(window, window.part)
        return self._cut[bars]

    def _outcome(self, window: Window, part: HarpPart) -> _Outcome:
        plan = plan_as_written(part, self._harp, self._weights, effort=QUICK)
        judged = judge_playing(part, plan, self._harp, self._limits)
        findings = tuple(
            replace(one, place=window.outside(one.place))
            for one in (*plan.findings, *judged)
            if window.holds(one.place)
        )
        return _Outcome(
            _counts(findings),
            plan.cost,
            findings,
            tuple((window.outside(one.place), one.letter, one.new) for one in plan.changes),
        )

    def _helps(self, finding: Finding, proposal: Proposal, bars: _Bars) -> _Outcome | None:
        """The outcome of a mend, if the finding goes and nothing worse comes for it.

        There must be fewer findings as grave as this one, and no more of all. For that a plan may
        want one more change, but not for mere comfort.
        """
        window, before = self._base(bars)
        after = self._outcome(window, altered(window.part, proposal.edits))
        grave = list(Severity).index(finding.severity) + 1
        if (
            _present(finding, after)
            or after.counts[:grave] >= before.counts[:grave]
            or after.total > before.total
            or after.cost > before.cost + (finding.severity is not Severity.UNCOMFORTABLE)
        ):
            return None
        return after

    def _as_it_works(self, scene: Scene, proposal: Proposal, after: _Outcome) -> Proposal | None:
        """The proposal, told otherwise if the change that it should free moves no earlier."""
        change = scene.change
        if proposal.kind is not MendKind.EARLIER or change is None:
            return proposal
        begin = min((one.place for one in scene.old), default=change.place)
        for place, letter, position in after.moves:
            moved = letter is change.letter and position is change.new
            if moved and begin.bar - 1 <= place.bar and place <= begin < change.place:
                return proposal
        return proposal.otherwise

    def _second_harp_plays(self, proposal: Proposal, bars: _Bars) -> bool:
        """Whether a second harp that has nothing else can play what it is given."""
        if not proposal.given:
            return True
        window, _ = self._base(bars)
        given = set(proposal.given)
        after = followers(window.part)
        for note in proposal.given:
            following = after.get(note)
            while following is not None:
                given.add(following)
                following = after.get(following)
        rest = [NoteEdit(head.id, None) for _, head in window.part.notes() if head.id not in given]
        alone = altered(window.part, rest)
        plan = plan_changes(alone, self._harp, self._weights, effort=QUICK)
        judged = judge_playing(alone, plan, self._harp, self._limits)
        return not any(one.severity is Severity.UNPLAYABLE for one in (*plan.findings, *judged))

    def _shown(self, bars: _Bars) -> tuple[int, int, int]:
        """What the plan itself has in these bars, counted as in an outcome."""
        first, last = bars or (0, len(self._part.bars))
        return _counts(one for one in self._plan.findings if first <= one.place.bar <= last)

    def _mend(
        self,
        proposal: Proposal,
        after: _Outcome,
        before: _Outcome,
        shown: tuple[int, int, int],
    ) -> Mend:
        """What a mend changes; no more can go than is ``shown`` where it is tried.

        The plan itself, searched for longer, may have less there than the window without the mend.
        """
        written = self._scenes.notes
        gone = min(before.counts[0] - after.counts[0], shown[0])
        return Mend(
            proposal.kind,
            proposal.what,
            tuple(edit for edit in proposal.edits if not _as_written(edit, written)),
            min(before.total - after.total, sum(shown)),
            (self._unplayable, self._unplayable - gone),
            (self._plan.cost, self._plan.cost + after.cost - before.cost),
        )

    def _rewritten(self, proposal: Proposal) -> Mend:
        """A note written as it is played: the plan stays, and the price of respelling goes."""
        price = Fraction(self._weights.respelled, self._weights.change or 1)
        free = Fraction(0)
        for edit in proposal.edits:
            note = self._scenes.notes[edit.note]
            if abs(note.pitch.alter) < 2:
                free += price
        return Mend(
            proposal.kind,
            proposal.what,
            proposal.edits,
            0,
            (self._unplayable, self._unplayable),
            (self._plan.cost, self._plan.cost - free),
        )


def _counts(findings: Iterable[Finding]) -> tuple[int, int, int]:
    """How many cannot be played, are risky, are uncomfortable."""
    number = Counter(one.severity for one in findings)
    return (
        number[Severity.UNPLAYABLE],
        number[Severity.RISKY],
        number[Severity.UNCOMFORTABLE],
    )


def _as_written(edit: NoteEdit, written: Mapping[str, Played]) -> bool:
    """Whether the edit only leaves a note as the score has it."""
    return not edit.plain and edit.note in written and edit.pitch == written[edit.note].pitch


_OF_A_RUN = {
    FindingKind.FOOT_TOO_FAST,
    FindingKind.FOOT_HURRIED,
    FindingKind.RINGING,
}
"""What is mended for a chromatic run as a whole, and not note by note."""

_FEW = 3

_SEVERAL = 2
"""Changes that one accidental must cost to be taken for a misprint where nothing is lost."""

_OF_THE_WHOLE = {FindingKind.NO_PEDAL, FindingKind.REENTRY}

_FEET = {FindingKind.FOOT_TOO_FAST, FindingKind.FOOT_HURRIED}


def _unplayable(plan: PedalPlan) -> int:
    return sum(one.severity is Severity.UNPLAYABLE for one in plan.findings)


def _present(finding: Finding, outcome: _Outcome) -> bool:
    """Whether the finding, or one as grave about the same thing, is still there."""
    order = list(Severity).index
    kinds = _FEET if finding.kind in _FEET else {finding.kind}
    return any(
        one.kind in kinds
        and order(one.severity) <= order(finding.severity)
        and (one.place == finding.place or set(one.notes) & set(finding.notes))
        for one in outcome.findings
    )
