"""The rows above the system: what heads a section, and what only bends its tempo."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pypdfium2
import pytest
from part_builder import build_part

from pedalsetter.analysis.marks.marking import Markings, place_marks
from pedalsetter.analysis.part import Direction, DirectionKind, Section, SectionReason
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.lilypond import lilypond_source

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


def test_a_movement_without_harp_says_tacet() -> None:
    """With its title, if it has one (common practice, no source); one that plays does not."""
    bars = ("E4/w", "r/w", "r/w", "E4/w", "r/w")
    part = build_part(*bars, movements=(1, 3, 4))
    part = replace(part, movement_titles=("I", "II. Notturno", "III"))
    style = load_house_style()
    above = lilypond_source(part, Markings((), ()), style).text.split("wordsAbove =")[0]
    above = above[above.index("marksAbove =") :].split("timeAndBarlines")[0]
    assert [above.count(text) for text in ('"II. Notturno – tacet"', '"III"', '"tacet"')] == [
        1,
        1,
        1,
    ]
    assert '"I"' not in above
    without = lilypond_source(part, Markings((), ()), replace(style, movement_titles=False)).text
    assert "tacet" not in without
