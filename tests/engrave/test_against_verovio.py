"""Our pages against those of an independent renderer: as many heads, beams, slurs, ties, dynamics.

Source: verovio's SVG of the same file, counted by bar and staff.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from verovio_page import by_bar, crossing_bars, differences

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.lilypond import lilypond_source

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.mark.engraving
@pytest.mark.parametrize("name", ["chromatic-study", "evening-water"])
def test_both_print_the_same(name: str) -> None:
    """No head, beam, slur, tie or dynamic more or less, bar by bar and staff by staff."""
    path = EXAMPLES / f"{name}.musicxml"
    part = read_part(path)
    source = lilypond_source(part, Markings((), ()), load_house_style()).text
    boxes = engrave(source).boxes
    assert sum(by_bar(part, boxes).values()) > 400
    assert len(crossing_bars(part)) < len(part.bars) / 4
    found = differences(part, boxes, path.read_bytes())
    # Words such as "rit." are tempo marks here and directions there.
    words = {key for key in found if key[0] == "MetronomeMark" and found[key] == (0, 1)}
    assert found.keys() - words == set()
