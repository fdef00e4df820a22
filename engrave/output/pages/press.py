"""From a marked part to proved pages: write, engrave, measure, and engrave again where it helps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.adjustments import Adjustments
from pedalsetter.engrave.layout.contacts import contact_failures
from pedalsetter.engrave.layout.music_count import count_failures
from pedalsetter.engrave.layout.page_choice import PageChoice
from pedalsetter.engrave.layout.placement import Placement, place
from pedalsetter.engrave.layout.proof import LayoutProof, prove
from pedalsetter.engrave.layout.remedies import adjust, first_adjustments
from pedalsetter.engrave.output.pages.engraver import Engraving, Limits, WaitingEngraver, engrave
from pedalsetter.engrave.output.pages.fonts import check_fonts
from pedalsetter.engrave.output.pages.lilypond import LilypondDocument, lilypond_source
from pedalsetter.engrave.output.pages.lilypond_log import complaints_of

__all__ = ["MOST_ENGRAVINGS", "EngravedPart", "engrave_part", "with_music"]

MOST_ENGRAVINGS = 6
"""One, and five more with remedies at most; each mends what can be seen by then."""


@dataclass(frozen=True, slots=True)
class EngravedPart:
    """A part on the page, with the source that made it and the proof that it stands well."""

    document: LilypondDocument
    engraving: Engraving
    placement: Placement
    proof: LayoutProof
    adjustments: Adjustments
    engravings: int
    """How often it was engraved until nothing more could be mended."""


def engrave_part(
    part: HarpPart,
    markings: Markings,
    style: HouseStyle,
    *,
    standalone: bool = True,
    source_systems: bool = False,
    systems: frozenset[int] | None = None,
    pages: frozenset[int] | None = None,
    limits: Limits | None = None,
    waiting: WaitingEngraver | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> EngravedPart:
    """Engrave a marked part and prove its layout, and that all its music is there.

    Where the proof fails, or pages can be filled clearly better by what was measured, it is
    engraved again with adjustments, at most five times; ``waiting`` is a LilyPond that serves for
    the first engraving, and ``meanwhile`` is done while LilyPond works at that one. ``systems`` are
    bars, by index, before which systems begin, and before no others, ``pages`` those of them before
    which pages begin. What cannot be mended stays in the proof's ``failures``.

    Raises:
        EngravingError: the engraver is missing or failed.
        HouseStyleError: the style names a font that the engraver does not find.
    """
    check_fonts(style)
    adjustments = replace(first_adjustments(part, style), systems=systems, pages=pages)
    choice = PageChoice(part, style, lines_stay=systems is not None)
    before: list[EngravedPart] = []
    for count in range(1, MOST_ENGRAVINGS + 1):
        document = lilypond_source(
            part,
            markings,
            style,
            standalone=standalone,
            source_systems=source_systems,
            adjustments=adjustments,
        )
        engraving = engrave(document.text, limits=limits, waiting=waiting, meanwhile=meanwhile)
        waiting = meanwhile = None
        placement = place(document.marks, engraving.boxes)
        proof = prove(part, placement)
        result = EngravedPart(document, engraving, placement, proof, adjustments, count)
        crowded = any("over-full page" in warning for warning in engraving.warnings)
        if before and crowded:
            # What was guessed of the heights was wrong; now they are known for these systems.
            wanted = choice.better(engraving.boxes, adjustments, crowded=True)
            if wanted is None:
                break
            adjustments = wanted
            continue
        wanted = adjust(part, style, placement, proof, adjustments, crowded=crowded)
        if wanted is None and not source_systems:
            wanted = choice.better(engraving.boxes, adjustments, crowded=crowded)
            if wanted is not None:
                before.append(result)
        if wanted is None:
            break
        adjustments = wanted
    finished = [_with_music(part, one) for one in (result, *reversed(before))]
    return min(finished, key=lambda one: (len(one.proof.failures), len(one.engraving.warnings)))


def _with_music(part: HarpPart, result: EngravedPart) -> EngravedPart:
    proof, remarks = with_music(part, result.document.text, result.engraving, result.proof)
    return replace(result, engraving=replace(result.engraving, warnings=remarks), proof=proof)


def with_music(
    part: HarpPart, source: str, engraving: Engraving, proof: LayoutProof
) -> tuple[LayoutProof, tuple[str, ...]]:
    """The proof with what the engraver could not do, and what of the music is not on the page.

    What the engraver has only to remark comes with it.
    """
    complaints, remarks = complaints_of(source, engraving.warnings)
    boxes = engraving.boxes
    lost = (*count_failures(part, boxes), *contact_failures(part, boxes))
    return replace(proof, failures=(*proof.failures, *complaints, *lost)), remarks
