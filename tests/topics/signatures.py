"""Topics 11 to 14: time signatures, clefs, keys, staff details."""

from __future__ import annotations

from score_snippets import bars, measure, note, opening
from topics.topic import Topic, names, of_part

__all__ = ["TOPICS"]


def _time(inner: str, quarters: object, symbol: str = "", **more: object) -> str:
    """A bar under a time signature."""
    content = note("C4", quarters, **more)  # type: ignore[arg-type]
    attributes = f"<attributes><divisions>96</divisions><time {symbol}>{inner}</time></attributes>"
    return measure(attributes + content, 1)


def _key(inner: str) -> str:
    return (
        f"<attributes><divisions>96</divisions><key>{inner}</key>"
        "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    )


def _clef(sign: str, line: object, more: str = "") -> str:
    return f"<attributes><clef><sign>{sign}</sign><line>{line}</line>{more}</clef></attributes>"


def _signatures(part: object) -> list[str]:
    return [f"{bar.time} {bar.time.symbol}" for bar in part.bars]  # type: ignore[attr-defined]


def _clefs(part: object) -> list[tuple[str, int, int]]:
    return [(each.sign, each.line, each.octave_change) for each in part.clefs]  # type: ignore[attr-defined]


def _fifths(part: object) -> list[tuple[int, str | None]]:
    return [(each.fifths, each.mode) for each in part.keys]  # type: ignore[attr-defined]


TOPICS: tuple[Topic, ...] = (
    of_part(
        "11a",
        "time signatures",
        "Simple and compound metres, one after another.",
        "".join(
            measure(
                ("<attributes><divisions>96</divisions>" if not place else "<attributes>")
                + f"<time><beats>{beats}</beats><beat-type>{kind}</beat-type></time></attributes>"
                + note("C4", f"{4 * beats / kind:g}", kind=""),
                place + 1,
            )
            for place, (beats, kind) in enumerate(((2, 2), (3, 4), (6, 8), (3, 2), (12, 16)))
        ),
        _signatures,
        ["2/2 normal", "3/4 normal", "6/8 normal", "3/2 normal", "12/16 normal"],
    ),
    of_part(
        "11b",
        "no time signature",
        "Music without a signature has bars as long as their notes.",
        measure(
            "<attributes><divisions>96</divisions></attributes>" + note("C4", 2) + note("D4"), 1
        ),
        lambda part: (str(part.bars[0].length), part.bars[0].time.symbol),
        ("3", "none"),
    ),
    of_part(
        "11c",
        "compound signature",
        "Three and two eighths.",
        _time("<beats>3+2</beats><beat-type>8</beat-type>", "2.5", kind=""),
        _signatures,
        ["3+2/8 normal"],
        "bar 1, beat 1, staff 1: a length that no single note value has is written as tied notes",
    ),
    of_part(
        "11d",
        "several signatures at once",
        "Three eighths and two quarters.",
        _time(
            "<beats>3</beats><beat-type>8</beat-type><beats>2</beats><beat-type>4</beat-type>",
            "3.5",
            dots=2,
        ),
        _signatures,
        ["3/8 + 2/4 normal"],
    ),
    of_part(
        "11e",
        "common and cut",
        "C and the barred C.",
        _time("<beats>4</beats><beat-type>4</beat-type>", 4, 'symbol="common"')
        + measure(
            '<attributes><time symbol="cut"><beats>2</beats><beat-type>2</beat-type></time>'
            "</attributes>" + note("C4", 4),
            2,
        ),
        _signatures,
        ["4/4 common", "2/2 cut"],
    ),
    of_part(
        "11f",
        "single number",
        "Only the upper figure is printed.",
        _time("<beats>3</beats><beat-type>4</beat-type>", 3, 'symbol="single-number"', dots=1),
        _signatures,
        ["3/4 single-number"],
    ),
    of_part(
        "11g",
        "senza misura",
        "Free time: the bar is as long as its notes.",
        measure(
            "<attributes><divisions>96</divisions><time><senza-misura/></time></attributes>"
            + "".join(note(f"{letter}4") for letter in "CDEFGAB"),
            1,
        ),
        lambda part: (str(part.bars[0].length), part.bars[0].time.symbol),
        ("7", "none"),
    ),
    of_part(
        "11h",
        "hidden signature",
        "A signature that is not printed still rules the bar.",
        _time("<beats>3</beats><beat-type>4</beat-type>", 3, 'print-object="no"', dots=1),
        lambda part: (str(part.bars[0].time), part.bars[0].time.symbol),
        ("3/4", "none"),
    ),
    of_part(
        "12a",
        "clefs",
        "Treble, bass, alto and tenor.",
        bars(
            _clef("G", 2) + note("C5", 4),
            _clef("F", 4) + note("C3", 4),
            _clef("C", 3) + note("C4", 4),
            _clef("C", 4) + note("C4", 4),
        ),
        _clefs,
        [("G", 2, 0), ("F", 4, 0), ("C", 3, 0), ("C", 4, 0)],
    ),
    of_part(
        "12b",
        "no key, no clef",
        "A part may begin without either.",
        measure(
            "<attributes><divisions>96</divisions>"
            "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>" + note("C4", 4)
        ),
        lambda part: (part.clefs, part.keys, names(part)),
        ((), (), "C4"),
    ),
    of_part(
        "12c",
        "octave clefs",
        "Treble clefs an octave up and two down; pitches are written ones.",
        bars(
            _clef("G", 2, "<clef-octave-change>1</clef-octave-change>") + note("C6", 4),
            _clef("G", 2, "<clef-octave-change>-2</clef-octave-change>") + note("C3", 4),
        ),
        lambda part: (_clefs(part), names(part)),
        ([("G", 2, 1), ("G", 2, -2)], "C6 C3"),
    ),
    of_part(
        "12d",
        "percussion clef",
        "A clef that a harp does not use is told.",
        bars(_clef("percussion", 2) + note("C4", 4)),
        lambda part: part.clefs[0].sign,
        "percussion",
        "bar 1, beat 1, staff 1: a clef of the kind 'percussion' is unusual for a harp",
    ),
    of_part(
        "12e",
        "a clef inside a bar",
        "It holds from its moment on.",
        bars(note("C5", 2) + _clef("F", 4) + note("C3", 2)),
        lambda part: [str(each.onset) for each in part.clefs],
        ["2"],
    ),
    of_part(
        "13a",
        "key signatures",
        "Seven flats to seven sharps.",
        "".join(
            measure(
                ("<attributes><divisions>96</divisions>" if fifths == -7 else "<attributes>")
                + f"<key><fifths>{fifths}</fifths></key>"
                + ("<time><beats>4</beats><beat-type>4</beat-type></time>" if fifths == -7 else "")
                + "</attributes>"
                + note("R", 4),
                fifths + 8,
            )
            for fifths in range(-7, 8)
        ),
        lambda part: [each.fifths for each in part.keys],
        list(range(-7, 8)),
    ),
    of_part(
        "13b",
        "church modes",
        "The mode is kept beside the signs.",
        measure(_key("<fifths>2</fifths><mode>dorian</mode>") + note("E4", 4)),
        _fifths,
        [(2, "dorian")],
    ),
    of_part(
        "13c",
        "unusual signature",
        "F sharp and B flat together are no usual signature: told, and every note keeps its sign.",
        measure(
            _key(
                "<key-step>F</key-step><key-alter>1</key-alter>"
                "<key-step>B</key-step><key-alter>-1</key-alter>"
            )
            + note("F#4", 2)
            + note("Bb4", 2)
        ),
        lambda part: (part.keys, names(part)),
        ((), "F#4 Bb4"),
        "bar 1, beat 1, staff 1: a key signature with signs of its own was left out; every "
        "note keeps its sign",
    ),
    of_part(
        "13d",
        "usual signature spelled out",
        "Two sharps given step by step are D major's.",
        measure(
            _key(
                "<key-step>F</key-step><key-alter>1</key-alter>"
                "<key-step>C</key-step><key-alter>1</key-alter>"
            )
            + note("F#4", 4)
        ),
        _fifths,
        [(2, None)],
    ),
    of_part(
        "13e",
        "a key inside a bar",
        "It holds from its moment on.",
        bars(
            note("C4", 2)
            + "<attributes><key><fifths>-3</fifths></key></attributes>"
            + note("Eb4", 2)
        ),
        lambda part: [(str(each.onset), each.fifths) for each in part.keys],
        [("0", 0), ("2", -3)],
    ),
    of_part(
        "13f",
        "too many signs",
        "Eight sharps are read as seven, and told.",
        measure(_key("<fifths>8</fifths>") + note("F##4", 4)),
        lambda part: (_fifths(part), names(part)),
        ([(7, None)], "F##4"),
        "bar 1, beat 1, staff 1: a key signature of more than seven signs is read as one of seven",
    ),
    of_part(
        "13g",
        "cancellation",
        "Signs that are cancelled are no signs.",
        bars(
            note("F#4", 4),
            "<attributes><key><cancel>3</cancel><fifths>0</fifths></key></attributes>"
            + note("F4", 4),
            first=opening(fifths=3),
        ),
        lambda part: [each.fifths for each in part.keys],
        [3, 0],
    ),
    of_part(
        "14a",
        "staff lines",
        "A harp's staff has five lines; another number is told.",
        measure(
            opening(more="<staff-details><staff-lines>1</staff-lines></staff-details>")
            + note("C4", 4)
        ),
        names,
        "C4",
        "bar 1, beat 1, staff 1: a staff of other than five lines is shown with five",
    ),
    of_part(
        "14b",
        "ossia",
        "An ossia is shown as a cue and not planned for.",
        measure(
            opening(
                staves=2,
                more='<staff-details number="2"><staff-type>ossia</staff-type></staff-details>',
            )
            + note("C4", 4, staff=1)
            + "<backup><duration>384</duration></backup>"
            + note("F#4", 4, staff=2, voice=5)
        ),
        lambda part: [event.cue for event in part.events],
        [False, True],
        "bar 1, beat 1, staff 2: the ossia is shown small, as a cue; it is not planned for",
    ),
)
