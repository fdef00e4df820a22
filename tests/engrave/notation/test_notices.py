"""What cannot be engraved as it stands is told, by bar, beat and staff."""

from __future__ import annotations

from fractions import Fraction

import pytest
from small_parts import direction, line, small_part

from pedalsetter.analysis.part import (
    Arpeggio,
    ClefChange,
    DirectionKind,
    Ending,
    HarpPart,
    Ornament,
    SpannerEnd,
    Tremolo,
    TupletGroup,
)
from pedalsetter.engrave.notation.score import build_score
from pedalsetter.engrave.notation.timeline import bar_units

QUARTERS = "C5/4 D5/4 E5/4 F5/4"
SLUR = SpannerEnd("slur", 1, True)


def told(part: HarpPart) -> list[str]:
    """Every notice, as shown to the user."""
    return [str(notice) for notice in build_score(part, bar_units(part)).warnings]


CASES: dict[str, tuple[HarpPart, str]] = {
    "articulation": (
        small_part(line(QUARTERS, marks={1: {"articulations": (("scoop", None),)}})),
        "bar 1, beat 2, staff 1: the sign 'scoop' has no form here: left out",
    ),
    "ornament": (
        small_part(line(QUARTERS, marks={2: {"ornaments": (Ornament("schleifer"),)}})),
        "bar 1, beat 3, staff 1: the ornament 'schleifer' has no form here: left out",
    ),
    "playing sign": (
        small_part(line(QUARTERS, marks={0: {"technical": (("hammer-on", ""),)}})),
        "bar 1, beat 1, staff 1: the playing sign 'hammer-on' has no form here: left out",
    ),
    "notehead": (
        small_part(line("C5/1", heads={(0, 0): {"shape": "arrow up"}})),
        "bar 1, beat 1, staff 1: the notehead 'arrow up' has no form here: an ordinary one instead",
    ),
    "clef": (
        small_part(line("C5/1"), clefs=(ClefChange(Fraction(0), 0, 1, "jianpu", 2),)),
        "bar 1, beat 1, staff 1: a jianpu clef here has no form: left out",
    ),
    "slur without end": (
        small_part(line(QUARTERS, marks={3: {"spanners": (SLUR,)}})),
        "bar 1, beat 4, staff 1: a slur begins here that has no end: left out",
    ),
    "hairpin without end": (
        small_part(
            line("C5/1"),
            directions=(direction(DirectionKind.WEDGE_START, 2, staff=1, shape="crescendo"),),
        ),
        "bar 1, beat 3, staff 1: a wedge has no end: left out",
    ),
    "symbol": (
        small_part(
            line("C5/1"), directions=(direction(DirectionKind.SYMBOL, 0, staff=1, text="kahnHop"),)
        ),
        "bar 1, beat 1, staff 1: the symbol 'kahnHop' has no form here: left out",
    ),
    "lone arpeggio": (
        small_part(line("C5/1", marks={0: {"arpeggio": Arpeggio("plain")}})),
        "bar 1, beat 1, staff 1: an arpeggio on a single note: left out",
    ),
    "odd tremolo": (
        small_part(
            line(
                "C5/4. E5/4. r/4",
                marks={0: {"tremolo": Tremolo("start", 3)}, 2: {"tremolo": Tremolo("stop", 3)}},
            )
        ),
        "bar 1, beat 1, staff 1: a tremolo between two notes lacks its second note: plain notes",
    ),
    "false tuplet": (
        small_part(line("C5/4 D5/4", marks={0: {"tuplets": (TupletGroup("t", 3, 2),)}})),
        "bar 1, beat 1, staff 1: a tuplet whose notes do not fill it: lengths are scaled instead",
    ),
    "glissando to nowhere": (
        small_part(line("C5/1", heads={(0, 0): {"spanners": (SpannerEnd("glissando", 1, True),)}})),
        "bar 1, beat 1, staff 1: the glissando from C5 has no end in its voice",
    ),
    "ending in words": (
        small_part(
            line("C5/1"), bar_fields={0: {"ending": Ending((3,), "ultima volta", True, True)}}
        ),
        "bar 1, beat 1: an ending is printed by number",
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_told_in_one_line(name: str) -> None:
    """The notice names the place and what was done; it is the only one."""
    part, expected = CASES[name]
    assert told(part) == [expected]


def test_plain_music_needs_no_notice() -> None:
    """Nothing is told of what is engraved whole."""
    assert told(small_part(line(QUARTERS))) == []
