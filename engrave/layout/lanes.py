"""Pedal marks as two lanes of LilyPond text, parallel to the music.

A mark hangs on a skip in a lane of its own, at its moment; no note knows of it, so moving a mark
never touches the music. One lane holds the diagrams, one the letters. Every bar is one line that
ends with its printed number.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.harp import Foot, Position
from pedalsetter.analysis.marking import ChangeMark, Diagram, Markings
from pedalsetter.analysis.part import HarpPart, NotatedLength, Place
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.notation.timeline import BarUnit, bar_comment

__all__ = ["Lanes", "build_lanes", "diagram_pattern", "mark_places", "skip"]

_SIGNS = {Position.FLAT: "^", Position.NATURAL: "-", Position.SHARP: "v"}


@dataclass(frozen=True, slots=True)
class Lanes:
    """The two lanes as LilyPond text, and the names by which their marks are found again."""

    diagrams: str
    letters: str
    marks: Mapping[str, Diagram | ChangeMark]
    """Name in the source (``d1``, ``c7``) to the mark, in order of place within each lane."""


def build_lanes(
    part: HarpPart,
    markings: Markings,
    style: HouseStyle,
    units: Sequence[BarUnit],
    graces: Mapping[tuple[int, Fraction], Fraction],
) -> Lanes:
    """Write both lanes.

    ``units`` are the bars as every context writes them (gathered rests are one unit), ``graces``
    the written quarters of grace notes at a moment (bar index, offset): a mark there stands at the
    first of them, since the pedal has to be set before they are struck.
    """
    diagrams = {f"d{number}": mark for number, mark in enumerate(markings.diagrams, 1)}
    letters = {f"c{number}": mark for number, mark in enumerate(markings.changes, 1)}
    marks: dict[str, Diagram | ChangeMark] = {**diagrams, **letters}
    grace_times = {
        part.bars[bar].start + offset: length for (bar, offset), length in graces.items()
    }
    diagram_events = [
        (part.onset_of(mark.place), _diagram_event(name, mark, style))
        for name, mark in diagrams.items()
    ]
    letter_events = [
        (part.onset_of(mark.place), _letters_event(name, mark)) for name, mark in letters.items()
    ]
    return Lanes(
        _lane(part, diagram_events, units, grace_times),
        _lane(part, letter_events, units, grace_times),
        marks,
    )


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


def _diagram_event(name: str, diagram: Diagram, style: HouseStyle) -> str:
    return f'\\pedalDiagram "{name}" "{diagram_pattern(diagram, rings=style.ring_changed)}"'


def _letters_event(name: str, mark: ChangeMark) -> str:
    right = " ".join(change.text for change in mark.changes if change.foot is Foot.RIGHT)
    left = " ".join(change.text for change in mark.changes if change.foot is Foot.LEFT)
    if right and left:
        return f'\\pedalLetters "{name}" "{right}" "{left}"'
    return f'\\pedalLetter "{name}" "{right or left}"'


def _lane(
    part: HarpPart,
    events: Iterable[tuple[Fraction, str]],
    units: Sequence[BarUnit],
    grace_times: Mapping[Fraction, Fraction],
) -> str:
    """One line a bar; ``events`` are (score time, post-event), by time."""
    waiting = list(events)
    lines = []
    for unit in units:
        end = unit.start + unit.length
        here = [event for event in waiting if event[0] < end]
        waiting = waiting[len(here) :]
        lines.append(f"{' '.join(_bar(unit, here, grace_times))} | % {bar_comment(part, unit)}")
    return "\n".join(lines)


def _bar(
    unit: BarUnit,
    events: Sequence[tuple[Fraction, str]],
    grace_times: Mapping[Fraction, Fraction],
) -> list[str]:
    end = unit.start + unit.length
    graces = {time: length for time, length in grace_times.items() if unit.start <= time < end}
    moments = sorted({unit.start, *graces, *(time for time, _ in events)})
    written = []
    for moment, following in zip(moments, [*moments[1:], end], strict=True):
        marks = "".join(f" {event}" for time, event in events if time == moment)
        if moment in graces:
            written.append(f"\\grace {skip(graces[moment])}{marks}")
            marks = ""
        if following > moment:
            written.append(f"{skip(following - moment)}{marks}")
    return written
