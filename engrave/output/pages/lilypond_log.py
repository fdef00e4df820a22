"""What LilyPond says: its warnings, and its first complaint made an error of ours."""

from __future__ import annotations

import re
import signal
from collections.abc import Sequence
from pathlib import Path

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.engrave.output.pages.lilypond_process import Limits

__all__ = ["complaints_of", "failure", "warnings_in"]

_PLACE = re.compile(r"^(?:.*?part\.ly|-):(\d+):(?:\d+:)? ")


def warnings_in(log: str) -> tuple[str, ...]:
    """LilyPond's warnings, without paths, each once, in order."""
    found: dict[str, None] = {}
    for line in log.splitlines():
        place = _PLACE.match(line)
        rest = line[place.end() :] if place else line
        if "warning:" in rest:
            what = rest.split("warning:", 1)[1].strip()
            found.setdefault(f"line {place[1]}: {what}" if place else what)
    return tuple(found)


def complaints_of(source: str, warnings: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Those warnings that tell of something not engraved as it should be, each with its bar.

    The other ones, of pages that had to be pressed together, come second and as they are.
    """
    complaints, remarks = [], []
    for warning in warnings:
        if re.search(r"over-full page|has been compressed", warning):
            remarks.append(warning)
            continue
        numbers = re.match(r"line (\d+): (.*)", warning)
        bar = _bar_of(source, int(numbers[1])) if numbers else None
        what = numbers[2] if numbers else warning
        place = f"bar {bar}: " if bar is not None else ""
        complaints.append(f"{place}the engraver warns: {what}")
    return tuple(dict.fromkeys(complaints)), tuple(remarks)


def failure(folder: Path, source: str, log: str, status: int, limits: Limits) -> EngravingError:
    """The error of a failed run: LilyPond's first complaint, its line, its bar, its log."""
    line, what = _first_complaint(log)
    if "out of memory" in log.lower():
        line, what = None, "it used up the memory that it may have"
    if what is None:
        what = (
            f"it was stopped at its limit of {limits.seconds} seconds"
            if status == -getattr(signal, "SIGXCPU", 0)
            else f"a file of it grew beyond its limit of {limits.file_bytes >> 20} MB"
            if status == -getattr(signal, "SIGXFSZ", 0)
            else "it made no page"
            if status == 0
            else f"it ended with status {status}"
        )
    where = f" (line {line} of its source)" if line is not None else ""
    return EngravingError(
        f"LilyPond failed: {what}{where}",
        bar=_bar_of(source, line) if line is not None else None,
        mend=f"Its log and source lie in {folder}.",
    )


def _first_complaint(log: str) -> tuple[int | None, str | None]:
    for line in log.splitlines():
        place = _PLACE.match(line)
        rest = line[place.end() :] if place else line
        if "error:" in rest:
            return (int(place[1]) if place else None), rest.split("error:", 1)[1].strip()
    return None, None


def _bar_of(source: str, line: int) -> str | None:
    """The bar named at the end of a line of music, as in ``c4 d e f | % 12``."""
    lines = source.splitlines()
    if not 1 <= line <= len(lines):
        return None
    named = re.search(r"\|\s+% (\S+)\s*$", lines[line - 1])
    return named[1] if named else None
