"""Two harps' parts that one player could have: where a second harp is not needed.

Both parts are joined into one, planned, and judged with all that one player's hands and feet can
do. A section in which nothing is then beyond one harpist needs no second one (follows from the
limits; no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.errors import PartError
from pedalsetter.analysis.findings.judge import judge_playing
from pedalsetter.analysis.findings.limits import Limits
from pedalsetter.analysis.instrument.harp import Harp
from pedalsetter.analysis.part import Event, HarpPart, Place
from pedalsetter.analysis.pedal_plan import Finding, FindingKind, Severity
from pedalsetter.analysis.planning import QUICK, plan_changes
from pedalsetter.analysis.planning.weights import Weights
from pedalsetter.analysis.playing.moments import is_struck

__all__ = ["joined", "shareable"]

_OTHER = "other-"
"""Begins the ids and voices of the second part where both are one."""


def shareable(
    part: HarpPart,
    other: HarpPart,
    harp: Harp = Harp(),  # noqa: B008 - frozen
    weights: Weights = Weights(),  # noqa: B008 - frozen
    limits: Limits = Limits(),  # noqa: B008 - frozen
) -> tuple[Finding, ...]:
    """Return a remark for each stretch of ``part`` in which one harp could play both parts.

    Stretches are whole sections in which both play; neighbours are told as one.

    Raises:
        PartError: the parts are not of one score, their bars differ.
    """
    both = joined(part, other)
    plan = plan_changes(both, harp, weights, effort=QUICK)
    hard = {
        finding.place.bar
        for finding in (*plan.findings, *judge_playing(both, plan, harp, limits))
        if finding.severity in (Severity.UNPLAYABLE, Severity.RISKY)
    }
    played = [{event.bar for event in one.events if is_struck(event)} for one in (part, other)]
    found: list[Finding] = []
    run: list[range] = []
    for section in (*_sections(part), None):
        fits = section is not None and hard.isdisjoint(section)
        if section is not None and fits:
            run.append(section)
            continue
        bars = range(run[0].start, run[-1].stop) if run else range(0)
        run = []
        if not all(notes.intersection(bars) for notes in played):
            continue
        found.append(_remark(part, bars))
    return tuple(found)


def joined(part: HarpPart, other: HarpPart) -> HarpPart:
    """Both parts as one, the notes of the second in voices of their own.

    Raises:
        PartError: their bars differ.
    """
    if [bar.length for bar in part.bars] != [bar.length for bar in other.bars]:
        raise PartError(
            f"{part.part_name or 'the part'} and {other.part_name or 'the other part'} have "
            "different bars",
            file=part.source.file,
            mend="Give two parts of one score.",
        )
    events = (*part.events, *(_renamed(event) for event in other.events))
    ordered = sorted(events, key=lambda event: (event.onset, event.grace is None, event.staff))
    return replace(part, events=tuple(ordered), staves=max(part.staves, other.staves))


def _renamed(event: Event) -> Event:
    heads = tuple(replace(head, id=_OTHER + head.id) for head in event.heads)
    return replace(event, id=_OTHER + event.id, voice=_OTHER + event.voice, heads=heads)


def _sections(part: HarpPart) -> Iterator[range]:
    starts = sorted({0, *(section.bar for section in part.sections)})
    for start, stop in zip(starts, [*starts[1:], len(part.bars)], strict=True):
        yield range(start, stop)


def _remark(part: HarpPart, bars: range) -> Finding:
    first, last = part.printed_bar(bars.start), part.printed_bar(bars.stop - 1)
    where = f"from bar {first} to bar {last}" if len(bars) > 1 else f"in bar {first}"
    if len(bars) == len(part.bars):
        where = "from beginning to end"
    what = f"One harp could play both harps' parts {where}."
    place = Place(bars.start, Fraction(0))
    return Finding(FindingKind.SHAREABLE, Severity.REMARK, place, None, (), what)
