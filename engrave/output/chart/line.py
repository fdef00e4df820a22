"""One line of the chart: seven pedals over some bars, with headings above and flags below."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position
from pedalsetter.analysis.part import BarlineStyle, HarpPart, Place, Section, SectionReason
from pedalsetter.analysis.pedal_plan import Finding
from pedalsetter.engrave.output.chart.flags import FLAG_HEIGHT, flag_shapes, flag_width
from pedalsetter.engrave.output.chart.lettering import shortened, text_width
from pedalsetter.engrave.output.chart.paths import Stretch
from pedalsetter.engrave.output.chart.rows import Row
from pedalsetter.engrave.output.chart.shapes import WHITE, Line, Polygon, Ring, Shape, Words, moved
from pedalsetter.engrave.output.chart.signs import SIGN_WIDTH, sign_shapes

__all__ = ["LABEL_ROOM", "ChartLine", "Group", "chart_line", "level"]

Group = tuple[str, tuple[Shape, ...]]

LABEL_ROOM = 11.0
"""Millimetres for the letters left of the bars."""

_HEADING = 5.2
_NUMBERS = 3.6
_TRACK = 5.8
"""Height of one pedal's track."""
_LIFT = 1.75
"""From natural to flat or sharp."""
_FEET = 2.6
"""Between the tracks of the two feet."""
_SIGN = 2.5
"""Height of a sign."""
_SIGN_OFF = 1.5
"""From a change to the middle of its sign."""
_RING = 0.9
"""Radius of the ring where a bar is entered with another setting."""
_FLAG_STEP = FLAG_HEIGHT + 0.5

_PATH = 0.55
_GUIDE = 150
"""Grey of the guide lines: whole at natural, dashed at flat and sharp."""
_BAND = 238
"""Grey of the ground of a track, so that neighbours are told apart."""


@dataclass(frozen=True, slots=True)
class ChartLine:
    """A line as it is to be drawn, its top at 0."""

    groups: tuple[Group, ...]
    height: float


def level(letter: Letter, position: Position) -> float:
    """How far below the top of a line a pedal's position stands; flat is highest."""
    between = _FEET if letter.index > 2 else 0.0
    middle = _HEADING + _NUMBERS + between + (letter.index + 0.5) * _TRACK
    return middle + int(position) * _LIFT


def chart_line(
    part: HarpPart,
    row: Row,
    paths: Mapping[Letter, Sequence[Stretch]],
    findings: Sequence[tuple[int, Finding]],
) -> ChartLine:
    """Draw the bars of ``row``; ``findings`` are those of the whole piece with their numbers."""
    bottom = level(Letter.A, Position.NATURAL) + _TRACK / 2
    marks, lanes = _flags(part, row, findings, bottom)
    headings = _headings(part, row)
    groups = [
        ("", tuple(_frame(part, row))),
        *headings,
        *marks,
        *(group for letter in LETTERS for group in _track(part, row, letter, paths[letter])),
    ]
    height = bottom + (lanes * _FLAG_STEP + 0.6 if lanes else 0.0)
    if headings or any(part.bars[index].ending for index in range(row.first, row.last + 1)):
        return ChartLine(tuple(groups), height)
    raised = tuple(
        (told, tuple(moved(shape, 0.0, -_HEADING) for shape in shapes)) for told, shapes in groups
    )
    return ChartLine(raised, height - _HEADING)


def _frame(part: HarpPart, row: Row) -> list[Shape]:
    """Guide lines at the three positions, letters, barlines, bar numbers."""
    right = LABEL_ROOM + row.edges[-1]
    shapes: list[Shape] = []
    for letter in LETTERS:
        top, bottom = level(letter, Position.FLAT) - 0.65, level(letter, Position.SHARP) + 0.65
        band = ((LABEL_ROOM, top), (right, top), (right, bottom), (LABEL_ROOM, bottom))
        shapes.append(Polygon(band, fill=_BAND))
        for position in Position:
            y = level(letter, position)
            dash = 0.0 if position is Position.NATURAL else 0.7
            shapes.append(Line((LABEL_ROOM, y), (right, y), 0.14, _GUIDE, dash))
        y = level(letter, Position.NATURAL)
        shapes.append(Words((0.6, y + 1.25), letter.value, 3.5, bold=True))
    divide = (level(Letter.B, Position.NATURAL) + level(Letter.E, Position.NATURAL)) / 2
    shapes.append(Line((0.0, divide), (right, divide), 0.3))
    for index in range(row.first, row.last + 1):
        shapes += _barlines(part, row, index)
    return shapes + _numbers(part, row)


def _barlines(part: HarpPart, row: Row, index: int) -> list[Shape]:
    top = level(Letter.D, Position.NATURAL) - _TRACK / 2
    bottom = level(Letter.A, Position.NATURAL) + _TRACK / 2
    bar = part.bars[index]
    left, right = (LABEL_ROOM + row.edges[index - row.first + side] for side in (0, 1))
    shapes: list[Shape] = []

    def stroke(x: float, width: float, grey: int = 0) -> None:
        shapes.append(Line((x, top), (x, bottom), width, grey))

    def dots(x: float) -> None:
        middle = (level(Letter.B, Position.NATURAL) + level(Letter.E, Position.NATURAL)) / 2
        shapes.extend(Ring((x, middle + off), 0.45) for off in (-1.0, 1.0))

    if index == row.first:
        stroke(left, 0.2, 90)
    if bar.repeat_start:
        stroke(left + 0.3, 0.6)
        stroke(left + 1.1, 0.15)
        dots(left + 1.9)
    if bar.repeat_times:
        stroke(right - 0.3, 0.6)
        stroke(right - 1.1, 0.15)
        dots(right - 1.9)
    elif bar.right in (BarlineStyle.FINAL, BarlineStyle.HEAVY) or index == len(part.bars) - 1:
        stroke(right - 0.3, 0.6)
        stroke(right - 1.1, 0.15)
    elif bar.right is BarlineStyle.DOUBLE:
        stroke(right - 0.7, 0.15)
        stroke(right, 0.15)
    else:
        stroke(right, 0.2, 90)
    if bar.ending is not None:
        y = _HEADING - 0.2
        shapes.append(Line((left + 0.4, y), (right - 0.6, y), 0.2))
        if bar.ending.starts:
            shapes.append(Line((left + 0.4, y), (left + 0.4, y + 2.6), 0.2))
    return shapes


def _numbers(part: HarpPart, row: Row) -> list[Shape]:
    """The number of every bar that has room for it; endings add theirs."""
    shapes: list[Shape] = []
    free = 0.0
    for index in range(row.first, row.last + 1):
        bar = part.bars[index]
        x = LABEL_ROOM + row.edges[index - row.first]
        y = _HEADING + _NUMBERS - 0.9
        if x >= free:
            text = shortened(bar.number, 2.4, LABEL_ROOM + row.edges[-1] - x)
            shapes.append(Words((x + 0.8, y), text, 2.4, grey=60))
            free = x + text_width(text, 2.4) + 2.0
            if bar.ending is not None and bar.ending.starts:
                shapes.append(Words((free, y), bar.ending.text, 2.4, bold=True))
                free += text_width(bar.ending.text, 2.4, bold=True) + 1.2
    return shapes


def _headings(part: HarpPart, row: Row) -> list[Group]:
    """Rehearsal marks in boxes, headings and signs of navigation in words."""
    here = [section for section in part.sections if row.first <= section.bar <= row.last]
    told = [(section, text) for section in here if (text := _told(section))]
    groups: list[Group] = []
    for index, (section, text) in enumerate(told):
        x = LABEL_ROOM + row.edges[section.bar - row.first]
        end = LABEL_ROOM + (
            row.edges[told[index + 1][0].bar - row.first]
            if index + 1 < len(told)
            else row.edges[-1]
        )
        boxed = SectionReason.REHEARSAL in section.reasons
        text = shortened(text, 3.0, end - x - (2.0 if boxed else 0.8), bold=True)
        if not text:
            continue
        shapes: list[Shape] = []
        if boxed:
            right = x + text_width(text, 3.0, bold=True) + 1.4
            shapes.append(_box(x, 0.3, right, _HEADING - 0.6))
        shapes.append(Words((x + (0.7 if boxed else 0.2), 3.6), text, 3.0, bold=True))
        groups.append((f"{text}, bar {part.printed_bar(section.bar)}", tuple(shapes)))
    return groups


def _told(section: Section) -> str:
    if section.label:
        return section.label
    signs = (SectionReason.SEGNO, SectionReason.CODA)
    return ", ".join(reason.value.capitalize() for reason in signs if reason in section.reasons)


def _box(left: float, top: float, right: float, bottom: float) -> Polygon:
    corners = ((left, top), (right, top), (right, bottom), (left, bottom))
    return Polygon(corners, fill=None, outline=0.25)


def _track(part: HarpPart, row: Row, letter: Letter, path: Sequence[Stretch]) -> list[Group]:
    """The path of one pedal over these bars, and a group of shapes for each change."""
    begin = Place(row.first, Fraction(0))
    end = Place(row.last, part.bars[row.last].length)
    line: list[Shape] = []
    groups: list[Group] = []
    here = [one for one in path if one.begin < end and begin < one.end]
    for index, stretch in enumerate(here):
        y = level(letter, stretch.position)
        x1 = LABEL_ROOM + (row.x(part, stretch.begin) if stretch.begin > begin else 0.0)
        x2 = LABEL_ROOM + (row.x(part, stretch.end) if stretch.end < end else row.edges[-1])
        line.append(Line((x1, y), (x2, y), _PATH))
        room = x2 - x1 if index + 1 < len(here) else 99.0
        off = _SIGN_OFF if stretch.change is not None else _SIGN_OFF + _RING
        sign = _signed(letter, stretch.position, x1, off, room)
        if stretch.begin < begin or (stretch.begin == begin and stretch.change is None):
            groups.append(("", _at_start(letter, stretch.position)))
            continue
        if stretch.change is not None and stretch.begin == begin:
            groups.append(("", _at_start(letter, stretch.change.old)))
        shapes: list[Shape] = []
        if stretch.change is not None:
            old = level(letter, stretch.change.old)
            down = 1 if y > old else -1
            shapes.append(Line((x1, old - down * _PATH / 2), (x1, y + down * _PATH / 2), _PATH))
            title = (
                f"{part.told_place(stretch.change.place)}: {stretch.change.text}, "
                f"{stretch.change.foot.value} foot{stretch.change.aside}"
            )
        else:
            shapes.append(Ring((x1, y), _RING, fill=WHITE, outline=0.3))
            pedal = f"{letter.value}{stretch.position.sign}"
            title = f"{part.told_place(stretch.begin)}: entered with {pedal}"
        groups.append((title, (*shapes, *sign)))
    return [("", tuple(line)), *groups]


def _at_start(letter: Letter, position: Position) -> tuple[Shape, ...]:
    """The sign at the head of a line, between letter and bars."""
    return sign_shapes(position, (LABEL_ROOM - 2.6, level(letter, position)), _SIGN + 0.4)


def _signed(
    letter: Letter, position: Position, x: float, off: float, room: float
) -> tuple[Shape, ...]:
    """The sign behind a change, hiding what it crosses; a dot where it has no room."""
    y = level(letter, position)
    half = _SIGN * SIGN_WIDTH / 2
    if room < off + half + 0.3:
        return (Ring((x, y), 0.6),)
    left, right = x + off - half - 0.15, x + off + half + 0.15
    top, bottom = y - _SIGN / 2, y + _SIGN / 2
    ground = ((left, top), (right, top), (right, bottom), (left, bottom))
    return (Polygon(ground, fill=_BAND), *sign_shapes(position, (x + off, y), _SIGN))


def _flags(
    part: HarpPart, row: Row, findings: Sequence[tuple[int, Finding]], top: float
) -> tuple[list[Group], int]:
    """Numbered flags below the lines, beside one another or in lanes, and how many lanes."""
    free: list[float] = []
    guides: list[Shape] = []
    groups: list[Group] = []
    for number, finding in findings:
        if not finding.located or not row.first <= finding.place.bar <= row.last:
            continue
        width = flag_width(number)
        x = LABEL_ROOM + row.x(part, finding.place)
        left = max(LABEL_ROOM, min(x - width / 2, LABEL_ROOM + row.edges[-1] - width))
        lane = next((lane for lane, edge in enumerate(free) if edge <= left), len(free))
        if lane == len(free):
            free.append(0.0)
        free[lane] = left + width + 0.4
        y = top + 0.6 + lane * _FLAG_STEP
        head = level(Letter.D, Position.FLAT) - 0.8
        title = f"{finding.where(part)}: {finding.what}"
        guides.append(Line((x, head), (x, y), 0.2, 110, 0.5))
        groups.append((title, flag_shapes(number, finding.severity, left, y)))
    return [("", tuple(guides)), *groups], len(free)
