"""Topics 01 to 03: pitches, rests, rhythm."""

from __future__ import annotations

from score_snippets import bars, measure, move, note, opening
from topics.topic import Topic, lengths, names, of_part, onsets

__all__ = ["TOPICS"]

TOPICS: tuple[Topic, ...] = (
    of_part(
        "01a",
        "pitches",
        "Naturals, sharps and flats in every octave of the harp.",
        bars(
            note("C1") + note("D2") + note("E3") + note("F4"),
            note("G5") + note("A6") + note("B6") + note("G7"),
            note("C#4") + note("Db4") + note("F#5") + note("Gb5"),
        ),
        names,
        "C1 D2 E3 F4 G5 A6 B6 G7 C#4 Db4 F#5 Gb5",
    ),
    of_part(
        "01b",
        "intervals",
        "Double alterations keep their letter.",
        bars(note("Bbb3") + note("F##4") + note("Ebb5") + note("C##4")),
        names,
        "Bbb3 F##4 Ebb5 C##4",
    ),
    of_part(
        "01c",
        "no voice element",
        "Notes without a voice are one voice.",
        bars((note("C4", 2) + note("E4", 2)).replace("<voice>1</voice>", "")),
        lambda part: [event.voice for event in part.events],
        ["1", "1"],
    ),
    of_part(
        "01d",
        "microtones",
        "A harp has no quarter tones: they are rounded, and told.",
        bars(
            note("<pitch><step>A</step><alter>0.5</alter><octave>4</octave></pitch>", 2)
            + note("<pitch><step>A</step><alter>-1.5</alter><octave>4</octave></pitch>", 2)
        ),
        names,
        "A4 Abb4",
        "bar 1, beat 1, staff 1: a microtone is rounded to the nearest semitone "
        "(and 1 more like it)",
    ),
    of_part(
        "01e",
        "cautionary accidentals",
        "A sign in brackets and a plain one.",
        bars(
            note("F#4", 2, after="<accidental>sharp</accidental>")
            + note("F#4", 2, after='<accidental parentheses="yes">sharp</accidental>')
        ),
        lambda part: [head.accidental for _, head in part.notes()],
        ["plain", "parentheses"],
    ),
    of_part(
        "01f",
        "enharmonic neighbours",
        "B sharp and C flat lie in the octave of their letter.",
        bars(note("B#3", 2) + note("Cb4", 2)),
        names,
        "B#3 Cb4",
    ),
    of_part(
        "02a",
        "rests",
        "Rests of every value, dotted too.",
        bars(
            note("R", 2) + note("R", 1) + note("R", "0.5") + note("R", "0.5"),
            note("R", 3, dots=1) + note("R", "0.25") + note("R", "0.75", dots=1),
        ),
        lengths,
        "2 1 1/2 1/2 3 1/4 3/4",
    ),
    of_part(
        "02b",
        "pitched rests",
        "A rest may stand at a line of its own.",
        bars(
            note("<rest><display-step>G</display-step><display-octave>5</display-octave></rest>", 2)
            + note("C4", 2)
        ),
        lambda part: str(part.events[0].rest_pitch and part.events[0].rest_pitch.octave),
        "5",
    ),
    of_part(
        "02c",
        "multi-bar rests",
        "Rests for whole bars stay bars, whatever number stands above them.",
        bars(
            note("C4", 4),
            "<attributes><measure-style><multiple-rest>3</multiple-rest></measure-style>"
            "</attributes>" + note('<rest measure="yes"/>', 4, kind=""),
            note('<rest measure="yes"/>', 4, kind=""),
            note('<rest measure="yes"/>', 4, kind=""),
            note("C4", 4),
        ),
        lambda part: [event.is_bar_rest for event in part.events],
        [False, True, True, True, False],
    ),
    of_part(
        "02d",
        "rests in other metres",
        "A rest for a bar is as long as its bar.",
        measure(opening(beats=3) + note('<rest measure="yes"/>', 3, kind=""), 1)
        + measure(
            "<attributes><time><beats>6</beats><beat-type>8</beat-type></time></attributes>"
            + note('<rest measure="yes"/>', 3, kind=""),
            2,
        )
        + measure(
            "<attributes><time><beats>2</beats><beat-type>2</beat-type></time></attributes>"
            + note('<rest measure="yes"/>', 4, kind=""),
            3,
        ),
        lambda part: [(str(bar.time), str(bar.length)) for bar in part.bars],
        [("3/4", "3"), ("6/8", "3"), ("2/2", "4")],
    ),
    of_part(
        "02e",
        "rests without a type",
        "The length tells the value.",
        bars(note("R", 1, kind="") + note("R", "1.5", kind="") + note("C4", "1.5", dots=1)),
        lambda part: [str(event.notated and event.notated.quarters) for event in part.events],
        ["1", "3/2", "3/2"],
    ),
    of_part(
        "02f",
        "hidden rests",
        "A rest that is not printed still takes time.",
        bars(note("R", 2, attributes='print-object="no"') + note("C4", 2)),
        lambda part: [event.visible for event in part.events],
        [False, True],
    ),
    of_part(
        "03a",
        "durations",
        "From the breve to the 64th.",
        measure(opening(beats=8) + note("C4", 8), 1)
        + measure(
            "<attributes><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
            + note("D4", 2)
            + note("E4", 1)
            + note("F4", "0.5")
            + note("G4", "0.25")
            + note("A4", "0.125")
            + note("B4", "0.0625")
            + note("C5", "0.0625"),
            2,
        ),
        lengths,
        "8 2 1 1/2 1/4 1/8 1/16 1/16",
    ),
    of_part(
        "03b",
        "backup",
        "A second voice begins where the first did.",
        bars(note("C5", 4) + move(-4) + note("E4", 2, voice=2) + note("F4", 2, voice=2)),
        onsets,
        "0 0 2",
    ),
    of_part(
        "03c",
        "change of divisions",
        "Divisions may change at any bar; lengths stay what they are.",
        bars(
            note("C4", 4),
            "<attributes><divisions>2</divisions></attributes>"
            "<note><pitch><step>D</step><octave>4</octave></pitch><duration>8</duration>"
            "<voice>1</voice><type>whole</type></note>",
        ),
        lengths,
        "4 4",
    ),
    of_part(
        "03d",
        "dots",
        "One dot adds a half, two dots three quarters.",
        bars(
            note("C4", 3, dots=1) + note("D4", 1),
            note("E4", "3.5", dots=2) + note("F4", "0.5"),
        ),
        lambda part: [event.notated and event.notated.dots for event in part.events],
        [1, 0, 2, 0],
    ),
    of_part(
        "03e",
        "gaps",
        "A forward leaves time in which nothing is printed.",
        bars(note("C4") + move(2) + note("D4")),
        onsets,
        "0 3",
    ),
    of_part(
        "03f",
        "notes without a type",
        "A length of five quarters is written as tied notes.",
        measure(opening(beats=5) + note("C4", 5, kind=""), 1),
        lambda part: (lengths(part), [head.tie_start for _, head in part.notes()]),
        ("4 1", [True, False]),
        "bar 1, beat 1, staff 1: a length that no single note value has is written as tied notes",
    ),
    of_part(
        "03g",
        "beams",
        "Beams from the source, begun and ended.",
        bars(
            note("C4", "0.5", after='<beam number="1">begin</beam>')
            + note("D4", "0.5", after='<beam number="1">continue</beam>')
            + note("E4", "0.5", after='<beam number="1">continue</beam>')
            + note("F4", "0.5", after='<beam number="1">end</beam>')
            + note("G4", 2)
        ),
        lambda part: [event.beam.value for event in part.events if event.beam],
        ["begin", "continue", "continue", "end"],
    ),
    of_part(
        "03h",
        "stems",
        "Directions of stems are kept.",
        bars(note("C5", 2, after="<stem>up</stem>") + note("C4", 2, after="<stem>down</stem>")),
        lambda part: [event.stem for event in part.events],
        ["up", "down"],
    ),
)
