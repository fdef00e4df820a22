"""Small pictures that LilyPond draws, and files in the form that their name asks for."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pedalsetter.analysis.errors import EngravingError, OutputError
from pedalsetter.analysis.naming.wording import many
from pedalsetter.engrave.output.files import write_files
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.raster import SCREEN_DPI, page_count, pages_to_png

__all__ = ["FORMS", "EngravedPicture", "draw_with_lilypond", "form_of", "page_names"]

FORMS = ("png", "svg", "pdf", "ly")
"""What a picture from LilyPond can be saved as."""


@dataclass(frozen=True, slots=True)
class EngravedPicture:
    """A picture of one page or several, and its source; in a notebook it shows its first page."""

    source: str
    """LilyPond source, whole in one file."""
    pdf: bytes
    svg: tuple[bytes, ...]
    """One drawing a page; all signs are outlines, so that no font is needed. Empty where LilyPond
    was built without cairo."""

    def png(self, dpi: int = 150) -> tuple[bytes, ...]:
        """One grey PNG a page.

        Raises:
            OutputError: ``dpi`` is not from 20 to 1200.
        """
        return pages_to_png(self.pdf, dpi)

    def files(self, path: Path, dpi: int = 150) -> dict[str, bytes]:
        """File names and contents to be written for ``path``, in the form of its suffix.

        Several pages of PNG or SVG are numbered: ``sheet-1.png``, ``sheet-2.png`` …

        Raises:
            OutputError: the suffix is none of :data:`FORMS`, or ``dpi`` is not from 20 to 1200.
            EngravingError: SVG is asked for, and this LilyPond draws none.
        """
        form = form_of(path, FORMS)
        if form == "ly":
            return {path.name: self.source.encode()}
        if form == "pdf":
            return {path.name: self.pdf}
        if form == "svg" and not self.svg:
            raise EngravingError(
                "this LilyPond was built without cairo and draws no SVG",
                mend="Ask for PDF or PNG.",
            )
        pages = self.svg if form == "svg" else self.png(dpi)
        return dict(zip(page_names(path, len(pages)), pages, strict=True))

    def save(
        self, path: str | os.PathLike[str], dpi: int = 150, *, force: bool = False
    ) -> tuple[Path, ...]:
        """Write the picture in the form of the path's suffix, and return the files written.

        Raises:
            OutputError: as :meth:`files`, or a file that is not ours is there and not ``force``.
            EngravingError: as :meth:`files`.
        """
        target = Path(path)
        return write_files(target.parent, self.files(target, dpi), None, force=force)

    def __repr__(self) -> str:
        return f"<EngravedPicture, {many(page_count(self.pdf), 'page')}>"

    def _repr_svg_(self) -> str | None:
        return self.svg[0].decode() if self.svg else None

    def _repr_png_(self) -> bytes:
        return self.png(SCREEN_DPI)[0]


def draw_with_lilypond(source: str) -> EngravedPicture:
    """Engrave ``source`` as a picture; the same source gives the same bytes.

    Raises:
        EngravingError: LilyPond is missing or failed.
    """
    engraving = engrave(source, svg=True)
    return EngravedPicture(source, engraving.pdf, engraving.svg)


def form_of(path: Path, forms: Sequence[str]) -> str:
    """The form that a file's suffix asks for, in small letters without its dot.

    Raises:
        OutputError: there is no suffix, or it is none of ``forms``.
    """
    form = path.suffix.removeprefix(".").lower()
    if form in forms:
        return form
    listed = f"{', '.join(f'.{one}' for one in forms[:-1])} or .{forms[-1]}"
    raise OutputError(
        f"a picture cannot be saved as '{path.name}'", mend=f"End its name in {listed}."
    )


def page_names(path: Path, pages: int) -> list[str]:
    """The name of each page's file: the one of ``path``, numbered if there are several."""
    if pages == 1:
        return [path.name]
    return [f"{path.stem}-{page}{path.suffix}" for page in range(1, pages + 1)]
