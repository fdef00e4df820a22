"""The pedal chart of a piece: seven lines in pedal order, time along the bars.

Height shows the position as a diagram does, high for flat, and every change bears its sign, so that
nothing depends on colour. Findings are numbered below the lines and listed under the music.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from pedalsetter.analysis.naming.wording import many
from pedalsetter.engrave.output.chart.page import chart_pages
from pedalsetter.engrave.output.chart.pixels import drawing_png
from pedalsetter.engrave.output.chart.print import drawings_pdf
from pedalsetter.engrave.output.chart.shapes import Drawing
from pedalsetter.engrave.output.chart.svg import drawing_svg
from pedalsetter.engrave.output.files import write_files
from pedalsetter.engrave.output.pages.raster import SCREEN_DPI
from pedalsetter.engrave.output.pictures.picture import form_of, page_names
from pedalsetter.engrave.output.results import PlannedScore

__all__ = ["CHART_FORMS", "Chart", "draw_chart"]

CHART_FORMS = ("pdf", "png", "svg")
"""What a chart can be saved as."""


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart of one A4 page or several; in a notebook it shows its first page."""

    pages: tuple[Drawing, ...]

    @property
    def svg(self) -> tuple[bytes, ...]:
        """One SVG a page."""
        return tuple(drawing_svg(page) for page in self.pages)

    def png(self, dpi: int = 150) -> tuple[bytes, ...]:
        """One grey PNG a page.

        Raises:
            OutputError: ``dpi`` is not from 20 to 600.
        """
        return tuple(drawing_png(page, dpi) for page in self.pages)

    @property
    def pdf(self) -> bytes:
        """All pages in one document, of lines and letters, sharp at any size."""
        return drawings_pdf(self.pages)

    def files(self, path: Path, dpi: int = 150) -> dict[str, bytes]:
        """File names and contents for ``path``, in the form of its suffix.

        Several pages of PNG or SVG are numbered.

        Raises:
            OutputError: the suffix is none of :data:`CHART_FORMS`.
        """
        form = form_of(path, CHART_FORMS)
        if form == "pdf":
            return {path.name: self.pdf}
        pages = self.svg if form == "svg" else self.png(dpi)
        return dict(zip(page_names(path, len(pages)), pages, strict=True))

    def save(
        self, path: str | os.PathLike[str], dpi: int = 150, *, force: bool = False
    ) -> tuple[Path, ...]:
        """Write the chart in the form of the path's suffix, and return the files written.

        Raises:
            OutputError: as :meth:`files`, or a file that is not ours is there and not ``force``.
        """
        target = Path(path)
        return write_files(target.parent, self.files(target, dpi), None, force=force)

    def __repr__(self) -> str:
        return f"<Chart, {many(len(self.pages), 'page')}>"

    def _repr_svg_(self) -> str:
        return drawing_svg(self.pages[0]).decode()

    def _repr_png_(self) -> bytes:
        return drawing_png(self.pages[0], SCREEN_DPI)


def draw_chart(planned: PlannedScore) -> Chart:
    """Draw the chart of a planned part. Linear in bars and changes."""
    return Chart(chart_pages(planned.part, planned.plan))
