"""Why the pedals move near a bar: each change with its need, its time, its foot and its choice."""

from __future__ import annotations

from fractions import Fraction

from rich.text import Text

from pedalsetter.analysis.errors import PlaceError
from pedalsetter.analysis.naming.places import bars_named
from pedalsetter.analysis.naming.wording import NotesByName
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Change, PedalPlan, Severity
from pedalsetter.analysis.planning.sentences import seconds_told
from pedalsetter.engrave.output.reports.report import PROPOSAL, console_for_results, heading, say
from pedalsetter.engrave.output.results import PlannedScore

__all__ = ["change_facts", "print_why", "why_lines", "worth"]

_MOST_PLACES = 3
"""Other places that are told of one change."""


def print_why(planned: PlannedScore, bar: str) -> None:
    """Print the reasons of every change that is made or needed in a bar.

    Raises:
        PlaceError: the score has no such bar.
    """
    lines = why_lines(planned.part, planned.plan, bar)
    console = console_for_results()
    console.print(Text(heading(planned.part), style="bold"))
    for line in lines:
        say(console, line.strip(), indent=2 if line.startswith(" ") else 0)
    console.print(Text(PROPOSAL))


def why_lines(part: HarpPart, plan: PedalPlan, bar: str) -> tuple[str, ...]:
    """The reasons of every change that is made or needed in a bar, a span or all bars.

    What cannot be played, or hardly, is told with them.

    ``plan`` should know the other places of its changes.

    Raises:
        PlaceError: the score has no such bar.
    """
    try:
        bars = list(bars_named(part, bar))
    except PlaceError:
        bars = [one.index for one in part.bars if one.number == bar.strip()]
        if not bars:
            raise
    lines: list[str] = []
    told: list[Change] = []
    names = NotesByName(part)
    for index in bars:
        near = [
            change
            for change in plan.changes
            if change not in told
            and (
                change.place.bar == index
                or (change.needed is not None and change.needed.bar == index)
            )
        ]
        told += near
        number = part.printed_bar(index)
        hard = [
            finding
            for finding in plan.findings
            if finding.located
            and finding.place.bar == index
            and finding.severity is not Severity.REMARK
        ]
        lines += [f"{one.severity.value}, {one.where(part)}: {one.what}" for one in hard]
        if not near and (len(bars) == 1 and not hard):
            setting = plan.setting_at(Place(index, part.bars[index].length))
            lines.append(f"Bar {number}: no pedal moves, and no change is needed. {setting}")
        for change in near:
            lines += _Told(part, plan, change, names).lines()
    return tuple(lines)


def change_facts(
    part: HarpPart, plan: PedalPlan, change: Change, names: NotesByName
) -> tuple[tuple[str, str], ...]:
    """What is to be said of one change, each thing with its heading."""
    return _Told(part, plan, change, names).facts()


class _Told:
    def __init__(self, part: HarpPart, plan: PedalPlan, change: Change, names: NotesByName) -> None:
        self._part = part
        self._plan = plan
        self._change = change
        self._names = names

    def lines(self) -> list[str]:
        change = self._change
        decided = ", as decided" if change.decided else ""
        return [
            f"{change.text} (from {change.letter.value}{change.old.sign}), {change.foot.value} "
            f"foot{change.aside}, in {self._part.told_place(change.place)}{decided}",
            f"  needed      {self._needed()}",
            f"  free        {self._free()}",
            f"  the foot    {self._foot()}",
            f"  elsewhere   {self._elsewhere()}",
        ]

    def facts(self) -> tuple[tuple[str, str], ...]:
        return (
            ("needed", self._needed()),
            ("free", self._free()),
            ("the foot", self._foot()),
        )

    def _needed(self) -> str:
        change = self._change
        if change.needed is None:
            return "by no note before the next barline that a repeat or jump leads to"
        where = self._part.told_place(change.needed)
        here = " (right there)" if change.needed == change.place else ""
        by = self._names.told(change.needed_by, change.letter, change.new)
        return f"in {where} by {by}{here}"

    def _free(self) -> str:
        change = self._change
        old = f"{change.letter.value}{change.old.sign}"
        if change.free_since is None or change.seconds_free is None:
            return f"from the beginning: nothing needs {old} before"
        where = self._part.told_place(change.free_since)
        before = f"{seconds_told(change.seconds_free)} before the pedal moves"
        if change.struck_on:
            return f"since {before}: the last note on {old}, in {where}, goes on until then"
        return f"since {where}, the last note on {old}, {before}"

    def _foot(self) -> str:
        change = self._change
        own = [
            one
            for one in self._plan.changes
            if one.foot is change.foot
            and (one.place != change.place or one.together is not change.letter)
        ]
        number = own.index(change)
        told = []
        seconds = change.seconds_since_same_foot
        if seconds is None:
            told.append("has not moved before")
        elif number and self._same_movement(own[number - 1]):
            told.append(f"moved {self._move(own[number - 1])}, {seconds_told(seconds)} before")
        else:
            told.append(f"last moved {seconds_told(seconds)} before")
        if number + 1 < len(own) and self._same_movement(own[number + 1]):
            told.append(f"moves {self._move(own[number + 1])} next")
        else:
            told.append("does not move again")
        return "; ".join(told)

    def _same_movement(self, other: Change) -> bool:
        bars = self._part.bars
        return bars[other.place.bar].movement == bars[self._change.place.bar].movement

    def _move(self, change: Change) -> str:
        return f"{change.text} in {self._part.told_place(change.place)}"

    def _elsewhere(self) -> str:
        change = self._change
        if not change.elsewhere:
            return "no other moment is left"
        return "; ".join(
            f"{self._part.told_place(place)} ({worth(more)})"
            for place, more in change.elsewhere[:_MOST_PLACES]
        )


def worth(more: Fraction) -> str:
    """What another place would cost, in words; one change is 1."""
    if more <= -Fraction(1, 10):
        return "better"
    if more < Fraction(1, 10):
        return "about as good"
    if more < Fraction(1, 2):
        return "a little worse"
    if more < 1:
        return "worse"
    whole = round(more)
    return f"as bad as {'one change' if whole == 1 else f'{whole} changes'} more"
