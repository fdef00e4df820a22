"""Marks go into timewise scores too, whose bars hold parts, and nothing else in them moves.

Source: MusicXML 4.0, ``score-timewise``: the same elements as in a partwise score, nested the other
way round.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from musicxml_schema import is_valid
from source_marked import as_sources_own
from written_back import expected_marks, marks_everywhere, marks_read_back, without_inserted

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.output.write_back.clearing import without_marks
from pedalsetter.engrave.output.write_back.door import write_back_score

EXAMPLES = Path(__file__).resolve().parents[4] / "examples"


def as_timewise(data: bytes) -> bytes:
    """A partwise document turned by plain patterns; every bar keeps its contents byte for byte."""
    text = data.decode()
    head = text[: text.index("<part id=")].replace("score-partwise", "score-timewise")
    bars: list[tuple[str, list[str]]] = []
    for identity, content in re.findall(r'<part id="([^"]*)">(.*?)</part>', text, re.DOTALL):
        found = re.findall(r"<measure([^>]*)>(.*?)</measure>", content, re.DOTALL)
        for index, (attributes, inside) in enumerate(found):
            if index == len(bars):
                bars.append((attributes, []))
            bars[index][1].append(f'    <part id="{identity}">{inside}</part>\n')
    body = "".join(
        f"<measure{attributes}>\n{''.join(parts)}  </measure>\n  " for attributes, parts in bars
    )
    return f"{head}{body.rstrip()}\n</score-timewise>\n".encode()


@cache
def timewise(name: str, version: str = "4.0") -> bytes:
    """An example as a timewise score of some version."""
    data = as_timewise((EXAMPLES / name).read_bytes())
    return data.replace(b'version="4.0"', f'version="{version}"'.encode())


@pytest.mark.parametrize("version", ["1.0", "3.0", "4.0"])
@pytest.mark.parametrize("name", ["evening-water.musicxml", "orchestral-nocturne.musicxml"])
def test_marks_are_read_back_and_nothing_is_lost(name: str, version: str) -> None:
    """A mark at every place of the harp, alone or among ten others; cut out, all is as before."""
    data = timewise(name, version)
    part = read_score(data, name)
    marks = marks_everywhere(part)
    result = write_back_score(data, name, part, marks)
    again = read_score(result.data, name)
    assert result.marks == len(marks.diagrams) + len(marks.changes) + len(marks.strings)
    assert without_inserted(result.data) == data
    assert marks_read_back(again) == sorted(expected_marks(part, marks) + marks_read_back(part))
    assert (again.events, again.bars) == (part.events, part.bars)
    assert write_back_score(result.data, name, again, marks).data == result.data
    assert without_marks(result.data, name) == data
    assert is_valid(result.data) is is_valid(data) is True


def test_marks_of_the_source_are_replaced() -> None:
    """In a timewise score too the source's own marks go out to the byte."""
    data = timewise("orchestral-nocturne.musicxml")
    part = read_score(data, "o.musicxml")
    own = as_sources_own(write_back_score(data, "o.musicxml", part, marks_everywhere(part)).data)
    marked = read_score(own, "o.musicxml")
    # One diagram was there before: it tells what a glissando sounds.
    kept = {(mark.bar, mark.onset, mark.pedals) for mark in part.source_marks}
    replaced = [
        mark for mark in marked.source_marks if (mark.bar, mark.onset, mark.pedals) not in kept
    ]
    assert len(replaced) > 100
    result = write_back_score(own, "o.musicxml", marked, Markings((), ()), replaced=replaced)
    assert result.data == data


def test_the_same_marks_stand_where_a_partwise_score_has_them() -> None:
    """Turned round after writing, a partwise score is the timewise one that was written into."""
    partwise = (EXAMPLES / "orchestral-nocturne.musicxml").read_bytes()
    part = read_score(partwise, "o.musicxml")
    marks = marks_everywhere(part)
    turned = as_timewise(write_back_score(partwise, "o.musicxml", part, marks).data)
    data = timewise("orchestral-nocturne.musicxml")
    written = write_back_score(data, "o.musicxml", read_score(data, "o.musicxml"), marks).data
    assert written == turned
