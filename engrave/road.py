"""The whole road in two functions, for the command line and for programs.

>>> from pedalsetter.engrave.road import plan_score
>>> plan_score("no-such-file.musicxml")
Traceback (most recent call last):
    ...
pedalsetter.analysis.errors.ScoreError: no-such-file.musicxml: there is no such file
"""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from pedalsetter.analysis.decisions.file import decisions_beside
from pedalsetter.analysis.decisions.values import NO_DECISIONS, Decisions
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.marks.marking import Markings, MarkingWishes, place_marks
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.analysis.pedal_plan import Finding, PedalPlan
from pedalsetter.analysis.planning import USUAL, Effort, Weights
from pedalsetter.analysis.planning.pins import weights_under
from pedalsetter.engrave.output.late_imports import loaded_late
from pedalsetter.engrave.output.results import EngravedScore, PlannedScore
from pedalsetter.engrave.plan_road import (
    Progress,
    decisions_for,
    plan_score,
    silent,
    with_tried_mends,
)

if TYPE_CHECKING:
    from pedalsetter.analysis.ensemble.cues import Cue
    from pedalsetter.engrave.house_style import HouseStyle

__all__ = [
    "EngravedScore",
    "PlannedScore",
    "Progress",
    "ProofBeside",
    "Wanted",
    "copy_score",
    "decisions_for",
    "files_of",
    "load_engraving",
    "mark_score",
    "plan_score",
    "proof_beside",
    "silent",
    "stem_of",
    "style_of",
]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a caller may want otherwise than plain pages from a source in one file."""

    standalone: bool = True
    """The stylesheet stands in the source; otherwise beside it as ``pedals.ily``."""
    source_systems: bool = False
    """Systems and pages break where those of the score do."""
    marked_systems_only: bool = False
    """No pictures of pages, but of the systems that hold marks."""
    flags: bool = False
    """Numbers of the findings stand in the margin of the pictures."""
    contact_sheet: bool = False
    """All pages on one picture as well."""
    mends: bool = False
    """Mends of the findings are tried."""
    critical_report: bool = False
    """The report on the source's own marks as well."""
    proof: bool = False
    """The proof for the harpist as well."""
    marked_copy: bool = False
    """The marks will be written back, so that a score which cannot hold them is refused at once."""
    copy_format: str | None = None
    """The format that the score must then have: ``musicxml`` or ``mei``; None for either."""
    respelled_notes: str | None = None
    """How notes on other strings are printed: ``named``, ``rewritten`` or ``as-written``; None for
    what the house style says."""


@dataclass(frozen=True, slots=True)
class ProofBeside:
    """What a proof takes up from the last time."""

    decisions: str = ""
    """The file of decisions, as it is."""
    earlier: str = ""
    """The last proof's HTML; empty if there is none."""


def proof_beside(
    decisions: str | os.PathLike[str] | None, earlier: str | os.PathLike[str] | None = None
) -> ProofBeside:
    """What stands in the file of decisions and in the last proof; nothing where there is none."""

    def text(path: str | os.PathLike[str] | None) -> str:
        try:
            return "" if path is None else Path(path).read_text("utf-8-sig")
        except (OSError, ValueError):
            return ""

    return ProofBeside(text(decisions), text(earlier))


NOTHING_BESIDE = ProofBeside()
"""A first proof."""

REPORT_DPI = 150
"""Resolution of the pictures in a critical report where no others are drawn, dots an inch."""

PLAIN = Wanted()
"""Nothing otherwise."""


def style_of(house_style: str, wanted: Wanted) -> HouseStyle:
    """The house style of that name, or in that file, with what is wanted otherwise.

    Raises:
        HouseStyleError: there is no such style, or it says something impossible.
    """
    from pedalsetter.engrave.house_style import load_house_style

    style = load_house_style(house_style)
    return replace(style, respelled_notes=wanted.respelled_notes or style.respelled_notes)


def mark_score(
    score: str | os.PathLike[str],
    part: str | int | None = None,
    *,
    house_style: str = "final-part",
    dpi: int | None = 150,
    wanted: Wanted = PLAIN,
    progress: Progress = silent,
    decisions: Decisions = NO_DECISIONS,
    effort: Effort = USUAL,
    source_marks: SourceMarks = SourceMarks.REPLACE,
    proof_beside: ProofBeside = NOTHING_BESIDE,
) -> EngravedScore:
    """Plan the harp part of ``score`` and engrave it with its marks; write nothing.

    ``dpi`` is the resolution of the PNG pages in dots an inch, or None for no PNG. ``wanted`` says
    what is to come out otherwise, ``effort`` how much the plan may cost to find, and
    ``source_marks`` what becomes of the pedal marks that the score has of its own. ``proof_beside``
    is what a proof takes up from the last one.

    Raises:
        ScoreError: the file cannot be read.
        OutputError: the marks are to be written back, and the score's format cannot hold them.
        PartError: the harp part cannot be told.
        HouseStyleError: there is no such house style.
        EngravingError: the engraver is missing or failed.
        DecisionsError: the decisions contradict themselves.
    """
    # LilyPond comes up while the score is read and planned, and what writes its source is imported
    # meanwhile too: planning alone must not wait for it.
    from pedalsetter.engrave.output.pages.engraver import start_engraver

    style = style_of(house_style, wanted)
    waiting = start_engraver()
    try:
        from pedalsetter.analysis.editing import with_given_diagrams

        planned = plan_score(
            score, part, progress, decisions=decisions, effort=effort, elsewhere=wanted.proof
        )
        # What the page says is told of the page; what the plan would have, of no page.
        planned, style, told = _marked(planned, style, style.wishes, source_marks)
        if wanted.marked_copy:
            from pedalsetter.engrave.output.write_back.marked_copy import check_format

            check_format(planned.part, wanted.copy_format)
        shown, cues, planned = _cued(score, planned, style.cue_after_rest_bars, progress)
        progress("engraving")
        _load_writer()
        from pedalsetter.engrave.notation.string_names import as_printed
        from pedalsetter.engrave.output.pages.settled_press import engrave_settled, heads_of_source

        def marked(wishes: MarkingWishes) -> Markings:
            # What stands in the source stays where it stands, whatever the style wishes.
            if not _is_planned(planned):
                return planned.markings
            placed = place_marks(planned.part, planned.plan, wishes)
            return with_given_diagrams(planned.part, planned.plan, placed)

        def mend() -> None:
            # Mends change what is told of the findings, and nothing on the page.
            nonlocal told
            told = with_tried_mends(planned.part, told, decisions, progress)

        settled = engrave_settled(
            shown
            if source_marks is SourceMarks.KEEP
            else as_printed(
                shown,
                planned.plan,
                style,
                own_names=source_marks is SourceMarks.REPLACE,
            ),
            marked,
            style,
            standalone=wanted.standalone,
            source_systems=wanted.source_systems,
            waiting=waiting,
            meanwhile=mend if wanted.mends and told.findings else None,
        )
    finally:
        if waiting is not None:
            waiting.dismiss()
    from pedalsetter.engrave.output.pages.page import stylesheet
    from pedalsetter.engrave.output.pages.raster import contact_sheet, marked_systems, pages_to_png
    from pedalsetter.engrave.output.pictures.flags import flagged_pages
    from pedalsetter.engrave.output.reports.plan_document import findings_that_matter

    heads = heads_of_source(planned.part, style)
    in_copy = None
    if wanted.marked_copy and heads is not None:
        in_copy = marked(replace(style.wishes, also_at=heads))
    engraved = settled.engraved
    planned = _finished(planned, settled.markings, told.findings)
    planned = replace(planned, mends_tried=wanted.mends)
    pdf, boxes = engraved.engraving.pdf, engraved.engraving.boxes
    pages: tuple[bytes, ...] = ()
    systems: tuple[bytes, ...] = ()
    flagged = findings_that_matter(planned.plan.findings) if wanted.flags else ()
    if dpi is not None:
        progress("drawing the pages")
        if wanted.marked_systems_only:
            systems = marked_systems(pdf, boxes, dpi)
        elif flagged:
            moments = [planned.part.onset_of(finding.place) for finding in flagged]
            pages = flagged_pages(pdf, boxes, moments, dpi)
        else:
            pages = pages_to_png(pdf, dpi)
    report = None
    if wanted.critical_report and planned.edition is not None:
        from pedalsetter.engrave.output.reports.critical_report import (
            critical_html,
            critical_markdown,
        )

        bare = pages if pages and not flagged else pages_to_png(pdf, dpi or REPORT_DPI)
        report = (
            critical_markdown(planned.part, planned.edition, style),
            critical_html(planned.part, planned.edition, bare, engraved.placement, style),
        )
    proof_page = None
    if wanted.proof:
        from pedalsetter.engrave.output.proof_page import proof_html

        proof_page = proof_html(
            planned.part,
            planned.plan,
            engraved.placement,
            pages if pages and not flagged else pages_to_png(pdf, REPORT_DPI),
            download=decisions_beside(score).name,
            given=proof_beside.decisions,
            earlier=proof_beside.earlier,
        )
    return EngravedScore(
        planned=planned,
        proof_page=proof_page,
        source=engraved.document.text,
        pdf=pdf,
        pages=pages,
        notices=(*planned.part.warnings, *engraved.document.warnings),
        engraver_warnings=engraved.engraving.warnings,
        proof=engraved.proof,
        stylesheet=None if wanted.standalone else stylesheet(),
        systems=systems,
        contact_sheet=contact_sheet(pdf) if wanted.contact_sheet else None,
        critical_report=report,
        house_style=style,
        copy_markings=in_copy,
        cues=cues,
        flagged=flagged,
    )


def _cued(
    score: str | os.PathLike[str], planned: PlannedScore, after_bars: int, progress: Progress
) -> tuple[HarpPart, tuple[Cue, ...], PlannedScore]:
    """The part with cues from the other parts of its score, as the style and the musician want.

    What became of the musician's decisions about them stands in the plan.
    """
    decided = planned.decisions.cues
    if not after_bars and not decided:
        return planned.part, (), planned
    from pedalsetter.analysis.ensemble.cues import with_cues
    from pedalsetter.analysis.ensemble.full_score import read_full_score

    progress("reading the other parts")
    whole = read_full_score(score, planned.part)
    shown, cues, results = with_cues(planned.part, whole, after_bars, decided)
    plan = replace(planned.plan, decisions=(*planned.plan.decisions, *results))
    edition = planned.edition and replace(planned.edition, plan=plan)
    return shown, cues, replace(planned, plan=plan, edition=edition)


def copy_score(
    score: str | os.PathLike[str],
    part: str | None = None,
    *,
    house_style: str = "final-part",
    wanted: Wanted = PLAIN,
    progress: Progress = silent,
    decisions: Decisions = NO_DECISIONS,
    effort: Effort = USUAL,
    source_marks: SourceMarks = SourceMarks.REPLACE,
    stem: str | None = None,
) -> tuple[PlannedScore, dict[str, bytes], tuple[Notice, ...]]:
    """Plan the harp part and put its marks into a copy of the score, without engraving anything.

    Returns the plan, the files to be written by name (plan and copy), and all notices. Diagrams
    at the heads of systems and pages stand where the score itself tells of these.

    Raises:
        PedalsetterError: as :func:`mark_score`, but for the engraver.
    """
    from pedalsetter.engrave.output.pages.settled_press import heads_of_source
    from pedalsetter.engrave.output.result_files import copy_files
    from pedalsetter.engrave.output.write_back.marked_copy import check_format

    style = style_of(house_style, wanted)
    planned = plan_score(
        score, part, progress, decisions=decisions, effort=effort, mends=wanted.mends
    )
    check_format(planned.part, wanted.copy_format)
    wishes = style.wishes
    heads = heads_of_source(planned.part, style)
    if heads is not None:
        wishes = replace(wishes, also_at=heads)
    planned, style, _ = _marked(planned, style, wishes, source_marks)
    if wanted.mends and not _is_planned(planned) and planned.plan.findings:
        tried = with_tried_mends(planned.part, planned.plan, decisions, progress)
        planned = _finished(planned, planned.markings, tried.findings)
    progress("writing the marks into the score")
    files, notices = copy_files(planned, style, stem or stem_of(score), score)
    return planned, files, (*planned.part.warnings, *notices)


def files_of(
    result: EngravedScore,
    score: str | os.PathLike[str],
    wanted: Wanted,
    stem: str | None = None,
) -> tuple[dict[str, bytes], tuple[Notice, ...]]:
    """Every file that comes of ``score``, by name, the marked copy among them if it is wanted.

    Names begin with ``stem``, or with the score's own.

    Raises:
        OutputError: the format of the score cannot hold the marks.
        ScoreError: the score cannot be written back.
    """
    from pedalsetter.engrave.output.result_files import result_files

    copied = score if wanted.marked_copy else None
    return result_files(result, stem or stem_of(score), marked_copy_of=copied)


def _marked(
    planned: PlannedScore, style: HouseStyle, wishes: MarkingWishes, mode: SourceMarks
) -> tuple[PlannedScore, HouseStyle, PedalPlan]:
    """The plan with the marks of a style, after the source's own marks have had their say.

    Comes with the style in the language of these, and with the plan about which findings are told:
    that of the page, and where the page has the plan's marks, as it was before the style moved
    any.
    """
    from pedalsetter.analysis.editing import edit_marks
    from pedalsetter.analysis.marks.retiming import retimed

    part, told = planned.part, planned.plan
    plan = retimed(part, planned.plan, style.stand)
    edition = edit_marks(
        part,
        plan,
        place_marks(part, plan, wishes),
        mode,
        weights=weights_under(planned.decisions, Weights()),
        string_names=style.wishes.string_names,
    )
    planned = replace(planned, plan=edition.plan, markings=edition.markings, edition=edition)
    if not edition.is_planned:
        told = edition.plan
        style = replace(style, language=part.source_language or style.language)
    return planned, style, told


def _is_planned(planned: PlannedScore) -> bool:
    """Whether the marks are the plan's, and not those of the source."""
    return planned.edition is None or planned.edition.is_planned


def _finished(
    planned: PlannedScore, markings: Markings, findings: tuple[Finding, ...]
) -> PlannedScore:
    """The plan with the marks that were printed in the end, its findings with their mends."""
    plan = replace(planned.plan, findings=findings)
    edition = planned.edition
    if edition is not None:
        edition = replace(edition, markings=markings, plan=plan)
    return replace(planned, markings=markings, plan=plan, edition=edition)


def load_engraving() -> None:
    """Import what engraving needs and planning does not: abjad, and what draws pages.

    :func:`mark_score` does so by itself; a process that will mark many scores does so before.
    """
    _load_writer()


def _load_writer() -> None:
    """Import what writes the engraver's source; what draws pages comes in while it engraves."""
    # The tools that make abjad's manual need not come in, but for their base classes.
    with loaded_late("uqbar.apis"):
        with suppress(ModuleNotFoundError):
            import uqbar.graphs  # noqa: F401
        import pedalsetter.engrave.output.pages.settled_press  # noqa: F401


def stem_of(score: str | os.PathLike[str]) -> str:
    """The name that results of ``score`` begin with: its file name without suffixes."""
    return Path(score).name.removesuffix(Path(score).suffix) or "score"
