"""What the road brings home: a planned part, and an engraved one."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pedalsetter.analysis.decisions.values import NO_DECISIONS, Decisions
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.naming.wording import many
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.analysis.pedal_plan import Finding, PedalPlan
from pedalsetter.engrave.output.reports.entries import verdict

if TYPE_CHECKING:
    # A plan alone needs nothing of them.
    from pedalsetter.analysis.editing import Edition
    from pedalsetter.analysis.ensemble.cues import Cue
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

    @property
    def verdict(self) -> str:
        """One sentence for a musician: whether it can be played, and where not."""
        return verdict(self.part, self.plan)

    def __repr__(self) -> str:
        return f"<PlannedScore of {self.part.source.file}: {self.verdict}>"

    def _repr_html_(self) -> str:
        """The plan as a table, for a notebook."""
        from pedalsetter.engrave.output.reports.plan_view import plan_html

        return plan_html(self.part, self.plan)


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
    proof_page: str | None = None
    """The proof for the harpist as HTML, if wanted."""
    house_style: HouseStyle | None = None
    """The style of the pages, which a copy of the score with the marks in it follows too."""
    copy_markings: Markings | None = None
    """The marks for such a copy, where its own systems and pages want others; None for those of
    the page."""
    cues: tuple[Cue, ...] = ()
    """What other parts play before the harp comes in, as it was added to the page."""
    flagged: tuple[Finding, ...] = ()
    """Findings whose numbers, from 1, stand in the margin of ``pages``."""

    def files(self, path: str | os.PathLike[str]) -> dict[str, bytes]:
        """File names and contents for ``path``: .pdf, .ly, .png (pages numbered) or .json (plan).

        Raises:
            OutputError: the suffix is none of these.
        """
        from pedalsetter.engrave.output.pages.raster import pages_to_png
        from pedalsetter.engrave.output.pictures.picture import form_of, page_names
        from pedalsetter.engrave.output.reports.plan_document import plan_json

        target = Path(path)
        form = form_of(target, ("pdf", "ly", "png", "json"))
        if form == "png":
            pages = self.pages or pages_to_png(self.pdf)
            return dict(zip(page_names(target, len(pages)), pages, strict=True))
        planned = self.planned
        contents = {"pdf": self.pdf, "ly": self.source.encode()}
        if form == "json":
            document = plan_json(planned.part, planned.plan, planned.markings, self.notices)
            contents[form] = document.encode()
        return {target.name: contents[form]}

    def save(self, path: str | os.PathLike[str], *, force: bool = False) -> tuple[Path, ...]:
        """Write what the path's suffix asks for, and return the files written.

        Raises:
            OutputError: as :meth:`files`, or a file that is not ours is there and not ``force``.
        """
        from pedalsetter.engrave.output.files import write_files

        return write_files(Path(path).parent, self.files(path), None, force=force)

    def __repr__(self) -> str:
        pages = many(self.proof.pages, "page")
        return f"<EngravedScore of {self.planned.part.source.file}, {pages}>"

    def _repr_png_(self) -> bytes:
        """The first page, for a notebook."""
        # What draws pages is not loaded for those who only plan.
        from pedalsetter.engrave.output.pages.raster import SCREEN_DPI, pages_to_png

        return self.pages[0] if self.pages else pages_to_png(self.pdf, SCREEN_DPI)[0]
