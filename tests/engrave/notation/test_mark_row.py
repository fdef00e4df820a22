"""The rows above the system: what heads a section, and what only bends its tempo."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pypdfium2
import pytest
from part_builder import build_part

from pedalsetter.analysis.marking import place_marks
from pedalsetter.analysis.part import Direction, DirectionKind, Section, SectionReason
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.engraver import engrave
from pedalsetter.engrave.output.lilypond import lilypond_source

PART = replace(
    build_part(
        *("E4/w", "r/w", "E4+F4/w | C3+D3/w", "G4/w"),
        sections=(Section(2, (SectionReason.HEADING,)),),
    ),
    directions=(
        Direction("d1", DirectionKind.TEMPO_WORDS, 1, Fraction(4), text="rit."),
        Direction("d2", DirectionKind.TEMPO_WORDS, 2, Fraction(8), text="Tranquillo"),
    ),
)
"""*rit.* over rests, then a heading; a diagram stands where the harp comes in."""


def test_words_that_bend_the_tempo_stand_under_the_diagrams() -> None:
    """A heading stands above the diagrams, *rit.* in a row under them, nearer to its notes.

    Common practice, no source: a change of speed belongs to the notes at which it happens.
    """
    marks = place_marks(PART, plan_changes(PART))
    source = lilypond_source(PART, marks, load_house_style()).text
    score = source[source.index("\\score {") :]
    order = [score.index(name) for name in ("\\marksAbove", "\\rowOfDiagrams", "\\wordsAbove")]
    assert order == sorted(order)
    above = source[source.index("marksAbove =") : source.index("wordsAbove =")]
    assert "Tranquillo" in above
    assert "rit." not in above


@pytest.mark.engraving
def test_a_word_is_not_as_far_from_its_system_as_a_heading() -> None:
    """With a heading and a diagram in the same system, *rit.* is printed lower by a diagram.

    Read back from the text of the PDF by PDFium.
    """
    marks = place_marks(PART, plan_changes(PART))
    pdf = engrave(lilypond_source(PART, marks, load_house_style()).text).pdf
    text = pypdfium2.PdfDocument(pdf)[0].get_textpage()
    heights = {}
    for words in ("rit.", "Tranquillo"):
        start, _ = text.search(words).get_next()
        heights[words] = text.get_charbox(start)[1]
    staff_space_points = 18 / 4
    assert heights["Tranquillo"] - heights["rit."] > 3 * staff_space_points
