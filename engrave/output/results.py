"""What the road brings home: a planned part, and an engraved one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pedalsetter.analysis.decisions import NO_DECISIONS, Decisions
from pedalsetter.analysis.marking import Markings
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.analysis.pedal_plan import Finding, PedalPlan

if TYPE_CHECKING:
    # A plan alone needs nothing of them.
    from pedalsetter.analysis.editing import Edition
    from pedalsetter.engrave.house_style import HouseStyle
    from pedalsetter.engrave.layout.proof import LayoutProof

__all__ = ["EngravedScore", "PlannedScore"]


@dataclass(frozen=True, slots=True)
class PlannedScore:
    """A part, its plan and its marks: the road up to the page."""

    part: HarpPart
    plan: PedalPlan
    markings: Markings
    decisions: Decisions = NO_DECISIONS
    """The musician's, as the plan was asked for; the plan says which of them hold."""
    edition: Edition | None = None
    """What became of the source's own marks, where that was asked; plan and marks are then its."""
    mends_tried: bool = False
    """Mends of the findings were tried; those that help stand with them."""


@dataclass(frozen=True, slots=True)
class EngravedScore:
    """A planned part with everything that is to be written for it."""

    planned: PlannedScore
    source: str
    """LilyPond source, to be opened and edited."""
    pdf: bytes
    pages: tuple[bytes, ...]
    """One PNG a page; empty if none were wanted."""
    notices: tuple[Notice, ...]
    """What was understood only in part, while reading and while engraving."""
    engraver_warnings: tuple[str, ...]
    proof: LayoutProof
    """That no mark touches anything, measured on the engraved pages."""
    stylesheet: str | None = None
    """What the source includes as ``pedals.ily``; None where it stands in the source itself."""
    systems: tuple[bytes, ...] = ()
    """One PNG for each system that holds a mark, if such previews were wanted."""
    contact_sheet: bytes | None = None
    """All pages in one PNG, if wanted."""
    critical_report: tuple[str, str] | None = None
    """The report on the source's marks as Markdown and as HTML, if wanted."""
    house_style: HouseStyle | None = None
    """The style of the pages, which a copy of the score with the marks in it follows too."""
    copy_markings: Markings | None = None
    """The marks for such a copy, where its own systems and pages want others; None for those of
    the page."""
    flagged: tuple[Finding, ...] = ()
    """Findings whose numbers, from 1, stand in the margin of ``pages``."""

    def _repr_png_(self) -> bytes:
        """The first page, for a notebook."""
        # What draws pages is not loaded for those who only plan.
        from pedalsetter.engrave.output.raster import SCREEN_DPI, pages_to_png

        return self.pages[0] if self.pages else pages_to_png(self.pdf, SCREEN_DPI)[0]
