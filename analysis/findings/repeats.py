"""One string plucked again and again: the returning finger chokes it.

H. Berlioz, *Grand traité d'instrumentation*, "La Harpe", has such notes played in turn on a pair of
strings that sound alike (C♭ with B♮, E♭ with D♯); D♮, G♮ and A♮ have no pair. How quick is too
quick is common practice, no source. A trill returns to its strings too, but in turn: it is an old
effect of the harp and no repetition.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from pedalsetter.analysis.findings.limits import Limits
from pedalsetter.analysis.findings.plucks import Moment, Pluck
from pedalsetter.analysis.findings.sentences import repeated_strings
from pedalsetter.analysis.instrument.harp import String
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Finding, Severity
from pedalsetter.analysis.playing.clock import Clock

__all__ = ["judge_repeats"]


@dataclass(frozen=True, slots=True)
class _Strike:
    """All that one event plucks."""

    place: Place
    seconds: Fraction
    plucks: dict[tuple[String, int], Pluck]
    """By string and sounding key: a string that has been retuned is no repetition."""
    again: Fraction | None
    """Seconds between the strokes of a tremolo on these notes; None where they are struck once."""


@dataclass(frozen=True, slots=True)
class _Run:
    """One string struck again and again by one voice."""

    string: tuple[String, int]
    strikes: tuple[_Strike, ...]

    @property
    def shortest(self) -> Fraction:
        """Seconds between its closest strikes."""
        gaps = [later.seconds - earlier.seconds for earlier, later in pairwise(self.strikes)]
        return min(gaps + [one.again for one in self.strikes if one.again is not None])


def judge_repeats(part: HarpPart, moments: Sequence[Moment], limits: Limits) -> Iterator[Finding]:
    """Yield a finding for each passage that repeats strings too quickly, at its first strike.

    Repetitions that overlap, in chords or in both hands, are one passage.
    """
    clock = Clock(part)
    voices: dict[tuple[int, str], list[_Strike]] = {}
    for moment in moments:
        events = {one.event.id: one.event for one in moment.plucks}
        for event in events.values():
            plucks = {
                (one.string, one.head.pitch.midi): one
                for one in moment.plucks
                if one.event.id == event.id
            }
            again = _stroke_seconds(next(iter(plucks.values())), clock)
            strike = _Strike(moment.place, moment.seconds, plucks, again)
            voices.setdefault((event.staff, event.voice), []).append(strike)
    runs = [run for strikes in voices.values() for run in _runs(strikes, limits)]
    runs.sort(key=lambda run: (run.strikes[0].seconds, run.string[0].step, run.string[1]))
    passage: list[_Run] = []
    for run in runs:
        if passage and run.strikes[0].seconds > max(one.strikes[-1].seconds for one in passage):
            yield _finding(passage, limits)
            passage = []
        passage.append(run)
    if passage:
        yield _finding(passage, limits)


def _finding(passage: Sequence[_Run], limits: Limits) -> Finding:
    shortest = min(run.shortest for run in passage)
    plucks = {
        pluck.head.id: pluck
        for run in passage
        for strike in run.strikes
        for pluck in (strike.plucks[run.string],)
    }
    return repeated_strings(
        passage[0].strikes[0].place,
        sorted(plucks.values(), key=lambda one: one.head.pitch.midi),
        [len(run.strikes) for run in passage],
        shortest,
        Severity.RISKY if shortest < limits.choking_seconds else Severity.UNCOMFORTABLE,
        tremolo=any(strike.again is not None for run in passage for strike in run.strikes),
    )


def _runs(strikes: Sequence[_Strike], limits: Limits) -> Iterator[_Run]:
    """Strings of one voice that stay from strike to strike, each quickly after the last."""
    open_runs: dict[tuple[String, int], list[_Strike]] = {}

    def closed(string: tuple[String, int]) -> Iterator[_Run]:
        run = open_runs.pop(string)
        trembles = any(one.again is not None and one.again < limits.quick_seconds for one in run)
        if trembles or len(run) >= limits.repeats:
            yield _Run(string, tuple(run))

    before: _Strike | None = None
    for strike in strikes:
        quick = before is not None and strike.seconds - before.seconds < limits.quick_seconds
        for string in list(open_runs):
            if not quick or string not in strike.plucks:
                yield from closed(string)
        for string in strike.plucks:
            open_runs.setdefault(string, []).append(strike)
        before = strike
    for string in list(open_runs):
        yield from closed(string)


def _stroke_seconds(pluck: Pluck, clock: Clock) -> Fraction | None:
    """Seconds between two strokes of a tremolo sign on one note."""
    tremolo, notated = pluck.event.tremolo, pluck.event.notated
    if tremolo is None or not tremolo.alone or notated is None:
        return None
    # Strokes add to the flags of the note: two on an eighth are thirty-seconds.
    beams = notated.flags + max(1, tremolo.marks)
    onset = pluck.event.onset
    return clock.seconds(onset + Fraction(1, 2**beams)) - clock.seconds(onset)
