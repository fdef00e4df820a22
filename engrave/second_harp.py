"""One part engraved for two harps, where one cannot play it."""

from __future__ import annotations

import os
from collections import Counter
from dataclasses import dataclass

from pedalsetter.analysis.decisions.values import NO_DECISIONS, Decisions
from pedalsetter.analysis.marks.marking import Markings, MarkingWishes, place_marks
from pedalsetter.analysis.marks.retiming import retimed
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import USUAL, Effort
from pedalsetter.analysis.splitting import Split, split_part
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.output.results import EngravedScore, PlannedScore
from pedalsetter.engrave.road import (
    PLAIN,
    Progress,
    Wanted,
    load_engraving,
    plan_score,
    style_of,
)

__all__ = ["SplitScore", "split_score", "split_told"]


@dataclass(frozen=True, slots=True)
class SplitScore:
    """A part divided between two harps, with the pages of both."""

    planned: PlannedScore
    """The part as one harp would have it."""
    split: Split
    harps: tuple[EngravedScore, ...]
    """One for each harp; empty where no second harp is needed."""

    @property
    def needed(self) -> bool:
        """Whether anything goes to a second harp."""
        return bool(self.split.moved)


def split_score(
    score: str | os.PathLike[str],
    part: str | None = None,
    *,
    house_style: str = "final-part",
    dpi: int | None = 150,
    wanted: Wanted = PLAIN,
    progress: Progress = lambda _step: None,
    decisions: Decisions = NO_DECISIONS,
    effort: Effort = USUAL,
) -> SplitScore:
    """Divide the harp part of ``score`` between two harps and engrave both; write nothing.

    The musician's decisions hold for the part as it is, and say what one harp cannot play; the two
    parts are planned without them. ``effort`` is how much each plan may cost to find.

    Raises:
        ScoreError: the file cannot be read.
        PartError: the harp part cannot be told.
        DecisionsError: the decisions contradict themselves.
        HouseStyleError: there is no such house style.
        EngravingError: the engraver is missing or failed.
    """
    style = style_of(house_style, wanted)
    planned = plan_score(score, part, progress, decisions=decisions, effort=effort)
    progress("dividing")
    split = split_part(planned.part, planned.plan, effort=effort)
    if not split.moved:
        return SplitScore(planned, split, ())
    progress("engraving")
    load_engraving()
    harps = tuple(
        _engraved(half, plan, style, dpi, wanted)
        for half, plan in zip(split.parts, split.plans, strict=True)
    )
    return SplitScore(planned, split, harps)


def _engraved(
    part: HarpPart, plan: PedalPlan, style: HouseStyle, dpi: int | None, wanted: Wanted
) -> EngravedScore:
    from pedalsetter.engrave.notation.string_names import as_printed
    from pedalsetter.engrave.output.pages.page import stylesheet
    from pedalsetter.engrave.output.pages.raster import contact_sheet, pages_to_png
    from pedalsetter.engrave.output.pages.settled_press import engrave_settled

    stood = retimed(part, plan, style.stand)

    def marked(wishes: MarkingWishes) -> Markings:
        return place_marks(part, stood, wishes)

    settled = engrave_settled(
        as_printed(part, stood, style),
        marked,
        style,
        standalone=wanted.standalone,
        source_systems=wanted.source_systems,
    )
    engraved = settled.engraved
    pdf = engraved.engraving.pdf
    return EngravedScore(
        planned=PlannedScore(part, stood, settled.markings),
        source=engraved.document.text,
        pdf=pdf,
        pages=() if dpi is None else pages_to_png(pdf, dpi),
        notices=engraved.document.warnings,
        engraver_warnings=engraved.engraving.warnings,
        proof=engraved.proof,
        stylesheet=None if wanted.standalone else stylesheet(),
        contact_sheet=contact_sheet(pdf) if wanted.contact_sheet else None,
        house_style=style,
    )


def split_told(planned: PlannedScore, split: Split) -> tuple[str, ...]:
    """What was divided, and whether two harps suffice: one sentence a line."""
    part = planned.part
    bars = {head.id: event.bar for event, head in part.notes()}
    number = Counter(bars[note] for note in split.moved)
    if not split.moved:
        lines = ["No note goes to a second harp."]
    else:
        where = ", ".join(
            f"bar {part.printed_bar(bar)}" + (f" ({count})" if count > 1 else "")
            for bar, count in sorted(number.items())
        )
        total = len(planned.plan.strings)
        verb = "goes" if len(split.moved) == 1 else "go"
        lines = [f"{len(split.moved)} of {total} notes {verb} to the second harp: {where}."]
    if split.suffices:
        enough = "Two harps can play it." if split.moved else "One harp can play it."
        return (*lines, enough)
    lines.append("Two harps do not suffice:")
    for harp, finding in split.unplayable:
        place = finding.where(part)
        lines.append(f"    harp {harp}, {place}: {finding.what}")
    return tuple(lines)
