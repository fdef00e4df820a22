"""Pages of a house: titles, heads, feet, numbers and fonts, read back from the PDF."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pypdfium2 as pdfium
import pytest
from part_builder import build_part

from pedalsetter.analysis.errors import HouseStyleError
from pedalsetter.analysis.marking import Markings
from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import HouseStyle, load_house_style
from pedalsetter.engrave.output.fonts import check_fonts, text_families
from pedalsetter.engrave.output.press import EngravedPart, engrave_part

pytestmark = pytest.mark.engraving

PART: HarpPart = replace(
    build_part(*["C5/e E5/e G5/e E5/e C5/h | C3/h G3/h"] * 48, movements=(24,)),
    movement_titles=("I. Andante", "II. Vivace"),
    rights="© The Score's Own",
)
"""Two movements on at least two pages of large staves."""

HOUSE: HouseStyle = replace(
    load_house_style(),
    staff_size_points=26.0,
    staff_shrink_percent=0,
    running_head="part",
    first_page_number=True,
    copyright_on="last",
    copyright="© The Invented House",
    plate_number="I. H. 1204",
    instrument_place="right",
    text_font="TeX Gyre Heros",
)
"""A house that wants everything otherwise; the font comes with LilyPond."""


@cache
def engraved(style: HouseStyle) -> EngravedPart:
    """The part in a style."""
    return engrave_part(PART, Markings((), ()), style)


def words(style: HouseStyle) -> list[str]:
    """The text of each page."""
    document = pdfium.PdfDocument(engraved(style).engraving.pdf)
    return [page.get_textpage().get_text_range() for page in document]


def place_of(style: HouseStyle, text: str) -> tuple[float, float]:
    """Where a text begins on the first page, as shares of its width and height from below."""
    page = pdfium.PdfDocument(engraved(style).engraving.pdf)[0]
    found = page.get_textpage().search(text).get_next()
    left, bottom, _, _ = page.get_textpage().get_charbox(found[0])
    return left / page.get_width(), bottom / page.get_height()


def test_heads_and_feet_say_what_the_house_wants() -> None:
    """Plate number on every page, copyright on the last, a number on the first, the part alone."""
    first, *between, last = words(HOUSE)
    assert all("I. H. 1204" in page for page in (first, *between, last))
    assert "The Invented House" in last
    assert "The Invented House" not in first
    assert "Score's Own" not in first + last
    assert first.split().count("1") > words(replace(HOUSE, first_page_number=False))[
        0
    ].split().count("1")
    assert "Built" not in last
    assert "Harp" in last
    assert place_of(HOUSE, "I. H. 1204")[1] < 0.08
    assert place_of(HOUSE, "Harp")[0] > 0.7
    assert engraved(HOUSE).proof.failures == ()


def test_the_default_has_the_copyright_of_the_score_on_its_first_page() -> None:
    """As LilyPond does by itself."""
    plain = replace(load_house_style(), staff_size_points=26.0)
    first, *_, last = words(plain)
    assert "Score's Own" in first
    assert "Score's Own" not in last


def test_a_movement_has_its_title_over_a_system_of_its_own() -> None:
    """The second movement begins a system, whatever else is chosen; the title may be left out."""
    text = "".join(words(HOUSE))
    assert "II. Vivace" in text
    assert "I. Andante" not in text.replace("II. Andante", "")
    systems = [line for line in engraved(HOUSE).placement.boxes.lines if line.is_system]
    assert PART.bars[24].start in {line.start for line in systems}
    assert "Vivace" not in "".join(words(replace(HOUSE, movement_titles=False)))


def test_a_font_that_is_there_is_used_and_one_that_is_not_is_told() -> None:
    """LilyPond would take another one without a word."""
    assert b"TeXGyreHeros" in engraved(HOUSE).engraving.pdf
    assert "TeX Gyre Heros" in text_families()
    with pytest.raises(HouseStyleError) as caught:
        check_fonts(replace(HOUSE, text_font="TeX Gyre Heroes"))
    assert str(caught.value) == (
        "fonts.text: LilyPond finds no font family 'TeX Gyre Heroes'. Did you mean "
        "'TeX Gyre Heros'? Install it for this user, or leave the option empty."
    )
