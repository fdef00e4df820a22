"""What became better and what became worse from one plan to the next, in lines."""

from __future__ import annotations

from pedalsetter.analysis.asking.comparison import Comparison
from pedalsetter.analysis.part import HarpPart

__all__ = ["comparison_lines"]


def comparison_lines(before: HarpPart, after: HarpPart, told: Comparison) -> tuple[str, ...]:
    """The comparison in lines: changes saved or added, findings gone, findings new.

    Places of what is gone are those of ``before``, of what is new those of ``after``.
    """
    if told.same:
        return ("nothing better, nothing worse",)
    lines = []
    first, second = told.changes
    if second < first:
        lines.append(f"better: {_many(first - second)} saved, {second} remain")
    elif second > first:
        lines.append(f"worse: {_many(second - first)} more, {second} in all")
    lines += [
        f"better, gone: {finding.severity.value}, {finding.where(before)}: {finding.what}"
        for finding in told.gone
    ]
    lines += [
        f"worse, new: {finding.severity.value}, {finding.where(after)}: {finding.what}"
        for finding in told.new
    ]
    return tuple(lines)


def _many(changes: int) -> str:
    return "1 change" if changes == 1 else f"{changes} changes"
