"""Pages of a house: titles, heads, feet, numbers and fonts, read back from the PDF."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pypdfium2 as pdfium
import pytest
from long_parts import long_part
from part_builder import build_part

from pedalsetter.analysis.errors import HouseStyleError
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import HouseStyle, load_house_style
from pedalsetter.engrave.output.pages.fonts import check_fonts, text_families
from pedalsetter.engrave.output.pages.press import EngravedPart, engrave_part

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


def inner_and_outer(style: HouseStyle) -> list[tuple[float, float]]:
    """White left and right of the staves on each page, in millimetres, by the engraver's boxes."""
    boxes = engraved(style).placement.boxes
    found = []
    for page in boxes.pages:
        line = next(one for one in boxes.lines if one.page == page.number and one.is_system)
        right = (page.width - line.right) * page.space_mm
        found.append((line.music_left * page.space_mm, right))
    return found


def test_mirrored_margins_change_sides_on_left_hand_pages() -> None:
    """The inner margin of a bound part is at the spine (common practice, no source).

    Held against the picture too: on page 2 no ink stands in the outer margin on its left.
    """
    style = replace(HOUSE, mirrored=True, margin_left_mm=35.0, margin_right_mm=15.0)
    white = inner_and_outer(style)
    assert [round(right) for _, right in white[:2]] == [15, 35]
    assert white[0][0] - white[1][0] > 10
    document = pdfium.PdfDocument(engraved(style).engraving.pdf)
    for number, left in ((0, 35), (1, 15)):
        picture = document[number].render(scale=2, grayscale=True).to_numpy()
        inked = (picture < 128).any(axis=0).nonzero()[0]
        assert inked[0] / 2 / 72 * 25.4 > left - 6
        assert inked[0] / 2 / 72 * 25.4 < left + 6


def test_a_part_may_begin_on_a_left_hand_page() -> None:
    """Then its first page has the number 2, at the outer corner, on the left."""
    style = replace(HOUSE, first_page="left")
    assert [page.is_left for page in engraved(style).placement.boxes.pages][:2] == [True, False]
    assert not engraved(HOUSE).placement.boxes.pages[0].is_left
    across, _ = place_of(style, "2")
    assert across < 0.2
    assert place_of(HOUSE, "1")[0] > 0.8


def test_two_pages_that_begin_on_the_left_are_turned_after_the_second() -> None:
    """Pages 2 and 3 lie open; what is turned is the right-hand one."""
    part = long_part(3)
    style = replace(load_house_style(), first_page="left")
    fill = engrave_part(part, Markings((), ()), style).proof.fill
    assert len(fill) >= 3
    assert [page.turn is not None for page in fill[:3]] == [False, True, False]
