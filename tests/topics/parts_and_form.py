"""Topics 41 to 46: several parts, voices, staves, repeats, barlines."""

from __future__ import annotations

from score_snippets import (
    TREBLE_AND_BASS,
    bars,
    direction,
    full_score,
    measure,
    move,
    note,
    opening,
    part_head,
)
from topics.topic import Topic, names, of_part, onsets, whole

__all__ = ["TOPICS"]

_BAR = note("C4", 4)


def _barline(inner: str, location: str = "right") -> str:
    return f'<barline location="{location}">{inner}</barline>'


def _back(times: str = "") -> str:
    return _barline(f'<bar-style>light-heavy</bar-style><repeat direction="backward"{times}/>')


def _forth() -> str:
    return _barline('<bar-style>heavy-light</bar-style><repeat direction="forward"/>', "left")


def _ending(number: str, kind: str, location: str, more: str = "") -> str:
    return _barline(f'<ending number="{number}" type="{kind}"/>{more}', location)


def _three(*names_of_parts: str, part_list: str | None = None) -> bytes:
    """One bar each; the octave is the part's number."""
    return full_score(
        [
            (f"P{number}", name, bars(note(f"C{number}", 4)))
            for number, name in enumerate(names_of_parts, 1)
        ],
        part_list=part_list,
    )


_TWO_HANDS = (
    note("C5", 4, staff=1)
    + move(-4)
    + note("C3", 2, staff=2, voice=5)
    + note("E3", 2, staff=2, voice=5)
)

TOPICS: tuple[Topic, ...] = (
    whole(
        "41a",
        "order of parts",
        "The harp is found wherever it stands.",
        _three("Flute", "Harp", "Viola"),
        lambda part: (part.part_name, names(part)),
        ("Harp", "C2"),
    ),
    whole(
        "41b",
        "more than ten parts",
        "The harp in the middle of a score, by its name in another language.",
        full_score(
            [
                (f"P{n}", "Harfe" if n == 7 else f"Stimme {n}", bars(note(f"C{n % 7 + 1}", 4)))
                for n in range(1, 13)
            ]
        ),
        lambda part: (part.source.part_number, names(part)),
        (7, "C1"),
    ),
    whole(
        "41c",
        "groups of parts",
        "Brackets and braces around parts change nothing.",
        _three(
            "Flute",
            "Harp",
            "Viola",
            part_list='<part-group type="start" number="1"><group-name>All</group-name>'
            "<group-symbol>bracket</group-symbol></part-group>"
            + part_head("P1", "Flute")
            + '<part-group type="start" number="2"><group-symbol>brace</group-symbol></part-group>'
            + part_head("P2", "Harp")
            + part_head("P3", "Viola")
            + '<part-group type="stop" number="1"/><part-group type="stop" number="2"/>',
        ),
        names,
        "C2",
    ),
    whole(
        "41d",
        "part without an id",
        "It goes by its place.",
        _three("Flute", "Harp").replace(b'<part id="P2">', b"<part>"),
        lambda part: part.source.part_number,
        2,
        part="2",
    ),
    whole(
        "41e",
        "more parts than the list names",
        "One part is not in the list; the harp is read all the same.",
        _three("Flute", "Harp", "?", part_list=part_head("P1", "Flute") + part_head("P2", "Harp")),
        names,
        "C2",
    ),
    whole(
        "41f",
        "display names",
        "Where the plain name is empty, the displayed one counts.",
        _three(
            "Flute",
            "Harp",
            part_list=part_head("P1", "Flute")
            + '<score-part id="P2"><part-name/><part-name-display><display-text>Harp'
            "</display-text></part-name-display></score-part>",
        ),
        lambda part: (part.part_name, names(part)),
        ("Harp", "C2"),
    ),
    whole(
        "41g",
        "instrument sounds",
        "A part without a telling name is known by its sound.",
        _three(
            "I",
            "II",
            "III",
            part_list=part_head("P1", "I")
            + part_head(
                "P2",
                "II",
                '<score-instrument id="P2-I1"><instrument-name>II</instrument-name>'
                "<instrument-sound>pluck.harp</instrument-sound></score-instrument>",
            )
            + part_head("P3", "III"),
        ),
        names,
        "C2",
    ),
    whole(
        "41h",
        "a harp in two parts",
        "Two one-staff parts of one harp are joined.",
        _three("Flute", "Harp RH", "Harp LH"),
        lambda part: (part.staves, names(part)),
        (2, "C2 C3"),
        "parts 2 and 3 of the score are read as the staves of one harp",
    ),
    of_part(
        "42a",
        "two voices on a staff",
        "Upper and lower voice, each with its own rhythm.",
        bars(
            note("E5", 2)
            + note("F5", 2)
            + move(-4)
            + note("C5", 1, voice=2)
            + note("D5", 3, voice=2, dots=1)
        ),
        onsets,
        "0 0 1 2",
    ),
    of_part(
        "42b",
        "a clef for both voices",
        "A clef inside a bar, between the voices' notes.",
        bars(
            note("C4", 2)
            + "<attributes><clef><sign>F</sign><line>4</line></clef></attributes>"
            + note("C3", 2)
            + move(-4)
            + note("E4", 4, voice=2)
        ),
        lambda part: [str(each.onset) for each in part.clefs],
        ["2"],
    ),
    of_part(
        "43a",
        "two staves",
        "Both hands of the harp.",
        measure(opening(staves=2, clefs=TREBLE_AND_BASS) + _TWO_HANDS),
        lambda part: (part.staves, names(part)),
        (2, "C5 C3 E3"),
    ),
    of_part(
        "43b",
        "different keys on two staves",
        "Each staff has its own signature.",
        measure(
            "<attributes><divisions>96</divisions>"
            '<key number="1"><fifths>0</fifths></key><key number="2"><fifths>2</fifths></key>'
            "<time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves></attributes>"
            + _TWO_HANDS
        ),
        lambda part: [(each.staff, each.fifths) for each in part.keys],
        [(1, 0), (2, 2)],
    ),
    of_part(
        "43c",
        "a voice that changes staff",
        "One line passes from hand to hand.",
        measure(
            opening(staves=2, clefs=TREBLE_AND_BASS)
            + note("C3", 1, staff=2)
            + note("G3", 1, staff=2)
            + note("E4", 1, staff=1)
            + note("C5", 1, staff=1)
        ),
        lambda part: [event.staff for event in part.events],
        [2, 2, 1, 1],
    ),
    of_part(
        "43d",
        "dynamics between the staves",
        "They belong to the staff that they name.",
        measure(
            opening(staves=2, clefs=TREBLE_AND_BASS)
            + direction("<dynamics><p/></dynamics>", after="<staff>1</staff>")
            + direction("<dynamics><f/></dynamics>", after="<staff>2</staff>")
            + _TWO_HANDS
        ),
        lambda part: [(each.staff, each.text) for each in part.directions],
        [(1, "p"), (2, "f")],
    ),
    of_part(
        "43e",
        "three staves",
        "A harp part may spread over three.",
        measure(
            opening(staves=3)
            + note("C6", 4, staff=1)
            + move(-4)
            + note("C4", 4, staff=2, voice=5)
            + move(-4)
            + note("C2", 4, staff=3, voice=9)
        ),
        lambda part: (part.staves, names(part)),
        (3, "C6 C4 C2"),
    ),
    of_part(
        "45a",
        "repeat",
        "Twice through.",
        bars(_BAR + _back(), _BAR),
        lambda part: [bar.repeat_times for bar in part.bars],
        [2, 0],
    ),
    of_part(
        "45b",
        "first and second ending",
        "Each pass has its own close.",
        bars(
            _forth() + _BAR,
            _ending("1", "start", "left")
            + _BAR
            + _ending("1", "stop", "right", '<repeat direction="backward"/>'),
            _ending("2", "start", "left") + _BAR + _ending("2", "discontinue", "right"),
        ),
        lambda part: [bar.ending.numbers if bar.ending else () for bar in part.bars],
        [(), (1,), (2,)],
    ),
    of_part(
        "45c",
        "five times",
        "A repeat with a count.",
        bars(_forth() + _BAR + _back(' times="5"')),
        lambda part: [bar.repeat_times for bar in part.bars],
        [5],
    ),
    of_part(
        "45d",
        "an ending for two passes",
        "First and second pass share an ending.",
        bars(
            _forth() + _BAR,
            _ending("1, 2", "start", "left")
            + _BAR
            + _ending("1, 2", "stop", "right", '<repeat direction="backward" times="3"/>'),
            _ending("3", "start", "left") + _BAR + _ending("3", "discontinue", "right"),
        ),
        lambda part: [bar.ending.numbers if bar.ending else () for bar in part.bars],
        [(), (1, 2), (3,)],
    ),
    of_part(
        "45e",
        "a repeat that is never opened",
        "It leads back to the beginning, or to the end of the last repeat.",
        bars(_BAR + _back(), _BAR, _BAR + _back()),
        lambda part: [bar.repeat_times for bar in part.bars],
        [2, 0, 2],
    ),
    of_part(
        "45f",
        "a repeat that is never closed",
        "Nothing is repeated.",
        bars(_BAR, _forth() + _BAR, _BAR),
        lambda part: [bar.repeat_times for bar in part.bars],
        [0, 0, 0],
    ),
    of_part(
        "45g",
        "endings without sense",
        "An ending whose number is no number is read as well as it can be.",
        bars(
            _BAR,
            _ending("x", "start", "left") + _BAR + _ending("x", "stop", "right"),
            _BAR,
        ),
        names,
        "C4 C4 C4",
        "bar 2, beat 1, staff 1: an ending without a number is read as the first",
    ),
    of_part(
        "46a",
        "barlines",
        "Every style that MusicXML names.",
        bars(
            *(
                _BAR + _barline(f"<bar-style>{style}</bar-style>")
                for style in (
                    *("regular", "dotted", "dashed", "heavy", "light-light", "light-heavy"),
                    *("heavy-light", "heavy-heavy", "tick", "short", "none"),
                )
            )
        ),
        lambda part: [bar.right.value for bar in part.bars],
        [
            *("regular", "dotted", "dashed", "heavy", "light-light", "light-heavy"),
            *("heavy-light", "heavy-heavy", "tick", "short", "none"),
        ],
    ),
    of_part(
        "46b",
        "a barline inside a bar",
        "A dotted line in the middle.",
        bars(note("C4", 2) + _barline("<bar-style>dotted</bar-style>", "middle") + note("D4", 2)),
        lambda part: [(str(offset), style.value) for offset, style in part.bars[0].inner_barlines],
        [("2", "dotted")],
    ),
    of_part(
        "46c",
        "a repeat inside a bar",
        "The bar is cut where the repeat stands.",
        bars(_BAR, note("C4", 2) + _back().replace("right", "middle") + note("D4", 2), _BAR),
        lambda part: [(str(bar.length), bar.repeat_times) for bar in part.bars],
        [("4", 0), ("2", 2), ("2", 0), ("4", 0)],
    ),
    of_part(
        "46d",
        "pickup",
        "A short first bar, numbered 0.",
        measure(opening() + note("G4", 1), 0, 'implicit="yes"') + measure(_BAR, 1),
        lambda part: [(bar.number, str(bar.length)) for bar in part.bars],
        [("0", "1"), ("1", "4")],
    ),
    of_part(
        "46e",
        "a second voice that begins later",
        "In the pickup only the upper voice plays.",
        measure(opening() + note("G4", 1), 0, 'implicit="yes"')
        + measure(_BAR + move(-4) + note("E4", 4, voice=2), 1),
        lambda part: sorted({event.voice for event in part.events}),
        ["1", "2"],
    ),
    of_part(
        "46f",
        "a bar that is too short",
        "Three quarters under four: kept as written, and told.",
        bars(_BAR, note("C4", 3, dots=1), _BAR),
        lambda part: [str(bar.length) for bar in part.bars],
        ["4", "3", "4"],
        "bar 2, staff 1: the bar is 3 quarters long where 4/4 asks for 4 quarters",
    ),
    of_part(
        "46g",
        "a bar that is too long",
        "Five quarters under four: kept as written, and told.",
        bars(_BAR, note("C4", 4) + note("D4", 1), _BAR),
        lambda part: [str(bar.length) for bar in part.bars],
        ["4", "5", "4"],
        "bar 2, staff 1: the bar is 5 quarters long where 4/4 asks for 4 quarters",
    ),
    of_part(
        "46h",
        "fermata on a barline",
        "A hold between two bars.",
        bars(_BAR + _barline("<bar-style>light-light</bar-style><fermata/>"), _BAR),
        lambda part: part.bars[0].barline_fermatas,
        ("above",),
    ),
    of_part(
        "46i",
        "a cadenza",
        "A bar of twenty quarters in free time.",
        measure(
            "<attributes><divisions>96</divisions><time><senza-misura/></time></attributes>"
            + "".join(note(f"{name}4", 1) for name in "CDEFGAB" * 3)
        ),
        lambda part: str(part.bars[0].length),
        "21",
    ),
)
