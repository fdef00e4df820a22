"""Notices as lines of text, and which part they are about."""

from __future__ import annotations

from collections.abc import Iterable

from pedalsetter.analysis.naming.wording import bars_told, listed
from pedalsetter.analysis.part import HarpPart, Notice, by_kind

__all__ = ["notice_lines", "part_told"]


def notice_lines(notices: Iterable[Notice]) -> tuple[str, ...]:
    """A line for each kind of notice, its bars first: ``bars 2 and 5: what is the matter``."""
    lines = []
    for notice in by_kind(notices):
        where = bars_told(notice.bars)
        lines.append(f"{where}: {notice.what}" if where else notice.what)
    return tuple(lines)


def part_told(part: HarpPart) -> str:
    """Which part of a score was read; empty if it has no other."""
    source = part.source
    numbers = source.joined or (source.part_number,)
    if source.parts == len(numbers):
        return ""
    what = "Part" if len(numbers) == 1 else "Parts"
    return f"{what} {listed(map(str, numbers))} of {source.parts}: {part.part_name}."
