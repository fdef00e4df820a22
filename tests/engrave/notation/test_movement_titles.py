"""Titles of movements: the first below the title of the work, later ones where they begin."""

from __future__ import annotations

import pypdfium2
import pytest
from score_snippets import barline, measure, note, opening, read, words

from pedalsetter.analysis.marking import place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.notation.engraver_score import source
from pedalsetter.engrave.notation.mark_row import build_mark_row
from pedalsetter.engrave.notation.timeline import bar_units
from pedalsetter.engrave.output.page import header_block
from pedalsetter.engrave.output.settled_press import engrave_settled

C = note("C4", 4)
TITLE = words("II. Berceuse", 'font-weight="bold" font-size="16"')
TEMPO = words("Adagio", 'font-weight="bold"')
HEADER = "<work><work-title>Sonatina</work-title></work><movement-title>I. Alba</movement-title>"


def two_movements(heading: str, header: str = HEADER) -> HarpPart:
    """Two bars and a final barline, then two bars under a heading."""
    last = barline("right", "<bar-style>light-heavy</bar-style>")
    bars = [opening() + C, C + last, '<print new-system="yes"/>' + heading + C, C + last]
    numbered = zip(bars, (1, 2, 1, 2), strict=True)
    return read("".join(measure(content, number) for content, number in numbered), header=header)


def row(part: HarpPart) -> str:
    """The row of tempo and rehearsal marks."""
    return source(build_mark_row(part, bar_units(part)))


def test_a_title_and_a_tempo_are_two_lines() -> None:
    """The title is larger and stands above the tempo (common practice, no source)."""
    found = row(two_movements(TITLE + TEMPO))

    assert r'\column { \fontsize #3 \normal-text \bold "II. Berceuse" \line' in found
    assert '"Adagio"' in found


@pytest.mark.parametrize("more", ["", words("con moto", 'font-style="italic"')])
def test_a_tempo_that_heads_a_movement_stays_a_tempo(more: str) -> None:
    """*Adagio* alone, or with words that go on, is printed as everywhere else."""
    assert r"\fontsize #3" not in row(two_movements(TEMPO + more))


def test_large_words_inside_a_movement_are_no_title() -> None:
    """Only where a movement begins is there one."""
    part = read(measure(opening() + C, 1) + measure(TITLE + TEMPO + C, 2))

    assert r"\fontsize #3" not in row(part)


@pytest.mark.parametrize(
    ("header", "printed"),
    [
        (HEADER, 'subtitle = "I. Alba"'),
        (
            f'{HEADER}<credit page="1"><credit-type>subtitle</credit-type>'
            "<credit-words>for harp</credit-words></credit>",
            'subsubtitle = "I. Alba"',
        ),
    ],
)
def test_the_first_movement_is_named_once(header: str, printed: str) -> None:
    """Below the title of the work, and below its subtitle where it has one of its own."""
    head = header_block(two_movements(TITLE, header), load_house_style())

    assert printed in head
    assert head.count("I. Alba") == 1


@pytest.mark.engraving
def test_every_title_is_on_the_page() -> None:
    """Work, first movement, second movement and its tempo, from top to bottom; nothing touches."""
    part = two_movements(TITLE + TEMPO)
    plan = plan_changes(part)
    settled = engrave_settled(
        part, lambda wishes: place_marks(part, plan, wishes), load_house_style()
    )
    page = pypdfium2.PdfDocument(settled.engraved.engraving.pdf)[0].get_textpage()
    text = page.get_text_bounded()
    places = [text.index(each) for each in ("Sonatina", "I. Alba", "II. Berceuse", "Adagio")]

    assert places == sorted(places)
    assert settled.engraved.proof.failures == ()
