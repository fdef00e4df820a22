"""The source's marks alone, the planned ones alone, or both in one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from pedalsetter.analysis.collation import Collation, collate, is_pedalled
from pedalsetter.analysis.collation.score_walk import lay_walk
from pedalsetter.analysis.editing.additions import in_order, missing_marks
from pedalsetter.analysis.editing.given_diagrams import with_given_diagrams
from pedalsetter.analysis.editing.judged_marks import with_own_judgement
from pedalsetter.analysis.editing.plan_as_marked import plan_as_marked
from pedalsetter.analysis.editing.printed_marks import marks_to_print
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.instrument.harp import Harp
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.marks.string_marks import StringMark, names_in_source, string_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import Weights

__all__ = ["Edition", "edit_marks", "merge_marks"]


@dataclass(frozen=True, slots=True)
class Edition:
    """The marks to print, with the plan and the collation that go with them."""

    markings: Markings
    plan: PedalPlan
    """The plan as the marks give it: their changes, and the strings that they make sound."""
    collation: Collation
    """Of the source, before anything was added."""
    remaining: Collation
    """Of what is printed: what the source contradicts and no addition can mend."""
    mode: SourceMarks = SourceMarks.REPLACE
    is_planned: bool = True
    """Whether the marks are the plan's; otherwise they are the source's, with additions if any."""


def merge_marks(part: HarpPart, plan: PedalPlan, markings: Markings, mode: SourceMarks) -> Markings:
    """The marks to print: the source's, the planned ones, or both. See :func:`edit_marks`."""
    return edit_marks(part, plan, markings, mode).markings


def edit_marks(
    part: HarpPart,
    plan: PedalPlan,
    markings: Markings,
    mode: SourceMarks,
    harp: Harp = Harp(),  # noqa: B008 - frozen
    *,
    weights: Weights = Weights(),  # noqa: B008 - frozen
    string_names: bool = True,
) -> Edition:
    """Bring the source's marks and the planned ``markings`` together.

    A source that is not pedalled (it has no marks, or diagrams for its glissandi alone) gets all
    planned marks in every mode: there is nothing that they could contradict or add to, so that
    they stand without brackets. What the source itself contradicts stays so and is in
    ``remaining``. Planned diagrams that stand in the source already, for a glissando, have the
    source as their origin. With ``string_names`` an edition that adds anything also names the
    strings of notes that are played on another one than the written one. ``weights`` has the times
    of the player, by which the marks of the source are judged.
    """
    collation = collate(part, plan, harp)
    if mode is SourceMarks.REPLACE or not is_pedalled(part):
        given = with_given_diagrams(part, plan, markings)
        if mode is not SourceMarks.REPLACE:
            given = replace(given, strings=_unnamed(part, given.strings))
        return Edition(given, plan, collation, Collation((), 0, 0, ""), mode)
    marks = list(part.source_marks)
    if mode is SourceMarks.COMPLETE:
        added = missing_marks(part, plan, harp)
        whole = {(mark.bar, mark.onset) for mark in added if mark.kind == "diagram"}
        # The whole setting beside a diagram that is none says what it says.
        marks = [
            mark
            for mark in marks
            if mark.kind != "diagram"
            or mark.setting() is not None
            or (mark.bar, mark.onset) not in whole
        ]
        marks += added
    edited = replace(part, source_marks=in_order(marks))
    walk = lay_walk(edited, plan, harp)
    merged = marks_to_print(edited, plan, walk)
    marked = plan_as_marked(edited, plan, merged, walk)
    marked = with_own_judgement(part, marked, plan, harp, weights)
    if mode is SourceMarks.COMPLETE and string_names:
        names = string_marks(part, marked)
        merged = replace(
            merged, strings=tuple(replace(one, editorial=True) for one in _unnamed(part, names))
        )
    return Edition(
        merged,
        marked,
        collation,
        collate(edited, plan, harp),
        mode,
        is_planned=False,
    )


def _unnamed(part: HarpPart, marks: Iterable[StringMark]) -> tuple[StringMark, ...]:
    """Those at whose moment the source names no string itself."""
    named = {(mark.bar, mark.onset) for mark in names_in_source(part)}
    return tuple(mark for mark in marks if (mark.place.bar, part.onset_of(mark.place)) not in named)
