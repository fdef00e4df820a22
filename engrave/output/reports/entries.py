"""Findings gathered for a reader: what belongs to one run or one bar is one entry."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from pedalsetter.analysis.errors import PlaceError
from pedalsetter.analysis.naming.places import bars_named
from pedalsetter.analysis.naming.wording import listed, many
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import Finding, FindingKind, PedalPlan, Severity

__all__ = ["Entry", "Selection", "bars_told", "entries_of", "selected", "verdict"]

GRAVITY = {severity: rank for rank, severity in enumerate(Severity)}

_CALLED = {
    FindingKind.FOOT_TOO_FAST: ("change", "too fast for a foot"),
    FindingKind.FOOT_HURRIED: ("hurried change", ""),
    FindingKind.RINGING: ("pedal", "moved under a sounding string"),
    FindingKind.TWO_POSITIONS: ("note", "without a string of its own"),
    FindingKind.REPEATED_STRING: ("string", "repeated too quickly"),
    FindingKind.WIDE_SPAN: ("span", "wider than a tenth"),
    FindingKind.HAND_FULL: ("chord", "with more notes than fingers"),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One place that a reader must look at."""

    main: Finding
    """The gravest thing there."""
    others: tuple[Finding, ...]
    """What belongs to the same run or bar, by place."""
    first_bar: int
    last_bar: int

    @property
    def severity(self) -> Severity:
        """How grave the worst of it is."""
        return self.main.severity

    def where(self, part: HarpPart) -> str:
        """``bar 5, beat 3``, or ``bars 9 to 10`` of a run."""
        if self.first_bar == self.last_bar or not self.main.located:
            return self.main.where(part)
        return f"bars {part.printed_bar(self.first_bar)} to {part.printed_bar(self.last_bar)}"

    def others_told(self) -> str:
        """``12 changes too fast for a foot and 2 hurried changes``; empty if there are none."""
        number = Counter(one.kind for one in self.others)
        told = (
            f"{many(count, _CALLED[kind][0])} {_CALLED[kind][1]}".strip()
            if kind in _CALLED
            else kind.value
            for kind, count in number.items()
        )
        return listed(told)


@dataclass(frozen=True, slots=True)
class Selection:
    """What of a plan a reader wants to see."""

    bars: range | None = None
    """Bars by index; None for all."""
    worst: Severity = Severity.REMARK
    """The mildest severity that is shown."""

    def holds(self, finding: Finding) -> bool:
        """Whether a finding is to be shown."""
        inside = self.bars is None or (finding.located and finding.place.bar in self.bars)
        return inside and GRAVITY[finding.severity] <= GRAVITY[self.worst]


def selected(part: HarpPart, bars: str | None, only: str | None) -> Selection:
    """What ``--bars 5-12`` and ``--only risky`` ask for.

    Raises:
        PlaceError: there is no such bar, or no such severity.
    """
    worst = Severity.REMARK
    if only is not None:
        names = {severity.value: severity for severity in Severity}
        wanted = "cannot be played" if only == "impossible" else only
        if wanted not in names:
            raise PlaceError(
                f"there is no severity '{only}'", mend="Choose impossible, risky or uncomfortable."
            )
        worst = names[wanted]
    return Selection(None if bars is None else bars_named(part, bars), worst)


def entries_of(part: HarpPart, findings: Sequence[Finding]) -> tuple[Entry, ...]:
    """Findings other than remarks as entries, the gravest first, at one gravity by place."""
    rest = [
        one
        for one in findings
        if one.severity is not Severity.REMARK and one.kind is not FindingKind.SHAREABLE
    ]
    entries = []
    bar_of = {head.id: event.bar for event, head in part.notes()}
    for run in [one for one in rest if one.kind is FindingKind.CHROMATIC_RUN]:
        bars = [bar_of[note] for note in run.notes if note in bar_of] or [run.place.bar]
        first, last = min(bars), max(bars)
        own = [one for one in rest if one.located and first <= one.place.bar <= last]
        if run in own:
            entries.append(_entry(own, first, last, FindingKind.CHROMATIC_RUN))
            rest = [one for one in rest if one not in own]
    bars_left = dict.fromkeys(one.place.bar if one.located else -1 for one in rest)
    for bar in bars_left:
        own = [one for one in rest if (one.place.bar if one.located else -1) == bar]
        # Decisions that cannot hold stay apart: each is the musician's own.
        if bar < 0:
            entries += [Entry(one, (), 0, 0) for one in own]
        else:
            entries.append(_entry(own, bar, bar))
    entries.sort(key=lambda one: (GRAVITY[one.severity], one.first_bar))
    return tuple(entries)


def _is_grave(finding: Finding) -> bool:
    return finding.severity is not Severity.REMARK


def _entry(
    own: Sequence[Finding], first: int, last: int, leads: FindingKind | None = None
) -> Entry:
    main = min(own, key=lambda one: (GRAVITY[one.severity], one.kind is not leads))
    return Entry(main, tuple(one for one in own if one is not main), first, last)


def bars_told(part: HarpPart, entries: Sequence[Entry]) -> str:
    """``bar 5`` or ``bars 5, 9 to 10 and 24``, in the order of the score."""
    spans = dict.fromkeys(
        sorted((one.first_bar, one.last_bar) for one in entries if one.main.located)
    )
    names = [
        part.printed_bar(first)
        if first == last
        else f"{part.printed_bar(first)} to {part.printed_bar(last)}"
        for first, last in spans
    ]
    several = len(names) > 1 or any(first != last for first, last in spans)
    return f"bar{'s' if several else ''} {listed(names)}" if names else "the decisions"


def verdict(part: HarpPart, plan: PedalPlan) -> str:
    """One sentence for a musician: whether it can be played, and where not.

    ``Playable. 20 changes, none hurried.`` or ``3 places cannot be played as written: bars 5, 20
    and 24.``
    """
    entries = entries_of(part, plan.findings)
    worst = [one for one in entries if one.severity is Severity.UNPLAYABLE]
    if worst:
        places = "1 place" if len(worst) == 1 else f"{len(worst)} places"
        return f"{places} cannot be played as written: {bars_told(part, worst)}."
    refused = sum(one.kind is FindingKind.DECISION for one in plan.findings if _is_grave(one))
    if refused:
        # The music is no harder for it.
        music = tuple(one for one in plan.findings if one.kind is not FindingKind.DECISION)
        verb = f"{many(refused, 'decision')} cannot hold."
        return f"{verdict(part, replace(plan, findings=music))} {verb}"
    risky = [one for one in entries if one.severity is Severity.RISKY]
    changes = many(len(plan.changes), "change") if plan.changes else "No pedal moves"
    hurried = sum(one.kind is FindingKind.FOOT_HURRIED for one in plan.findings)
    if plan.changes:
        changes += f", {hurried} of them hurried" if hurried else ", none hurried"
    if risky:
        places = "1 place is risky" if len(risky) == 1 else f"{len(risky)} places are risky"
        return f"Playable, but {places}: {bars_told(part, risky)}. {changes}."
    hard = [one for one in entries if one.severity is Severity.UNCOMFORTABLE]
    if hard:
        places = many(len(hard), "uncomfortable place")
        return f"Playable, with {places}: {bars_told(part, hard)}. {changes}."
    return f"Playable. {changes}."
