"""The practice sheet: every setting of a piece as a diagram, with the bar from which it stands.

One page, if it can be: diagrams grow smaller until all fit, and only where the smallest do not fit
are there several pages. Sections have a diagram too where nothing moves, so that practice can begin
at each of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Letter, Setting
from pedalsetter.analysis.marks.marking import Diagram, Reason
from pedalsetter.analysis.part import HarpPart, Place, SectionReason
from pedalsetter.analysis.pedal_plan import Change, PedalPlan
from pedalsetter.engrave.house_style import DEFAULT_STYLE, HouseStyle, load_house_style
from pedalsetter.engrave.notation.escaping import quoted
from pedalsetter.engrave.output.pages.page import VERSION, header_block, paper_block, stylesheet
from pedalsetter.engrave.output.pages.paper_size import between_margins, space_mm
from pedalsetter.engrave.output.pages.raster import page_count
from pedalsetter.engrave.output.pictures.diagram_markup import (
    diagram_markup,
    diagram_width_spaces,
    letters_markup,
)
from pedalsetter.engrave.output.pictures.picture import EngravedPicture, draw_with_lilypond
from pedalsetter.engrave.output.reports.report import PROPOSAL
from pedalsetter.engrave.output.results import PlannedScore

__all__ = ["Station", "draw_practice_sheet", "practice_source", "stations"]

_SUBTITLE = "Practice sheet: every setting with its bar"


@dataclass(frozen=True, slots=True)
class Station:
    """A place from which a setting stands, or at which practice can begin."""

    place: Place
    setting: Setting
    changed: tuple[Letter, ...]
    """Pedals that move here, in pedal order; they are ringed."""
    label: str
    """Rehearsal mark or heading of a section that begins here."""
    boxed: bool
    """The label is a rehearsal mark."""
    entered: bool = False
    """A repeat or a jump enters the bar with this setting, which the bar before does not leave."""


_STEPS = (5.0, 4.0, 2.0, 0.0, -2.0, -4.0)
"""Sizes of diagrams that are tried, in steps of size; six steps double."""
_WHERE_MANY = 2.0
"""The size where not even the smallest fit on one page."""

_HEIGHTS = {"strokes": 3.3, "rows": 6.1, "line": 3.0}
"""Staff spaces of each form of diagrams at step 0; the stylesheet draws them so."""
_BESIDE = 2.4
"""Least air between two diagrams."""

_TITLES_MM = 30.0

_PAPER = r"""\paper {
  ragged-bottom = ##t
  ragged-last-bottom = ##t
  top-markup-spacing = #'((basic-distance . 0) (minimum-distance . 0) (padding . 1))
  markup-markup-spacing = #'((basic-distance . 0) (minimum-distance . 0) (padding . 2.4))
}
"""


def stations(part: HarpPart, plan: PedalPlan) -> tuple[Station, ...]:
    """Every place at which the setting changes, and every section, in the order of the page."""
    changes: dict[Place, list[Change]] = {}
    for change in plan.changes:
        changes.setdefault(Place(change.place.bar, change.place.offset), []).append(change)
    sections = {section.bar: section for section in part.sections}
    entered = {bar for bar, _ in plan.entries}
    starts = {movement.first_bar for movement in plan.movements}
    places = set(changes) | {Place(bar, Fraction(0)) for bar in (starts | entered | set(sections))}
    found: list[Station] = []
    for place in sorted(places):
        setting = plan.setting_at(place)
        section = None if place.offset else sections.get(place.bar)
        label = section.label if section is not None else ""
        at_start = not place.offset and place.bar in starts
        moved = changes.get(place, [])
        # a double bar or a key change without a name is no place that anyone looks for
        if moved or at_start or label or (not place.offset and place.bar in entered):
            letters = {change.letter for change in moved}
            found.append(
                Station(
                    place,
                    setting,
                    tuple(letter for letter in Letter if letter in letters),
                    label,
                    section is not None and SectionReason.REHEARSAL in section.reasons,
                    entered=not place.offset and place.bar in entered,
                )
            )
    return tuple(found)


def draw_practice_sheet(planned: PlannedScore, style: HouseStyle | None = None) -> EngravedPicture:
    """Draw the practice sheet of a planned part, on one page if all its settings fit.

    Without a ``style`` it is drawn in ``final-part``.

    Raises:
        EngravingError: LilyPond is missing or failed.
    """
    style = style or load_house_style(DEFAULT_STYLE)
    found = stations(planned.part, planned.plan)
    count = len(found)
    for step in _STEPS:
        columns, rows = _grid(found, style, step)
        if count <= columns * rows or step == _STEPS[-1]:
            picture = draw_with_lilypond(practice_source(planned, style, step))
            # titles of several lines and several movements leave less room than reckoned with
            if page_count(picture.pdf) == 1:
                return picture
    return draw_with_lilypond(practice_source(planned, style, _WHERE_MANY))


def _grid(found: Sequence[Station], style: HouseStyle, step: float) -> tuple[int, int]:
    """How many diagrams of a size stand side by side, and about how many rows on a page."""
    width, height = between_margins(style)
    height -= _TITLES_MM / space_mm(style)
    each = max((diagram_width_spaces(_diagram(one), style) for one in found), default=1.0)
    columns = int(width / (each * 2 ** (step / 6) + _BESIDE))
    high = _HEIGHTS[style.diagram_form]
    return max(1, columns), max(1, int(height / (high * 2 ** (step / 6) + 8.0)))


def practice_source(planned: PlannedScore, style: HouseStyle, step: float = _WHERE_MANY) -> str:
    """LilyPond source of the sheet, diagrams so many steps larger than as drawn."""
    part = planned.part
    found = stations(part, planned.plan)
    columns, _ = _grid(found, style, step)
    pieces = [
        f'\\version "{VERSION}"',
        stylesheet(),
        paper_block(style),
        _PAPER,
        header_block(replace(part, subtitle=_SUBTITLE), style),
    ]
    several = len(planned.plan.movements) > 1
    for movement in planned.plan.movements:
        here = [one for one in found if part.bars[one.place.bar].movement == movement.movement]
        if several:
            pieces.append(
                f"\\markup \\bold \\large {quoted(part.movement_title(movement.movement))}"
            )
        for first in range(0, len(here), columns):
            pieces.append(_row(part, style, here[first : first + columns], step, columns))
    pieces.append(f"\\markup \\smaller \\italic {quoted(PROPOSAL)}")
    return "\n\n".join(pieces) + "\n"


def _diagram(station: Station) -> Diagram:
    return Diagram(station.place, station.setting, station.changed, Reason.SECTION)


def _row(
    part: HarpPart, style: HouseStyle, row: Sequence[Station], step: float, columns: int
) -> str:
    width = between_margins(style)[0] / columns
    cells = "\n".join(f"  {_cell(part, style, station, step, width)}" for station in row)
    return f"\\markup \\override #'(word-space . 0) \\line {{\n{cells}\n}}"


def _cell(part: HarpPart, style: HouseStyle, station: Station, step: float, width: float) -> str:
    """One diagram with its caption above and its letters below, in a box of fixed width."""
    bar, beat = part.printed_bar(station.place.bar), part.printed_beat(station.place)
    caption = f"\\bold {quoted(bar)}"
    if station.place.offset:
        caption += f" \\smaller {quoted(f':{beat}')}"
    if station.entered:
        caption += ' \\smaller \\italic " on entry"'
    label = ""
    if station.boxed and station.label:
        label = (
            f"\\override #'(box-padding . 0.25) \\box \\bold {quoted(station.label)} \\hspace #0.6 "
        )
    below = (
        f"\\fontsize #-1 {letters_markup(station.setting, station.changed, style)}"
        if station.changed
        else "\\pad-to-box #'(0 . 1) #'(-0.45 . 1.85) \"\""
    )
    return (
        f"\\pad-to-box #'(0 . {width:.2f}) #'(0 . 1) \\override #'(baseline-skip . 0) \\column {{ "
        f"\\pad-to-box #'(0 . 1) #'(-0.6 . 2.2) \\concat {{ {label}{caption} }} "
        f"{diagram_markup(_diagram(station), style, step)} "
        f"{below} }}"
    )
