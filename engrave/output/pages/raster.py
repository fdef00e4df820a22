"""Pages as pictures: PNG from the PDF, grey, the same bytes from run to run."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import pypdfium2 as pdfium
from PIL import Image

from pedalsetter.analysis.errors import OutputError
from pedalsetter.engrave.layout.geometry import PageBoxes

__all__ = [
    "SCREEN_DPI",
    "as_png",
    "contact_sheet",
    "marked_systems",
    "page_count",
    "page_pictures",
    "pages_to_png",
]

# Level 1 is nearly as small as level 9 on engraved pages and several times as fast.
_COMPRESSION = 1
_WHITE = 255
SCREEN_DPI = 110
"""Resolution of a picture that a notebook shows, dots an inch."""
_AROUND = 2.0
"""Staff spaces of paper around the picture of a system."""


def page_count(pdf: bytes) -> int:
    """How many pages a PDF has.

    Raises:
        OutputError: it is no PDF.
    """
    with _opened(pdf) as document:
        return len(document)


def pages_to_png(pdf: bytes, dpi: int = 150) -> tuple[bytes, ...]:
    """One grey PNG a page.

    Raises:
        OutputError: it is no PDF, or ``dpi`` is not from 20 to 1200.
    """
    # Drawing and packing both leave the interpreter free, so they go on side by side.
    with ThreadPoolExecutor(max_workers=1) as packer:
        packed = [packer.submit(as_png, page, dpi) for page in page_pictures(pdf, dpi)]
        return tuple(page.result() for page in packed)


def contact_sheet(pdf: bytes, columns: int = 4, page_width: int = 320) -> bytes:
    """All pages in one grey PNG, row by row, each ``page_width`` pixels wide.

    Raises:
        OutputError: it is no PDF.
    """
    # Drawn at three times the size and brought down, so that staff lines stay even.
    pages = [
        picture.resize(
            (page_width, round(picture.height * page_width / picture.width)),
            Image.Resampling.LANCZOS,
        )
        for picture in page_pictures(pdf, 108)
    ]
    gap = page_width // 20
    rows = math.ceil(len(pages) / columns)
    across = min(columns, len(pages))
    height = max(page.height for page in pages)
    sheet = Image.new(
        "L", (gap + across * (page_width + gap), gap + rows * (height + gap)), color=200
    )
    for index, page in enumerate(pages):
        row, column = divmod(index, columns)
        sheet.paste(page, (gap + column * (page_width + gap), gap + row * (height + gap)))
    return as_png(sheet, None)


def marked_systems(pdf: bytes, boxes: PageBoxes, dpi: int = 150) -> tuple[bytes, ...]:
    """One grey PNG for each system that holds a pedal mark, in the order of the score.

    Raises:
        OutputError: it is no PDF, or ``dpi`` is not from 20 to 1200.
    """
    marked = {(mark.page, mark.line) for mark in boxes.marks}
    spaces = {page.number: page.space_mm / 25.4 * dpi for page in boxes.pages}
    pictures = []
    for number, picture in enumerate(page_pictures(pdf, dpi), 1):
        for line in boxes.lines:
            if line.page == number and (number, line.line) in marked:
                box, space = line.box, spaces[number]
                edges = (
                    max(0, round((box.left - _AROUND) * space)),
                    max(0, round((box.top - _AROUND) * space)),
                    min(picture.width, round((box.right + _AROUND) * space)),
                    min(picture.height, round((box.bottom + _AROUND) * space)),
                )
                pictures.append(as_png(picture.crop(edges), dpi))
    return tuple(pictures)


@contextmanager
def _opened(pdf: bytes) -> Iterator[pdfium.PdfDocument]:
    try:
        document = pdfium.PdfDocument(pdf)
    except pdfium.PdfiumError as error:
        raise OutputError("the engraver's PDF cannot be read back") from error
    try:
        yield document
    finally:
        document.close()


def page_pictures(pdf: bytes, dpi: int) -> Iterator[Image.Image]:
    """Each page as a grey picture, drawn only when it is asked for.

    Raises:
        OutputError: it is no PDF, or ``dpi`` is not from 20 to 1200.
    """
    if not 20 <= dpi <= 1200:
        raise OutputError(f"pictures can have 20 to 1200 dots an inch, not {dpi}")
    with _opened(pdf) as document:
        for index in range(len(document)):
            page = document[index]
            bitmap = page.render(scale=dpi / 72, grayscale=True, fill_color=(_WHITE,) * 4)
            yield bitmap.to_pil().convert("L")
            page.close()


def as_png(picture: Image.Image, dpi: int | None) -> bytes:
    """A grey picture as PNG; sixteen greys are enough for smooth edges and halve the file."""
    buffer = io.BytesIO()
    options: dict[str, Sequence[int]] = {} if dpi is None else {"dpi": (dpi, dpi)}
    _sixteen_greys(picture).save(buffer, "PNG", compress_level=_COMPRESSION, bits=4, **options)
    return buffer.getvalue()


def _sixteen_greys(picture: Image.Image) -> Image.Image:
    """The picture with a palette of sixteen even greys."""
    step = _WHITE // 15
    reduced = picture.point([min(15, round(value / step)) for value in range(256)])
    palette = Image.frombytes("P", reduced.size, reduced.tobytes())
    palette.putpalette([value * step for value in range(16) for _ in range(3)])
    return palette
