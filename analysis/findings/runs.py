"""Fast chromatic runs: each letter is needed in two forms, and the feet cannot keep up.

H. Berlioz, *Grand traité d'instrumentation*, "La Harpe", calls a quick chromatic scale
impracticable. The run is told as one finding, beside those of its single pedals.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from pedalsetter.analysis.findings.limits import Limits
from pedalsetter.analysis.findings.sentences import chromatic_run
from pedalsetter.analysis.part import Event, HarpPart
from pedalsetter.analysis.pedal_plan import Finding, FindingKind, PedalPlan, Severity
from pedalsetter.analysis.playing.clock import Clock
from pedalsetter.analysis.playing.moments import is_struck

__all__ = ["judge_runs"]

_OF_THE_FEET = {
    FindingKind.FOOT_TOO_FAST,
    FindingKind.FOOT_HURRIED,
    FindingKind.RINGING,
}


def judge_runs(part: HarpPart, plan: PedalPlan, limits: Limits) -> Iterator[Finding]:
    """Yield a finding for each chromatic run in which a foot comes too late or must hurry."""
    hard: dict[str, list[Finding]] = {}
    for finding in plan.findings:
        if finding.kind in _OF_THE_FEET and finding.severity is not Severity.REMARK:
            for note in finding.notes:
                hard.setdefault(note, []).append(finding)
    if not hard:
        return
    clock = Clock(part)
    lines: dict[tuple[int, str], list[Event]] = {}
    for event in part.events:
        if event.grace is None and not event.cue and event.visible:
            lines.setdefault((event.staff, event.voice), []).append(event)
    for line in lines.values():
        for run in _runs(line, limits):
            seconds = clock.seconds(run[-1].onset) - clock.seconds(run[0].onset)
            if seconds >= limits.run_seconds * (len(run) - 1):
                continue
            notes = tuple(event.heads[0].id for event in run)
            troubles = {(one.place, one.what): one for note in notes for one in hard.get(note, ())}
            if not troubles:
                continue
            severity = min((one.severity for one in troubles.values()), key=list(Severity).index)
            yield chromatic_run(
                part.place_of(run[0]),
                run,
                Fraction(seconds, len(run) - 1),
                sum(one.severity is Severity.UNPLAYABLE for one in troubles.values()),
                len(troubles),
                severity,
            )


def _runs(line: Sequence[Event], limits: Limits) -> Iterator[Sequence[Event]]:
    """Stretches of single notes that follow each other at a semitone's distance."""
    run: list[Event] = []
    for event in line:
        joins = (
            bool(run)
            and is_struck(event)
            and run[-1].end == event.onset
            and len(event.heads) == 1
            and abs(event.heads[0].pitch.midi - run[-1].heads[0].pitch.midi) == 1
        )
        if not joins:
            if len(run) >= limits.run_notes:
                yield run
            run = []
        if is_struck(event) and len(event.heads) == 1:
            run.append(event)
        else:
            run = []
    if len(run) >= limits.run_notes:
        yield run
