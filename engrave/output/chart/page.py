"""Pages of the chart: title, key to the signs, lines, and the list of findings."""

from __future__ import annotations

from collections.abc import Sequence

from pedalsetter.analysis.instrument.harp import Position
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import Finding, PedalPlan, Severity
from pedalsetter.engrave.output.chart.flags import FLAG_HEIGHT, flag_shapes, flag_width
from pedalsetter.engrave.output.chart.lettering import shortened, text_width, wrapped
from pedalsetter.engrave.output.chart.line import LABEL_ROOM, Group, chart_line
from pedalsetter.engrave.output.chart.paths import pedal_paths
from pedalsetter.engrave.output.chart.rows import chart_rows
from pedalsetter.engrave.output.chart.shapes import WHITE, Drawing, Line, Ring, Shape, Words, moved
from pedalsetter.engrave.output.chart.signs import sign_shapes
from pedalsetter.engrave.output.reports.report import PROPOSAL

__all__ = ["PAGE_HEIGHT", "PAGE_WIDTH", "chart_pages"]

PAGE_WIDTH = 210.0
PAGE_HEIGHT = 297.0
"""A4."""
_MARGIN = 14.0
_WIDTH = PAGE_WIDTH - 2 * _MARGIN
_BETWEEN = 5.0
"""Between two lines of the chart."""
_TEXT = 2.6
_LEADING = 3.7


def chart_pages(part: HarpPart, plan: PedalPlan) -> tuple[Drawing, ...]:
    """The pages of a chart, at least one."""
    findings = [
        (number, finding)
        for number, finding in enumerate(
            (one for one in plan.findings if one.severity is not Severity.REMARK), start=1
        )
    ]
    paths = pedal_paths(part, plan)
    sheets = _Sheets(part)
    sheets.add(_key(findings, bool(plan.entries)), 5.5)
    for row in chart_rows(part, plan, _WIDTH - LABEL_ROOM):
        begins = row.first == 0 or (
            part.bars[row.first].movement != part.bars[row.first - 1].movement
        )
        several = part.bars[-1].movement > 0
        movement = part.movement_title(part.bars[row.first].movement) if begins and several else ""
        line = chart_line(part, row, paths, findings)
        room = 7.0 if movement else 0.0
        groups = [
            (told, tuple(moved(shape, 0.0, room) for shape in shapes))
            for told, shapes in line.groups
        ]
        if movement:
            title = shortened(movement, 4.0, _WIDTH, bold=True)
            groups.insert(0, ("", (Words((0.0, 4.4), title, 4.0, bold=True),)))
        sheets.add(groups, line.height + room, _BETWEEN)
    for number, finding in findings:
        sheets.add(*_listed(part, number, finding))
    return sheets.drawings()


class _Sheets:
    """Stacks blocks on pages; a block that does not fit begins the next page."""

    def __init__(self, part: HarpPart) -> None:
        self.part = part
        self.pages: list[list[Group]] = []
        self.y = 0.0
        self._begin()

    def _begin(self) -> None:
        self.pages.append([])
        self.y = _MARGIN
        page = len(self.pages)
        title = self.part.title or self.part.source.file
        if page == 1:
            composer = shortened(self.part.composer, 3.2, 60.0)
            room = _WIDTH - text_width(composer, 3.2) - 4.0
            words: list[Shape] = [
                Words(
                    (_MARGIN, self.y + 4.8), shortened(title, 6.0, room, bold=True), 6.0, bold=True
                ),
                Words((_MARGIN + _WIDTH, self.y + 4.8), composer, 3.2, anchor="end"),
                Words(
                    (_MARGIN, self.y + 9.6), f"{self.part.part_name or 'Harp'}: pedal chart", 3.2
                ),
                Words((_MARGIN + _WIDTH, self.y + 9.6), PROPOSAL, 2.6, anchor="end", grey=60),
            ]
            self.y += 13.5
        else:
            running = shortened(f"{title}: pedal chart", 2.8, _WIDTH - 12)
            words = [
                Words((_MARGIN, self.y + 2.6), running, 2.8, grey=60),
                Words((_MARGIN + _WIDTH, self.y + 2.6), str(page), 2.8, anchor="end", grey=60),
            ]
            self.y += 6.5
        self.pages[-1].append(("", tuple(words)))

    def add(self, groups: Sequence[Group], height: float, above: float = 0.0) -> None:
        """Put a block of this height at the next free place, with air above it."""
        if self.y + above + height > PAGE_HEIGHT - _MARGIN and len(self.pages[-1]) > 1:
            self._begin()
            above = 0.0
        self.y += above
        for told, shapes in groups:
            shifted = tuple(moved(shape, _MARGIN, self.y) for shape in shapes)
            self.pages[-1].append((told, shifted))
        self.y += height

    def drawings(self) -> tuple[Drawing, ...]:
        """All pages."""
        title = f"Pedal chart of {self.part.title or self.part.source.file}"
        return tuple(
            Drawing(
                PAGE_WIDTH,
                PAGE_HEIGHT,
                tuple(page),
                title if len(self.pages) == 1 else f"{title}, page {number}",
            )
            for number, page in enumerate(self.pages, start=1)
        )


def _key(findings: Sequence[tuple[int, Finding]], entries: bool) -> list[Group]:
    """What height and signs mean, and the forms of the flags that are there."""
    shapes: list[Shape] = []
    x = 0.0

    def word(text: str) -> None:
        nonlocal x
        shapes.append(Words((x, 2.6), text, _TEXT))
        x += text_width(text, _TEXT) + 1.2

    for position, text in (
        (Position.FLAT, "high: flat"),
        (Position.NATURAL, "middle: natural"),
        (Position.SHARP, "low: sharp"),
    ):
        lift = int(position) * 1.0
        shapes.append(Line((x, 1.7 + lift), (x + 5.0, 1.7 + lift), 0.55))
        shapes += sign_shapes(position, (x + 6.4, 1.7 + lift), 2.5)
        x += 8.4
        word(text)
        x += 3.0
    if entries:
        shapes.append(Ring((x + 1.0, 1.8), 0.9, fill=WHITE, outline=0.3))
        x += 3.2
        word("set so where a repeat or jump enters")
        x += 2.5
    for severity in Severity:
        number = next((n for n, one in findings if one.severity is severity), None)
        if number is not None:
            shapes += flag_shapes(number, severity, x, 0.2)
            x += flag_width(number) + 1.2
            word(severity.value)
            x += 2.5
    return [("", tuple(shapes))]


def _listed(part: HarpPart, number: int, finding: Finding) -> tuple[list[Group], float, float]:
    """One finding of the list: flag, place, what and mend; its height; the air above it."""
    mend = finding.mends[0].what if finding.mends else finding.mend
    text = f"{finding.where(part)}: {finding.what} {mend}".strip()
    lines = wrapped(text, _TEXT, _WIDTH - 9.0)
    shapes = list(flag_shapes(number, finding.severity, 0.0, 0.0))
    for index, line in enumerate(lines):
        shapes.append(Words((9.0, 2.55 + index * _LEADING), line, _TEXT))
    above = 6.0 if number == 1 else 1.0
    return [("", tuple(shapes))], max(FLAG_HEIGHT, len(lines) * _LEADING), above
