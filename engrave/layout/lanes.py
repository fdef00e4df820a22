"""Pedal marks as lanes of LilyPond text, parallel to the music.

A mark hangs on a skip in a lane of its own, at its moment; no note knows of it, so moving a mark
never touches the music. One lane holds the diagrams, one the letters; what finds no room there has
others. Every bar is one line that ends with its printed number.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby, pairwise
from types import MappingProxyType

from pedalsetter.analysis.instrument.harp import Position
from pedalsetter.analysis.marks.marking import ChangeMark, Diagram, Markings
from pedalsetter.analysis.marks.string_marks import StringMark
from pedalsetter.analysis.part import HarpPart, NotatedLength, Place
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.adjustments import (
    AS_ENGRAVED,
    BEFORE_BARLINE,
    BESIDE_BARLINE,
    Adjustments,
)
from pedalsetter.engrave.layout.moments import PrintedMoment, PrintedMoments
from pedalsetter.engrave.layout.page_turns import turn_bars
from pedalsetter.engrave.layout.rows import Row, row_place
from pedalsetter.engrave.mark_text import setting_lines, stack_lines
from pedalsetter.engrave.notation.string_names import name_event, name_marks
from pedalsetter.engrave.notation.timeline import BarUnit, bar_comment

__all__ = [
    "Lanes",
    "build_lanes",
    "diagram_event",
    "diagram_lines",
    "diagram_pattern",
    "mark_places",
    "skip",
]

_SIGNS = {Position.FLAT: "^", Position.NATURAL: "-", Position.SHARP: "v"}

_BRACKETS = {"square": ("[", "]"), "round": ("(", ")"), "small": ("{", "}")}
"""What stands in the source around what an editor has added."""

_NOTHING: Mapping[int, str] = MappingProxyType({})


_LAST = Fraction(1)
"""Quarters before a barline within which letters could reach over it."""


@dataclass(frozen=True, slots=True)
class Lanes:
    """The lanes as LilyPond text, and the names by which their marks are found again."""

    rows: Mapping[Row, str]
    """The lane of each row, from top to bottom; those of diagrams and of letters are never missing,
    others only where a mark stands in them."""
    marks: Mapping[str, Diagram | ChangeMark]
    """Name in the source (``d1``, ``c7``) to the mark, in order of place within each lane."""

    @property
    def diagrams(self) -> str:
        """The lane of the diagrams."""
        return self.rows[Row.DIAGRAMS]

    @property
    def letters(self) -> str:
        """The lane of the letters."""
        return self.rows[Row.LETTERS]


def build_lanes(
    part: HarpPart,
    markings: Markings,
    style: HouseStyle,
    units: Sequence[BarUnit],
    graces: Mapping[tuple[int, Fraction], Fraction],
    adjustments: Adjustments = AS_ENGRAVED,
) -> Lanes:
    """Write the lanes.

    ``units`` are the bars as every context writes them (gathered rests are one unit), ``graces``
    the written quarters of grace notes at a moment (bar index, offset). A mark whose place is that
    of a grace note stands at this very grace note. ``adjustments`` are what an earlier engraving
    has shown to be needed.
    """
    moments = PrintedMoments(part)
    diagrams = {f"d{number}": mark for number, mark in enumerate(markings.diagrams, 1)}
    letters = {
        f"c{number}": mark for number, mark in enumerate(_one_a_moment(markings, moments), 1)
    }
    grace_times = {
        part.bars[bar].start + offset: length for (bar, offset), length in graces.items()
    }
    diagrams = {
        name: replace(mark, place=adjustments.moved[name]) if name in adjustments.moved else mark
        for name, mark in diagrams.items()
    }
    marks: dict[str, Diagram | ChangeMark] = {**diagrams, **letters}
    names = name_marks(markings, style)
    in_row = {name: names[name] for name in names if name in adjustments.named_in_row}
    for mark in (*marks.values(), *in_row.values()):
        # After-notes take grace time only where a mark stands among them: no clef or barline does.
        after = moments.after_notes(mark.place)
        if after:
            grace_times.setdefault(moments.of(mark.place).time, after)
    events: dict[Row, list[tuple[PrintedMoment, str]]] = {row: [] for row in Row}
    for name, mark in diagrams.items():
        event = adjustments.applied(name, diagram_event(name, mark, style), style.diagram_size)
        row = Row.OUTER_DIAGRAMS if name in adjustments.outer else Row.DIAGRAMS
        events[row].append((moments.of(mark.place), event))
    last = _last_onsets(part)
    final = {letter.place.bar: name for name, letter in letters.items()}
    is_between = row_place(Row.LETTERS, style) == "between"
    pushing = BESIDE_BARLINE if is_between else BEFORE_BARLINE
    for name, letter in letters.items():
        event = _letters_event(name, letter, style)
        bar, time = part.bars[letter.place.bar], moments.of(letter.place).time
        ends_bar = final[bar.index] == name and time >= last.get(bar.index, bar.start)
        if ends_bar and bar.end - time <= _LAST:
            event = f"{pushing}{event}"
        event = adjustments.applied(name, event)
        row = Row.SECOND_LETTERS if name in adjustments.second_row else Row.LETTERS
        row = Row.OUTER_LETTERS if name in adjustments.outer else row
        events[row].append((moments.of(letter.place), event))
    for row, of_row in _names_in_rows(part, in_row, moments, adjustments):
        for moment, here in of_row.items():
            lines = 0
            written = []
            for name in here:
                event = name_event(name, in_row[name], style, lines)
                written.append(adjustments.applied(name, event))
                lines += len(in_row[name].strings) + len(in_row[name].beside)
            events[row].append((moment, " ".join(written)))
    openings = _openings(part, units, adjustments)
    return Lanes(
        {
            row: _lane(
                part, here, units, grace_times, openings if row is Row.DIAGRAMS else _NOTHING
            )
            for row, here in events.items()
            if here or row in (Row.DIAGRAMS, Row.LETTERS)
        },
        marks,
    )


def _names_in_rows(
    part: HarpPart,
    names: Mapping[str, StringMark],
    moments: PrintedMoments,
    adjustments: Adjustments,
) -> Iterator[tuple[Row, dict[PrintedMoment, list[str]]]]:
    """Of both rows the names at each moment, those of lower voices first."""
    for row in (Row.UPPER_NAMES, Row.LOWER_NAMES):
        found: defaultdict[PrintedMoment, list[str]] = defaultdict(list)
        for name, mark in sorted(names.items(), key=lambda item: (item[1].above, item[1].event)):
            if adjustments.row_of_names(mark, part) is row:
                found[moments.of(mark.place)].append(name)
        yield row, dict(sorted(found.items()))


def _last_onsets(part: HarpPart) -> dict[int, Fraction]:
    """Of each bar, by index, the moment of its last note or rest."""
    last: dict[int, Fraction] = {}
    for event in part.events:
        last[event.bar] = max(last.get(event.bar, event.onset), event.onset)
    return last


def mark_places(markings: Markings) -> tuple[Place, ...]:
    """The places of all marks, in order, each once: where no gathered rest may run across."""
    places = {diagram.place for diagram in markings.diagrams}
    return tuple(sorted(places | {mark.place for mark in markings.changes}))


def diagram_pattern(diagram: Diagram, *, rings: bool = True) -> str:
    """The setting in LilyPond's own signs: ``^`` flat, ``-`` natural, ``v`` sharp, ``o`` a ring.

    Source: LilyPond Notation Reference, "Harp pedals".
    """
    signs = [
        ("o" if rings and letter in diagram.changed else "") + _SIGNS[position]
        for letter, position in diagram.setting
    ]
    return f"{''.join(signs[:3])}|{''.join(signs[3:])}"


def skip(quarters: Fraction) -> str:
    """A skip of so many quarters, as a plain note value where there is one.

    >>> skip(Fraction(3)), skip(Fraction(1, 2)), skip(Fraction(5, 2)), skip(Fraction(2, 3))
    ('s2.', 's8', 's4*5/2', 's4*2/3')
    """
    for dots in range(2):
        for log in range(7):
            if NotatedLength(log, dots).quarters == quarters:
                return f"s{2**log}{'.' * dots}"
    return f"s4*{quarters}"


def diagram_lines(
    diagram: Diagram, style: HouseStyle, before: str = "", behind: str = ""
) -> tuple[str, ...]:
    """A setting in letters as LilyPond strings, one a line; ``o`` before a name rings it."""
    lines = [
        " ".join(f"o{word.text}" if word.ringed else word.text for word in line)
        for line in setting_lines(diagram, style)
    ]
    lines[0], lines[-1] = before + lines[0], lines[-1] + behind
    return tuple(f'"{line}"' for line in lines)


def diagram_event(name: str, diagram: Diagram, style: HouseStyle) -> str:
    """A diagram as it hangs on a skip, in the form of the style, to be found again by ``name``."""
    before, behind = _BRACKETS[style.brackets] if diagram.editorial else ("", "")
    if style.diagram_form == "strokes":
        pattern = diagram_pattern(diagram, rings=style.ring_changed)
        return f'\\pedalDiagram "{name}" "{before}{pattern}{behind}"'
    lines = diagram_lines(diagram, style, before, behind)
    command = "pedalRows" if len(lines) > 1 else "pedalLine"
    return f'\\{command} "{name}" {" ".join(lines)}'


def _letters_event(name: str, mark: ChangeMark, style: HouseStyle) -> str:
    before, behind = _BRACKETS[style.brackets]
    lines = []
    for line in stack_lines(mark, style):
        pieces = []
        for added, group in groupby(line, key=lambda word: word.added):
            text = " ".join(word.text for word in group)
            pieces.append(f"{before}{text}{behind}" if added else text)
        lines.append(" ".join(pieces))
    if len(lines) == 1:
        return f'\\pedalLetter "{name}" "{lines[0]}"'
    right, left = lines
    if len(mark.added) == len(mark.changes):
        # All of the stack is an editor's: one pair of brackets holds both lines.
        right, left = right.replace(behind, ""), left.replace(before, "")
    return f'\\pedalLetters "{name}" "{right}" "{left}"'


def _one_a_moment(markings: Markings, moments: PrintedMoments) -> Iterator[ChangeMark]:
    """The letters, those of one printed moment as one mark: two could not share a place."""
    found: dict[PrintedMoment, ChangeMark] = {}
    for mark in markings.changes:
        moment = moments.of(mark.place)
        known = found.get(moment)
        if known is not None:
            mark = replace(
                known, changes=known.changes + mark.changes, added=known.added + mark.added
            )
        found[moment] = mark
    yield from (found[moment] for moment in sorted(found))


def _lane(
    part: HarpPart,
    events: Iterable[tuple[PrintedMoment, str]],
    units: Sequence[BarUnit],
    grace_times: Mapping[Fraction, Fraction],
    openings: Mapping[int, str],
) -> str:
    """One line a bar; ``events`` are (moment, post-event), by moment.

    ``openings`` are what stands before a bar, by its index.
    """
    waiting = deque(events)
    graces = deque(sorted(grace_times.items()))
    lines = []
    for unit in units:
        end = unit.start + unit.length
        here = []
        while waiting and waiting[0][0].time < end:
            here.append(waiting.popleft())
        graces_here = {}
        while graces and graces[0][0] < end:
            time, length = graces.popleft()
            graces_here[time] = length
        opening = openings.get(unit.first, "")
        lines.append(
            f"{opening}{' '.join(_bar(unit, here, graces_here))} | % {bar_comment(part, unit)}"
        )
    return "\n".join(lines)


def _openings(part: HarpPart, units: Sequence[BarUnit], adjustments: Adjustments) -> dict[int, str]:
    """The turns and breaks before bars."""
    turns = turn_bars(part) if adjustments.free_turns else frozenset()
    breaks = adjustments.breaks | (adjustments.systems or frozenset())
    found = dict.fromkeys(sorted(breaks), "\\break ")
    if adjustments.systems is not None:
        found |= {unit.first: "\\noBreak " for unit in units[1:] if unit.first not in breaks}
    if adjustments.systems is not None and adjustments.pages is not None:
        found |= dict.fromkeys(breaks, "\\break \\noPageBreak ")
        found |= dict.fromkeys(adjustments.pages & breaks, "\\pageBreak ")
    for bar in turns:
        if found.get(bar) != "\\noBreak ":
            found[bar] = f"\\allowPageTurn {found.get(bar, '')}"
    return found


def _bar(
    unit: BarUnit,
    events: Sequence[tuple[PrintedMoment, str]],
    graces: Mapping[Fraction, Fraction],
) -> list[str]:
    end = unit.start + unit.length
    moments = sorted({unit.start, *graces, *(moment.time for moment, _ in events)})
    written = []
    for time, following in zip(moments, [*moments[1:], end], strict=True):
        here = {moment.grace: event for moment, event in events if moment.time == time}
        if time in graces:
            written.append(_graces(graces[time], here))
        written.append(_skip_with(following - time, here.get(Fraction(0))))
    return written


def _graces(length: Fraction, here: Mapping[Fraction, str]) -> str:
    """Grace time, cut where a mark stands in it."""
    edges = sorted({-length, Fraction(0), *here})
    pieces = [_skip_with(stop - start, here.get(start)) for start, stop in pairwise(edges)]
    return f"\\grace {pieces[0]}" if len(pieces) == 1 else f"\\grace {{ {' '.join(pieces)} }}"


def _skip_with(quarters: Fraction, event: str | None) -> str:
    return f"{skip(quarters)} {event}" if event else skip(quarters)
