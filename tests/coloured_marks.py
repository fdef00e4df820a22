"""Marks drawn in colours of their own, found again in the picture of the page."""

from __future__ import annotations

import re
from dataclasses import dataclass

import pypdfium2 as pdfium
from PIL import ImageChops

from pedalsetter.engrave.layout.geometry import Box, PageBoxes

DPI = 300

BEARING = 0.4
"""Staff spaces of white that the font keeps beside a letter within its box."""


@dataclass(frozen=True)
class Disagreement:
    """A mark whose ink lies elsewhere than its box says; both in staff spaces."""

    name: str
    page: int
    box: Box
    ink: Box | None


def coloured(source: str, names: list[str]) -> str:
    """The source with every mark in a colour that belongs to no other."""
    # the stylesheet above the first lane has examples of its own
    head, lanes, music = source.partition("rowOfDiagrams = {")
    for number, name in enumerate(names):
        red, green, blue = (value / 255 for value in colour_of(number))
        tweak = rf"\tweak color #(rgb-color {red:.6f} {green:.6f} {blue:.6f}) "
        found = re.search(rf'(\\tweak [^"\n]*)?\\pedal(?:Diagram|Letters?) "{name}" ', music)
        assert found is not None, name
        start = found.start()
        dash = "" if found[1] else "-"
        music = f"{music[:start]}{dash}{tweak}{music[start:]}"
    return head + lanes + music


def colour_of(number: int) -> tuple[int, int, int]:
    """A colour without red, for up to 256 marks.

    The edges of ink are mixed with the white of the paper and so always have some red: they are
    not taken for the ink of another mark.
    """
    return 0, 255 - number // 16 * 12, 255 - number % 16 * 12


def disagreements(pdf: bytes, boxes: PageBoxes, names: list[str]) -> list[Disagreement]:
    """The marks whose coloured ink is not what their box encloses, to two pixels and a half."""
    numbers = {colour_of(number): name for number, name in enumerate(names)}
    found: list[Disagreement] = []
    document = pdfium.PdfDocument(pdf)
    for page in boxes.pages:
        picture = document[page.number - 1].render(scale=DPI / 72).to_pil().convert("RGB")
        space = page.space_mm / 25.4 * DPI
        ink: dict[str, list[int]] = {}
        data, width = picture.tobytes(), picture.width
        red, green, _ = picture.split()
        full = ImageChops.multiply(
            red.point([255] + [0] * 255), green.point([0] + [255] * 255)
        ).tobytes()
        for match in re.finditer(rb"\xff", full):
            place = match.start()
            colour = (data[3 * place], data[3 * place + 1], data[3 * place + 2])
            if colour not in numbers:
                continue
            y, x = divmod(place, width)
            edge = ink.setdefault(numbers[colour], [x, y, x, y])
            edge[0], edge[2] = min(edge[0], x), max(edge[2], x)
            edge[1], edge[3] = min(edge[1], y), max(edge[3], y)
        for mark in boxes.marks:
            if mark.page != page.number:
                continue
            seen = ink.get(mark.name)
            where = None
            if seen is not None:
                left, top, right, bottom = seen
                where = Box(left / space, top / space, (right + 1) / space, (bottom + 1) / space)
            bearing = 0.0 if mark.row == "pedal-diagram" else BEARING
            if where is None or not _agree(mark.ink, where, 2.5 / space, bearing):
                found.append(Disagreement(mark.name, page.number, mark.ink, where))
    return found


def _agree(box: Box, ink: Box, pixel: float, bearing: float) -> bool:
    """Ink lies inside the box, and left and right it reaches its edges but for a letter's bearing.

    Above and below a box keeps room for a ring or a second line that need not be there.
    """
    return (
        -pixel <= ink.left - box.left <= pixel + bearing
        and -pixel <= box.right - ink.right <= pixel + bearing
        and ink.top >= box.top - pixel
        and ink.bottom <= box.bottom + pixel
    )
