"""Pages as pictures."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from pedalsetter.analysis.errors import OutputError
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.raster import contact_sheet, page_count, pages_to_png

pytestmark = pytest.mark.engraving

TWO_PAGES = (
    '\\version "2.24.0"\n#(set-default-paper-size "a5")\n\\header { tagline = ##f }\n'
    "{ c'1 \\pageBreak d'1 }\n"
)


@pytest.fixture(scope="module")
def pdf() -> bytes:
    """Two pages of A5."""
    return engrave(TWO_PAGES).pdf


def test_one_picture_a_page_in_the_size_of_the_paper(pdf: bytes) -> None:
    """A5 is 148 by 210 mm (ISO 216): at 150 dots an inch 874 by 1240."""
    pages = pages_to_png(pdf)
    assert page_count(pdf) == len(pages) == 2
    for page in pages:
        picture = Image.open(io.BytesIO(page))
        assert picture.size[0] == pytest.approx(148 / 25.4 * 150, abs=2.5)
        assert picture.size[1] == pytest.approx(210 / 25.4 * 150, abs=2.5)
        assert round(picture.info["dpi"][0]) == 150


def test_the_resolution_is_as_asked_for(pdf: bytes) -> None:
    """Twice the dots an inch, twice the width."""
    coarse, fine = (Image.open(io.BytesIO(pages_to_png(pdf, dpi)[0])) for dpi in (60, 120))
    assert fine.size[0] == pytest.approx(2 * coarse.size[0], abs=2)


def test_pictures_are_grey_small_and_the_same_each_time(pdf: bytes) -> None:
    """Black ink on white paper, no colour, no clock; a nearly empty page takes few bytes."""
    first = pages_to_png(pdf)
    assert first == pages_to_png(pdf)
    data = Image.open(io.BytesIO(first[0])).convert("RGB").tobytes()
    red, green, blue = data[::3], data[1::3], data[2::3]
    assert red == green == blue
    assert {0, 255} <= set(red)
    assert len(first[0]) < 40_000


def test_the_contact_sheet_shows_every_page(pdf: bytes) -> None:
    """Two pages stand side by side on the sheet, each with ink on it."""
    sheet = Image.open(io.BytesIO(contact_sheet(pdf, columns=2, page_width=200))).convert("L")
    height = round(200 * 210 / 148)
    assert sheet.size[0] == 10 + 2 * 210
    assert sheet.size[1] == pytest.approx(20 + height, abs=2)
    for left in (10, 220):
        page = sheet.crop((left, 10, left + 200, 10 + height - 2))
        darkest, lightest = min(page.tobytes()), max(page.tobytes())
        assert lightest == 255
        assert darkest < 128


def test_what_is_no_pdf_is_told() -> None:
    """A broken file gives one line."""
    with pytest.raises(OutputError) as caught:
        pages_to_png(b"no pdf")
    assert str(caught.value) == "the engraver's PDF cannot be read back"


@pytest.mark.parametrize("dpi", [0, 19, 1201])
def test_impossible_resolutions_are_told(pdf: bytes, dpi: int) -> None:
    """A picture of nothing, or of a gigabyte, is refused."""
    with pytest.raises(OutputError) as caught:
        pages_to_png(pdf, dpi)
    assert str(caught.value) == f"pictures can have 20 to 1200 dots an inch, not {dpi}"
