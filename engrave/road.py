"""The whole road in two functions, for the command line and for programs.

>>> from pedalsetter.engrave.road import plan_score
>>> plan_score("no-such-file.musicxml")
Traceback (most recent call last):
    ...
pedalsetter.analysis.errors.ScoreError: no-such-file.musicxml: there is no such file
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from pedalsetter.analysis.marking import place_marks
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.output.results import EngravedScore, PlannedScore

__all__ = ["EngravedScore", "PlannedScore", "mark_score", "plan_score"]

Progress = Callable[[str], None]


def _silent(_step: str) -> None:
    """Progress that nobody wants to see."""


def plan_score(
    score: str | os.PathLike[str], part: str | None = None, progress: Progress = _silent
) -> PlannedScore:
    """Read the harp part of ``score``, plan it, and decide what is printed where.

    ``part`` picks by name, id or number where the score leaves a doubt.

    Raises:
        ScoreError: the file cannot be read.
        PartError: the harp part cannot be told.
    """
    progress("reading")
    harp_part = read_part(score, part)
    progress("planning")
    plan = plan_changes(harp_part)
    return PlannedScore(harp_part, plan, place_marks(harp_part, plan))


def mark_score(
    score: str | os.PathLike[str],
    part: str | None = None,
    *,
    house_style: str = "final-part",
    dpi: int | None = 150,
    progress: Progress = _silent,
) -> EngravedScore:
    """Plan the harp part of ``score`` and engrave it with its marks; write nothing.

    ``dpi`` is the resolution of the PNG pages in dots an inch, or None for no PNG.

    Raises:
        ScoreError: the file cannot be read.
        PartError: the harp part cannot be told.
        HouseStyleError: there is no such house style.
        EngravingError: the engraver is missing or failed.
    """
    # The engraver's half of the road takes as long to import as a page to engrave; planning
    # alone must not wait for it.
    from pedalsetter.engrave.house_style import load_house_style
    from pedalsetter.engrave.output.press import engrave_part
    from pedalsetter.engrave.output.raster import pages_to_png

    style = load_house_style(house_style)
    planned = plan_score(score, part, progress)
    progress("engraving")
    engraved = engrave_part(planned.part, planned.markings, style)
    pages: tuple[bytes, ...] = ()
    if dpi is not None:
        progress("drawing the pages")
        pages = pages_to_png(engraved.engraving.pdf, dpi)
    return EngravedScore(
        planned=planned,
        source=engraved.document.text,
        pdf=engraved.engraving.pdf,
        pages=pages,
        notices=(*planned.part.warnings, *engraved.document.warnings),
        engraver_warnings=engraved.engraving.warnings,
        proof=engraved.proof,
    )


def stem_of(score: str | os.PathLike[str]) -> str:
    """The name that results of ``score`` begin with: its file name without suffixes."""
    return Path(score).name.removesuffix(Path(score).suffix) or "score"
