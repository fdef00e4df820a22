"""The setting at one place, for the terminal and as JSON."""

from __future__ import annotations

import json
from collections.abc import Sequence

from rich.text import Text

from pedalsetter.analysis.asking.standing import Standing
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import Change
from pedalsetter.engrave.output.reports.plan_document import change_document, setting_document
from pedalsetter.engrave.output.reports.report import console_for_results, heading

__all__ = ["print_standing", "standing_json", "standing_lines"]


def standing_lines(part: HarpPart, standing: Standing) -> tuple[str, ...]:
    """The report as lines: place and setting, what moves here, what moved last, what comes next."""
    return (
        f"{part.told_place(standing.place)}: {standing.setting}",
        f"Moves here: {_changes(standing.here)}",
        f"Moved last: {_changes_at(part, standing.last)}",
        f"Moves next: {_changes_at(part, standing.following)}",
    )


def print_standing(part: HarpPart, standing: Standing) -> None:
    """Print the report."""
    console = console_for_results()
    console.print(Text(heading(part), style="bold"))
    for line in standing_lines(part, standing):
        console.print(Text(line))


def standing_json(part: HarpPart, standing: Standing) -> str:
    """The report as a JSON document; places and changes as in the plan's document."""
    document = {
        "format": "pedalsetter setting",
        "version": 1,
        "file": part.source.file,
        "bar": part.printed_bar(standing.place.bar),
        "beat": part.printed_beat(standing.place),
        "bar_index": standing.place.bar,
        "offset_quarters": str(standing.place.offset),
        **setting_document(standing.setting),
        "moves_here": [change_document(part, change) for change in standing.here],
        "moved_last": [change_document(part, change) for change in standing.last],
        "moves_next": [change_document(part, change) for change in standing.following],
    }
    return json.dumps(document, ensure_ascii=False, indent=2) + "\n"


def _changes(changes: Sequence[Change]) -> str:
    if not changes:
        return "nothing"
    return ", ".join(
        f"{change.text} ({change.foot.value} foot{change.aside}, "
        f"from {change.letter.value}{change.old.sign})"
        for change in changes
    )


def _changes_at(part: HarpPart, changes: Sequence[Change]) -> str:
    if not changes:
        return "nothing"
    return f"{part.told_place(changes[0].place)}: {_changes(changes)}"
