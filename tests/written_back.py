"""What write-back tests share: marks at every place of a part, and the marks cut out again.

The cutting here is by plain patterns on the bytes and knows nothing of how the package does it.
"""

from __future__ import annotations

import io
import re
import zipfile
from fractions import Fraction
from functools import cache
from pathlib import Path

from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.marks.marking import ChangeMark, Diagram, Markings, Reason, place_marks
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Change
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.playing.moments import number_graces, place_of
from pedalsetter.analysis.reading import read_part

__all__ = [
    "Mark",
    "change_at",
    "diagram_at",
    "expected_marks",
    "in_utf8",
    "letters_at",
    "markings",
    "marks_everywhere",
    "marks_read_back",
    "place",
    "planned_example",
    "score_inside",
    "without_inserted",
]

_OWN = (
    rb"(?:<\?pedalsetter [^>]*\?><direction [^>]*>|"
    rb'<direction placement="(?:above|below)" id="pedalsetter-[^"]*">)'
    rb"(?:(?!</direction>).)*</direction>"
)
_OWN_MEI = (
    rb'(?:<supplied xml:id="pedalsetter-[^"]*"(?:(?!</supplied>).)*</supplied>|'
    rb'<harpPedal xml:id="pedalsetter-[^>]*/>|'
    rb'<dir xml:id="pedalsetter-[^"]*"(?:(?!</dir>).)*</dir>)'
)


def place(bar: int, offset: object = 0, grace: int = 0) -> Place:
    """A place from plain numbers."""
    return Place(bar, Fraction(str(offset)), grace)


def diagram_at(where: Place, setting: str = "bsn|ssnb") -> Diagram:
    """A diagram by its short form."""
    return Diagram(where, Setting.parse_pattern(setting), (), Reason.SECTION)


def change_at(where: Place, text: str) -> Change:
    """A change to ``F♯`` and the like."""
    letter, position = Letter(text[0]), Position("♭♮♯".index(text[1]) - 1)
    return Change(
        letter, Position.NATURAL, position, letter.foot, where, None, (), None, None, None, ""
    )


def letters_at(where: Place, *texts: str) -> ChangeMark:
    """Letters in one stack, top to bottom."""
    return ChangeMark(where, tuple(change_at(where, text) for text in texts))


def markings(*marks: Diagram | ChangeMark) -> Markings:
    """Marks by place."""
    return Markings(
        tuple(mark for mark in marks if isinstance(mark, Diagram)),
        tuple(mark for mark in marks if isinstance(mark, ChangeMark)),
    )


def marks_everywhere(part: HarpPart) -> Markings:
    """A mark at every onset, grace note and beat: far more than any plan would print.

    Diagrams of ever other settings stand at barlines, stacks of one or two letters elsewhere.
    """
    graces = number_graces(part)
    places = {place_of(part, event, graces) for event in part.events}
    for bar in part.bars:
        beats = max(1, -(-bar.length // bar.time.beat))
        places |= {Place(bar.index, beat * bar.time.beat) for beat in range(min(beats, 24))}
    settings = list(Setting.every())
    letters = list(Letter)
    marks: list[Diagram | ChangeMark] = []
    for number, where in enumerate(sorted(places)):
        if not where.offset and not where.grace:
            marks.append(Diagram(where, settings[number * 37 % len(settings)], (), Reason.SECTION))
            continue
        texts = [
            f"{letters[(number + 3 * more) % 7].value}{'♭♮♯'[(number + more) % 3]}"
            for more in range(1 + number % 2)
        ]
        marks.append(letters_at(where, *texts))
    return markings(*marks)


@cache
def planned_example(path: Path) -> tuple[HarpPart, Markings]:
    """(part, its planned marks) of an example score; planned once for all tests."""
    part = read_part(path)
    return part, place_marks(part, plan_changes(part))


Mark = tuple[int, Fraction, str, tuple[tuple[str, int], ...]]


def expected_marks(part: HarpPart, marks: Markings) -> list[Mark]:
    """(bar, onset, kind, pedals) of all marks, as a reader should find them again."""
    found: list[Mark] = [
        (
            each.place.bar,
            part.onset_of(each.place),
            "diagram",
            tuple((letter.value, int(position)) for letter, position in each.setting),
        )
        for each in marks.diagrams
    ]
    found += [
        (
            each.place.bar,
            part.onset_of(each.place),
            "letters",
            tuple((change.letter.value, int(change.new)) for change in each.changes),
        )
        for each in marks.changes
    ]
    return sorted(found)


def marks_read_back(part: HarpPart) -> list[Mark]:
    """(bar, onset, kind, pedals) of all marks that a reader found in the source."""
    return sorted((each.bar, each.onset, each.kind, each.pedals) for each in part.source_marks)


def without_inserted(data: bytes) -> bytes:
    """A UTF-8 document with every inserted mark cut out by plain patterns.

    A mark at the end of its bar goes with the white space before it, any other with the white
    space behind it; a bar that was opened for its marks (their names end in ``-only``) is one empty
    tag again.
    """
    opened = rb">((?:\s*" + _OWN + rb")+)\s*</measure>"
    data = re.sub(
        opened, lambda found: b"/>" if b"-only" in found[1] else found[0], data, flags=re.DOTALL
    )
    for own in (_OWN, _OWN_MEI):
        data = re.sub(rb"(?:\s*" + own + rb")+(?=\s*</)", b"", data, flags=re.DOTALL)
        data = re.sub(own + rb"\s*", b"", data, flags=re.DOTALL)
    return data


def score_inside(data: bytes) -> bytes:
    """The score of an .mxl archive, or the document itself."""
    if not data.startswith(b"PK"):
        return data
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        named = re.search(rb'full-path="([^"]+)"', archive.read("META-INF/container.xml"))
        assert named is not None
        return archive.read(named[1].decode())


def in_utf8(data: bytes) -> bytes:
    """A document in UTF-16 or UTF-8 as UTF-8, so that patterns can be used on it."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16").encode()
    return data
