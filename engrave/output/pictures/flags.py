"""Numbered flags in the margin of the pages: where a report's remarks belong."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction

from PIL import Image, ImageDraw, ImageFont

from pedalsetter.engrave.layout.geometry import Line, PageBoxes
from pedalsetter.engrave.output.pages.raster import as_png, page_pictures

__all__ = ["MOST_FLAGS", "as_ranges", "flagged_pages"]

MOST_FLAGS = 3
"""So many flags of one system stand below one another; more are one flag, as in 4–20."""

_HEIGHT_SPACES = 2.6
"""Height of a flag in staff spaces."""

_GREY = 96


def flagged_pages(
    pdf: bytes, boxes: PageBoxes, moments: Sequence[Fraction], dpi: int = 150
) -> tuple[bytes, ...]:
    """One grey PNG a page, with flag 1 beside the system of the first moment, and so on.

    ``moments`` are quarters from the beginning of the score. Flags of one system stand below one
    another in the right margin, many as one; a moment that no system shows gets none.

    Raises:
        OutputError: it is no PDF, or ``dpi`` is not from 20 to 1200.
    """
    by_page: defaultdict[int, list[tuple[Line, int]]] = defaultdict(list)
    for number, moment in enumerate(moments, 1):
        system = boxes.system_at(moment)
        if system is not None:
            by_page[system.page].append((system, number))
    spaces = {page.number: page.space_mm / 25.4 * dpi for page in boxes.pages}
    pages = []
    for page, picture in enumerate(page_pictures(pdf, dpi), 1):
        _draw(picture, by_page[page], spaces.get(page, 0.0))
        pages.append(as_png(picture, dpi))
    return tuple(pages)


def _draw(picture: Image.Image, flags: Sequence[tuple[Line, int]], space: float) -> None:
    """Draw flags on a page; ``space`` is a staff space in pixels."""
    if not flags:
        return
    drawing = ImageDraw.Draw(picture)
    height = _HEIGHT_SPACES * space
    font = ImageFont.load_default(size=max(6.0, 0.7 * height))
    systems: dict[Line, list[int]] = {}
    for system, number in flags:
        systems.setdefault(system, []).append(number)
    for system, numbers in systems.items():
        texts = [str(number) for number in numbers]
        if len(numbers) > MOST_FLAGS:
            texts = [as_ranges(numbers)]
        for row, text in enumerate(texts):
            width = drawing.textlength(text, font=font) + 0.7 * height
            top = system.staff_top * space + row * 1.2 * height
            left = min(system.right * space + 0.4 * height, picture.width - width)
            point = (left - 0.35 * height, top + height / 2)
            drawing.polygon(
                [
                    (left, top),
                    (left + width, top),
                    (left + width, top + height),
                    (left, top + height),
                    point,
                ],
                fill=_GREY,
            )
            drawing.text(
                (left + width / 2, top + height / 2), text, fill=255, font=font, anchor="mm"
            )


def as_ranges(numbers: Sequence[int]) -> str:
    """Numbers, runs of them as ranges.

    >>> as_ranges([4, 5, 6, 9])
    '4–6, 9'
    """
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)
