"""A large orchestral score, made by a rule: sixty parts, six hundred bars, two harps among them.

No music to be played: every instrument has figures of its own, in its own range, with rests,
dynamics, slurs and articulations, so that the file weighs what such a score weighs.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

__all__ = ["HARPS", "PARTS", "large_score", "write_large_score"]

_FAMILIES = (
    *("Piccolo 1", "Flute 1", "Flute 2", "Flute 3", "Oboe 1", "Oboe 2", "Oboe 3", "English Horn"),
    *("Clarinet 1", "Clarinet 2", "Clarinet 3", "Bass Clarinet", "Bassoon 1", "Bassoon 2"),
    *("Bassoon 3", "Contrabassoon", "Horn 1", "Horn 2", "Horn 3", "Horn 4", "Horn 5", "Horn 6"),
    *("Trumpet 1", "Trumpet 2", "Trumpet 3", "Trombone 1", "Trombone 2", "Trombone 3", "Tuba"),
    *("Timpani", "Glockenspiel", "Xylophone", "Celesta", "Harp 1", "Harp 2"),
    *("Soprano", "Alto", "Tenor", "Bass"),
    *(f"Violin I desk {desk}" for desk in range(1, 6)),
    *(f"Violin II desk {desk}" for desk in range(1, 6)),
    *(f"Viola desk {desk}" for desk in range(1, 5)),
    *(f"Violoncello desk {desk}" for desk in range(1, 5)),
    *(f"Double Bass desk {desk}" for desk in range(1, 4)),
)

PARTS = len(_FAMILIES)
HARPS = tuple(number for number, name in enumerate(_FAMILIES, 1) if name.startswith("Harp"))
"""Numbers of the harps, from 1."""

_RHYTHMS = (
    (("quarter", 12), ("eighth", 6), ("eighth", 6), ("half", 24)),
    (("16th", 3),) * 8 + (("quarter", 12), ("quarter", 12)),
    (("eighth", 6),) * 8,
    (("half", 24), ("quarter", 12), ("eighth", 6), ("eighth", 6)),
)
"""Bars of four quarters in divisions of a twelfth, as (value, length)."""

_KEYS = (0, -3, 2, -5, 4)
_ALTERED = {0: {}, -3: dict.fromkeys("BEA", -1), 2: dict.fromkeys("FC", 1)}
_ALTERED[-5] = dict.fromkeys("BEADG", -1)
_ALTERED[4] = dict.fromkeys("FCGD", 1)


def large_score(bars: int = 600, parts: int = PARTS) -> Iterator[str]:
    """The score in pieces of MusicXML; fewer ``parts`` are the first ones and the harps."""
    chosen = [
        number for number in range(1, PARTS + 1) if number <= parts - len(HARPS) or number in HARPS
    ]
    yield '<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0">\n'
    yield "  <work><work-title>A Long Day</work-title></work>\n  <part-list>\n"
    for number in chosen:
        yield (
            f'    <score-part id="P{number}"><part-name>{_FAMILIES[number - 1]}</part-name>'
            "</score-part>\n"
        )
    yield "  </part-list>\n"
    for number in chosen:
        yield f'  <part id="P{number}">\n'
        for bar in range(bars):
            yield _measure(number, bar, is_first=number == chosen[0])
        yield "  </part>\n"
    yield "</score-partwise>\n"


def write_large_score(path: Path, bars: int = 600, parts: int = PARTS) -> Path:
    """Write the score into a file."""
    with path.open("w", encoding="utf-8") as stream:
        stream.writelines(large_score(bars, parts))
    return path


def _measure(part: int, bar: int, *, is_first: bool) -> str:
    is_harp = part in HARPS
    lines = [f'    <measure number="{bar + 1}">']
    key = _KEYS[bar // 60 % len(_KEYS)]
    if bar % 60 == 0:
        staves = "<staves>2</staves>" if is_harp else ""
        divisions = "<divisions>12</divisions>" if bar == 0 else ""
        time = "<time><beats>4</beats><beat-type>4</beat-type></time>" if bar == 0 else ""
        lines.append(
            f"      <attributes>{divisions}<key><fifths>{key}</fifths></key>{time}{staves}"
            "</attributes>"
        )
        if is_first:
            lines.append(
                '      <direction placement="above"><direction-type>'
                f"<rehearsal>{bar // 60 + 1}</rehearsal></direction-type></direction>"
            )
            lines.append(
                '      <direction placement="above"><direction-type><words font-weight="bold">'
                f'Allegro</words></direction-type><sound tempo="{96 + bar // 60}"/></direction>'
            )
    if (part * 7 + bar * 3) % 11 < 2:
        lines.append(
            '      <note><rest measure="yes"/><duration>48</duration><voice>1</voice></note>'
        )
        if is_harp:
            lines.append("      <backup><duration>48</duration></backup>")
            lines.append(_rest_below())
    else:
        lines += _voice(part, bar, key, 1, is_harp)
        if is_harp:
            lines.append("      <backup><duration>48</duration></backup>")
            lines += _voice(part + 5, bar, key, 5, is_harp)
    lines.append("    </measure>\n")
    return "\n".join(lines)


def _rest_below() -> str:
    return (
        '      <note><rest measure="yes"/><duration>48</duration><voice>5</voice>'
        "<staff>2</staff></note>"
    )


def _voice(part: int, bar: int, key: int, voice: int, is_harp: bool) -> list[str]:
    lines = []
    rhythm = _RHYTHMS[(part + bar) % len(_RHYTHMS)]
    height = 35 - part // 3 + (bar % 5)
    if is_harp:
        height = 32 if voice == 1 else 20
    for place, (value, length) in enumerate(rhythm):
        step = height + (place * (part % 3 + 1) + bar) % 9
        letter, octave = "CDEFGAB"[step % 7], step // 7
        alter = _ALTERED[key].get(letter, 0)
        if bar % 8 == 7 and place == 2 and letter in "FC":
            alter = 1
        altered = f"\n          <alter>{alter}</alter>" if alter else ""
        staff = f"\n        <staff>{1 if voice == 1 else 2}</staff>" if is_harp else ""
        slur = ""
        if place in (0, len(rhythm) - 1) and (part + bar) % 3 == 0:
            kind = "start" if place == 0 else "stop"
            slur = f'\n        <notations><slur type="{kind}" number="1"/></notations>'
        elif (part + place) % 4 == 0:
            slur = "\n        <notations><articulations><staccato/></articulations></notations>"
        lines.append(
            f'      <note default-x="{80 + place * 30}">\n        <pitch>\n'
            f"          <step>{letter}</step>{altered}\n          <octave>{octave}</octave>\n"
            f"        </pitch>\n        <duration>{length}</duration>\n"
            f"        <voice>{voice}</voice>\n        <type>{value}</type>\n"
            f"        <stem>{'up' if step < 34 else 'down'}</stem>{staff}{slur}\n      </note>"
        )
    return lines
