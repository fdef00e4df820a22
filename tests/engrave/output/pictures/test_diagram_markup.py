"""Diagrams off the page in the form, the language and the font of a house style."""

from __future__ import annotations

import re

import pypdfium2
import pytest
from example_scores import CHROMATIC_STUDY
from styled_pages import styled

from pedalsetter.analysis.glissandi.glissando import glissando_settings
from pedalsetter.analysis.glissandi.pitch_sets import read_pitch_set
from pedalsetter.analysis.instrument.harp import Setting
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.output.pages.raster import page_count
from pedalsetter.engrave.output.pictures.diagram import draw_diagram
from pedalsetter.engrave.output.pictures.glissando_example import draw_glissandi
from pedalsetter.engrave.output.pictures.practice_sheet import draw_practice_sheet, practice_source
from pedalsetter.engrave.road import plan_score

pytestmark = pytest.mark.engraving

GERMAN = styled(diagram_form="rows", language="German", spelling="words")
FRENCH = styled(diagram_form="line", language="French", spelling="words", font="serif")
SETTING = Setting.read("D C# B E F# G Ab")


def printed(pdf: bytes) -> list[str]:
    """The lines of text on the first page, from top to bottom."""
    page = pypdfium2.PdfDocument(pdf)[0].get_textpage()
    return [line.replace("\u00a0", " ").strip() for line in page.get_text_bounded().splitlines()]


@pytest.mark.parametrize(
    ("style", "lines"),
    [
        (GERMAN, ["E Fis G As", "D Cis H"]),
        (FRENCH, ["Ré Do dièse Si Mi Fa dièse Sol La bémol"]),
    ],
    ids=["rows", "line"],
)
def test_one_diagram_is_in_the_form_of_the_style(style: HouseStyle, lines: list[str]) -> None:
    r"""Letters in two rows, right foot above, or in one line; named as the style names them.

    Source of the German and French names: the tables of note names in LilyPond's ``\language``.
    """
    picture = draw_diagram(SETTING, style)

    assert printed(picture.pdf) == lines
    width, height = pypdfium2.PdfDocument(picture.pdf)[0].get_size()
    (other, high) = pypdfium2.PdfDocument(draw_diagram(SETTING).pdf)[0].get_size()
    assert (height > high) == (style is GERMAN)
    assert width != other


def test_rings_stand_in_letters_too() -> None:
    """The pedals that move are ringed, unless the style rings none: an oval more is drawn."""
    ringed = draw_diagram(SETTING, GERMAN, Setting.of_key(0).letters_unlike(SETTING))
    quiet = styled(diagram_form="rows", language="German", spelling="words", ring_changed=False)
    bare = draw_diagram(SETTING, quiet, Setting.of_key(0).letters_unlike(SETTING))

    assert printed(ringed.pdf) == printed(bare.pdf)
    assert '"E oFis G oAs" "D oCis H"' in ringed.source
    assert "o" not in "".join(re.findall(r'pedal-setting #\'\("(.*?)"\)', bare.source))


def test_a_practice_sheet_follows_the_style() -> None:
    """All settings of the *Chromatic Study* in German letters, those that move named below."""
    planned = plan_score(CHROMATIC_STUDY.path)
    picture = draw_practice_sheet(planned, GERMAN)

    assert page_count(picture.pdf) == 1
    assert 'pedal-diagram "' not in practice_source(planned, GERMAN)
    text = " ".join(printed(picture.pdf))
    assert text.count("Des C H") >= 1
    assert not re.search("[♭♯♮]", text)


def test_wide_diagrams_have_room_side_by_side() -> None:
    """In French words on one line a sheet has fewer columns, and nothing leaves the page."""
    planned = plan_score(CHROMATIC_STUDY.path)
    picture = draw_practice_sheet(planned, FRENCH)

    for page in pypdfium2.PdfDocument(picture.pdf):
        text = page.get_textpage()
        width, _ = page.get_size()
        rights = [text.get_charbox(index)[2] for index in range(text.count_chars())]
        assert max(rights) < width - FRENCH.margin_right_mm
    rows = practice_source(planned, FRENCH).count(r"\line {")
    assert rows > practice_source(planned, GERMAN).count(r"\line {")


def test_an_example_of_a_glissando_follows_the_style() -> None:
    """The setting above its notes stands in letters."""
    wanted = read_pitch_set("Cm7")
    best = glissando_settings(wanted.pitch_classes).best[:1]
    text = " ".join(printed(draw_glissandi(wanted, best, GERMAN).pdf))

    assert re.search("Es (F|Fis|Fes) G Ais", text)
