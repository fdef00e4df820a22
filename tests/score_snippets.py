"""Small MusicXML scores for tests: built from notes that are given in quarters."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from pedalsetter.analysis.part import Event, HarpPart
from pedalsetter.analysis.reading import read_score

DIVISIONS = 96
"""Ticks a quarter: whole numbers for triplets, quintuplets excepted, down to the 128th."""

_TYPES = {
    Fraction(8): "breve",
    Fraction(4): "whole",
    Fraction(2): "half",
    Fraction(1): "quarter",
    Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th",
    Fraction(1, 8): "32nd",
    Fraction(1, 16): "64th",
}

TREBLE_AND_BASS = (
    '<clef number="1"><sign>G</sign><line>2</line></clef>'
    '<clef number="2"><sign>F</sign><line>4</line></clef>'
)


def pitch(name: str) -> str:
    """``<pitch>`` of a name such as ``C4``, ``F#5`` or ``Bb3``."""
    letter, octave, sign = name[0], name[-1], name[1:-1]
    alter = sign.count("#") - sign.count("b")
    middle = f"<alter>{alter}</alter>" if alter else ""
    return f"<pitch><step>{letter}</step>{middle}<octave>{octave}</octave></pitch>"


def note(
    name: str,
    quarters: object = 1,
    *,
    kind: str | None = None,
    voice: object = 1,
    staff: int | None = None,
    dots: int = 0,
    ratio: tuple[int, int] | None = None,
    chord: bool = False,
    grace: str | None = None,
    ties: Sequence[str] = (),
    before: str = "",
    after: str = "",
    notations: str = "",
    attributes: str = "",
) -> str:
    """A ``<note>`` (``R`` for a rest) that lasts so many quarters.

    ``kind`` is its type, told from the length if left out; ``grace`` holds the attributes of a
    ``<grace>``; ``before`` goes in front of the pitch, ``after`` behind the staff.
    """
    length = Fraction(str(quarters))
    written = length * Fraction(*ratio) if ratio else length
    kind = kind or _TYPES.get(written / (2 - Fraction(1, 2**dots)), "")
    what = "<rest/>" if name == "R" else name if name.startswith("<") else pitch(name)
    parts = [f"<note{' ' + attributes if attributes else ''}>"]
    parts.append(f"<grace {grace}/>" if grace is not None else "")
    parts.append(before)
    parts.append("<chord/>" if chord else "")
    parts.append(what)
    ticks = length * DIVISIONS
    assert ticks.denominator == 1, "choose lengths that fit the divisions"
    parts.append("" if grace is not None else f"<duration>{ticks}</duration>")
    parts.extend(f'<tie type="{tie}"/>' for tie in ties)
    parts.append(f"<voice>{voice}</voice>")
    parts.append(f"<type>{kind}</type>" if kind else "")
    parts.append("<dot/>" * dots)
    if ratio:
        parts.append(
            f"<time-modification><actual-notes>{ratio[0]}</actual-notes>"
            f"<normal-notes>{ratio[1]}</normal-notes></time-modification>"
        )
    parts.append(f"<staff>{staff}</staff>" if staff else "")
    parts.append(after)
    parts.append(f"<notations>{notations}</notations>" if notations else "")
    parts.append("</note>")
    return "".join(parts)


def move(quarters: object) -> str:
    """``<backup>`` for a negative number of quarters, ``<forward>`` for a positive one."""
    ticks = Fraction(str(quarters)) * DIVISIONS
    tag = "backup" if ticks < 0 else "forward"
    return f"<{tag}><duration>{abs(ticks)}</duration></{tag}>"


def direction(content: str, *, after: str = "", attributes: str = "") -> str:
    """A ``<direction>`` with one ``<direction-type>``."""
    return f"<direction {attributes}><direction-type>{content}</direction-type>{after}</direction>"


def words(text: str, attributes: str = "", after: str = "", outer: str = "") -> str:
    """A direction of words."""
    return direction(f"<words {attributes}>{text}</words>", after=after, attributes=outer)


def opening(
    *,
    fifths: int | None = 0,
    beats: object = 4,
    beat_type: object = 4,
    staves: int = 1,
    clefs: str = "",
    more: str = "",
) -> str:
    """The ``<attributes>`` of a first measure."""
    key = "" if fifths is None else f"<key><fifths>{fifths}</fifths></key>"
    time = f"<time><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time>"
    count = f"<staves>{staves}</staves>" if staves > 1 else ""
    return (
        f"<attributes><divisions>{DIVISIONS}</divisions>{key}{time}{count}{clefs}{more}"
        "</attributes>"
    )


def measure(content: str, number: object = 1, attributes: str = "") -> str:
    """A ``<measure>``."""
    return f'<measure number="{number}" {attributes}>{content}</measure>'


def bars(*contents: str, first: str | None = None) -> str:
    """Measures numbered from 1; the first opens with ``first`` (4/4 in C if left out)."""
    head = opening() if first is None else first
    return "".join(
        measure((head if index == 0 else "") + content, index + 1)
        for index, content in enumerate(contents)
    )


def part_head(identity: str, name: str, more: str = "", abbreviation: str = "") -> str:
    """A ``<score-part>``."""
    short = f"<part-abbreviation>{abbreviation}</part-abbreviation>" if abbreviation else ""
    return f'<score-part id="{identity}"><part-name>{name}</part-name>{short}{more}</score-part>'


def score(measures: str, *, name: str = "Harp", header: str = "") -> bytes:
    """A score of one part."""
    return full_score([("P1", name, measures)], header=header)


def full_score(
    parts: Sequence[tuple[str, str, str]], *, header: str = "", part_list: str | None = None
) -> bytes:
    """A score of several parts, each (id, name, measures)."""
    heads = part_list or "".join(part_head(identity, name) for identity, name, _ in parts)
    bodies = "".join(f'<part id="{identity}">{body}</part>' for identity, _, body in parts)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        f'<score-partwise version="4.0">{header}<part-list>{heads}</part-list>{bodies}'
        "</score-partwise>"
    ).encode()


def read(measures: str, *, name: str = "Harp", header: str = "") -> HarpPart:
    """Read a score of one part that consists of these measures."""
    return read_score(score(measures, name=name, header=header), "snippet.musicxml")


def told(part: HarpPart) -> list[str]:
    """The notices, as they are shown."""
    return [str(notice) for notice in part.warnings]


def one_event(notations: str = "", **more: object) -> Event:
    """The event of a single whole note with these signs."""
    part = read(bars(note("C5", 4, notations=notations, **more)))  # type: ignore[arg-type]
    assert told(part) == []
    (event,) = part.events
    return event


def barline(location: str, content: str, attributes: str = "") -> str:
    """A ``<barline>``."""
    return f'<barline location="{location}" {attributes}>{content}</barline>'


def right_barline(style: str, more: str = "") -> str:
    """A right barline of a style."""
    return barline("right", f"<bar-style>{style}</bar-style>{more}")
