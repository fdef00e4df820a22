"""What is fuzzed: a target takes any bytes; it refuses them in one line or keeps a promise.

A target returns quietly where the bytes are refused by one of our errors; whatever else it raises
is a fault of the program.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

from damaged_scores import assert_whole
from fuzz_seeds import small_score
from written_back import marks_everywhere

from pedalsetter.analysis.collation import collate
from pedalsetter.analysis.decisions.file import load_decisions
from pedalsetter.analysis.errors import PedalsetterError
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.house_style import read_house_style
from pedalsetter.engrave.output.write_back.clearing import without_marks
from pedalsetter.engrave.output.write_back.door import write_back_score

__all__ = ["MOST_PLANNED_EVENTS", "TARGETS"]

MOST_PLANNED_EVENTS = 80
"""Larger parts are not planned here: chance makes music that no harpist was ever given."""


def read(data: bytes) -> None:
    """Any bytes as a score: a part whose bars, events and spanners fit together, or one line."""
    _part(data)


def plan(data: bytes) -> None:
    """Any small part can be planned, marked and collated."""
    part = _part(data)
    if part is None or len(part.events) > MOST_PLANNED_EVENTS:
        return
    made = plan_changes(part)
    place_marks(part, made)
    collate(part, made)


def write_back(data: bytes) -> None:
    """Marks go in, the music stays what it was, and taken out again every byte is as before."""
    part = _part(data)
    if part is None or part.source.format not in ("musicxml", "mxl"):
        return
    if len(part.events) > 400:
        return
    marks = marks_everywhere(part)
    try:
        clean = without_marks(data, "fuzz.musicxml")
        written = write_back_score(clean, "fuzz.musicxml", part, marks)
    except PedalsetterError as error:
        _one_line(error)
        return
    assert without_marks(written.data, "fuzz.musicxml") == clean
    again = read_score(written.data, "fuzz.musicxml", "1")
    assert again.events == part.events


def house_style(data: bytes) -> None:
    """Any bytes as a house style: a style, or one line."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "style.toml"
        path.write_bytes(data)
        try:
            read_house_style(path)
        except PedalsetterError as error:
            _one_line(error)


def decisions(data: bytes) -> None:
    """Any bytes as a file of decisions: a plan around them, each kept or told why not; or one line.

    The plan, its marks and their collation come out whatever was decided.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "score.pedals.toml"
        path.write_bytes(data)
        try:
            taken = load_decisions(path)
            part = read_score(small_score(), "score.musicxml")
            made = plan_changes(part, decisions=taken)
        except PedalsetterError as error:
            _one_line(error)
            return
    assert len(made.decisions) == len(taken.pins)
    place_marks(part, made)
    collate(part, made)


def _part(data: bytes) -> HarpPart | None:
    try:
        part = read_score(data, "fuzz.musicxml", "1")
    except PedalsetterError as error:
        _one_line(error)
        return None
    assert_whole(part)
    return part


def _one_line(error: PedalsetterError) -> None:
    assert len(str(error).splitlines()) == 1


TARGETS: Mapping[str, Callable[[bytes], None]] = {
    "read": read,
    "plan": plan,
    "write-back": write_back,
    "decisions": decisions,
    "house-style": house_style,
}
"""Every target by its name."""
