"""Topics 21 to 24: chords, note heads, tuplets, grace notes."""

from __future__ import annotations

from score_snippets import bars, measure, move, note, opening, words
from topics.topic import Topic, lengths, names, of_part

__all__ = ["TOPICS"]

_START = '<tuplet type="start" bracket="yes"/>'
_STOP = '<tuplet type="stop"/>'


def _triplet(names: str, more: str = "", show: str = "") -> str:
    """Eighths, three in the time of two."""
    first, middle, last = names.split()
    start = _START.replace("bracket", f"{show} bracket") if show else _START
    return (
        note(first, "1/3", kind="eighth", ratio=(3, 2), notations=start)
        + note(middle, "1/3", kind="eighth", ratio=(3, 2))
        + note(last, "1/3", kind="eighth", ratio=(3, 2), notations=_STOP + more)
    )


_INNER_START = (
    '<tuplet type="start" number="2">'
    "<tuplet-actual><tuplet-number>3</tuplet-number></tuplet-actual>"
    "<tuplet-normal><tuplet-number>2</tuplet-number></tuplet-normal></tuplet>"
)


def _ninth(step: str, ticks: int, kind: str, actual: str, normal: str, sign: str = "") -> str:
    """A note in divisions of a ninth of a quarter."""
    return (
        f"<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>{ticks}</duration>"
        f"<voice>1</voice><type>{kind}</type><time-modification>"
        f"<actual-notes>{actual}</actual-notes><normal-notes>{normal}</normal-notes>"
        f"</time-modification>{f'<notations>{sign}</notations>' if sign else ''}</note>"
    )


TOPICS: tuple[Topic, ...] = (
    of_part(
        "21a",
        "chord",
        "Two notes struck together are one event.",
        bars(note("F4", 4) + note("A4", 4, chord=True)),
        names,
        "F4+A4",
    ),
    of_part(
        "21b",
        "chords in a row",
        "Each chord has its own length.",
        bars(
            note("C4", 1)
            + note("E4", 1, chord=True)
            + note("D4", 2)
            + note("F4", 2, chord=True)
            + note("A4", 2, chord=True)
            + note("C4", 1)
        ),
        lambda part: (names(part), lengths(part)),
        ("C4+E4 D4+F4+A4 C4", "1 2 1"),
    ),
    of_part(
        "21c",
        "four-note chord in both hands",
        "Eight strings at once on two staves.",
        measure(
            opening(staves=2)
            + note("C4", 4, staff=1)
            + "".join(note(f"{name}4", 4, staff=1, chord=True) for name in "EGB")
            + "<backup><duration>384</duration></backup>"
            + note("C2", 4, staff=2, voice=5)
            + "".join(note(f"{name}2", 4, staff=2, voice=5, chord=True) for name in "EGB")
        ),
        names,
        "C4+E4+G4+B4 C2+E2+G2+B2",
    ),
    of_part(
        "21d",
        "chord in a pickup",
        "The short first bar is an upbeat.",
        measure(opening() + note("G4") + note("B4", chord=True), 0, 'implicit="yes"')
        + measure(note("C5", 4), 1),
        lambda part: [(bar.number, str(bar.length), bar.implicit) for bar in part.bars],
        [("0", "1", True), ("1", "4", False)],
    ),
    of_part(
        "21e",
        "something between the notes of a chord",
        "Words between two notes of a chord do not part them.",
        bars(note("C4", 4) + words("dolce") + note("E4", 4, chord=True)),
        names,
        "C4+E4",
    ),
    of_part(
        "21f",
        "a unison in a chord",
        "The same note twice is two heads.",
        bars(note("C4", 4) + note("C4", 4, chord=True)),
        names,
        "C4+C4",
    ),
    of_part(
        "22a",
        "note heads",
        "Diamonds, crosses and the like are kept.",
        bars(
            "".join(
                note("C4", 1, after=f"<notehead>{shape}</notehead>")
                for shape in ("diamond", "x", "triangle", "normal")
            )
        ),
        lambda part: [head.shape for _, head in part.notes()],
        ["diamond", "x", "triangle", "normal"],
    ),
    of_part(
        "22b",
        "a head of its own in a chord",
        "Only one note of the chord has another head.",
        bars(note("C4", 4) + note("E4", 4, chord=True, after="<notehead>diamond</notehead>")),
        lambda part: [head.shape for _, head in part.notes()],
        ["normal", "diamond"],
    ),
    of_part(
        "22c",
        "bracketed head",
        "A note head in round brackets.",
        bars(note("C4", 4, after='<notehead parentheses="yes">normal</notehead>')),
        lambda part: [head.parentheses for _, head in part.notes()],
        [True],
    ),
    of_part(
        "23a",
        "triplet",
        "Three eighths in the time of two.",
        bars(_triplet("C4 D4 E4") + note("F4") + note("G4", 2)),
        lambda part: (lengths(part), [len(event.tuplets) for event in part.events]),
        ("1/3 1/3 1/3 1 2", [1, 1, 1, 0, 0]),
    ),
    of_part(
        "23b",
        "tuplet of a dotted time",
        "Two in the time of three.",
        measure(
            opening(beats=6, beat_type=8)
            + note("C4", "0.75", kind="eighth", ratio=(2, 3), notations=_START)
            + note("D4", "0.75", kind="eighth", ratio=(2, 3), notations=_STOP)
            + note("E4", "1.5", dots=1)
        ),
        lambda part: [(each.actual, each.normal) for each in part.events[0].tuplets],
        [(2, 3)],
    ),
    of_part(
        "23c",
        "tuplet without a number",
        "The figure may be left out.",
        bars(_triplet("C4 D4 E4", show='show-number="none"') + note("F4") + note("G4", 2)),
        lambda part: [each.show_number for each in part.events[0].tuplets],
        ["none"],
    ),
    of_part(
        "23d",
        "nested tuplets",
        "A triplet inside a triplet: the inner notes bear both.",
        measure(
            "<attributes><divisions>9</divisions><time><beats>4</beats><beat-type>4</beat-type>"
            "</time></attributes>"
            + _ninth("C", 6, "quarter", "3", "2", '<tuplet type="start" number="1"/>')
            + _ninth("D", 2, "eighth", "9", "4", _INNER_START)
            + _ninth("E", 2, "eighth", "9", "4")
            + _ninth("F", 2, "eighth", "9", "4", '<tuplet type="stop" number="2"/>')
            + _ninth("G", 6, "quarter", "3", "2", '<tuplet type="stop" number="1"/>')
            + "<note><rest/><duration>18</duration><voice>1</voice><type>half</type></note>"
        ),
        lambda part: (lengths(part), [len(event.tuplets) for event in part.events]),
        ("2/3 2/9 2/9 2/9 2/3 2", [1, 2, 2, 2, 1, 0]),
    ),
    of_part(
        "23e",
        "tremolo between two notes",
        "Each is printed at the length of both.",
        bars(
            note(
                "C4",
                2,
                kind="whole",
                ratio=(2, 1),
                notations='<ornaments><tremolo type="start">2</tremolo></ornaments>',
            )
            + note(
                "E4",
                2,
                kind="whole",
                ratio=(2, 1),
                notations='<ornaments><tremolo type="stop">2</tremolo></ornaments>',
            )
        ),
        lambda part: [
            (event.tremolo.kind, event.tremolo.marks) for event in part.events if event.tremolo
        ],
        [("start", 2), ("stop", 2)],
    ),
    of_part(
        "23f",
        "tuplet without a bracket",
        "Only the lengths tell of it; the notes are grouped all the same.",
        bars(
            "".join(note(f"{name}4", "1/3", kind="eighth", ratio=(3, 2)) for name in "CDE")
            + note("F4")
            + note("G4", 2)
        ),
        lambda part: [len(event.tuplets) for event in part.events],
        [1, 1, 1, 0, 0],
    ),
    of_part(
        "23g",
        "septuplet",
        "Seven sixteenths in the time of four, in divisions too coarse for them.",
        measure(
            "<attributes><divisions>7</divisions><time><beats>4</beats><beat-type>4</beat-type>"
            "</time></attributes>"
            + "".join(
                f"<note><pitch><step>{name}</step><octave>4</octave></pitch><duration>1</duration>"
                "<voice>1</voice><type>16th</type><time-modification><actual-notes>7"
                "</actual-notes><normal-notes>4</normal-notes></time-modification></note>"
                for name in "CDEFGAB"
            )
            + "<note><rest/><duration>21</duration><voice>1</voice><type>half</type><dot/></note>"
        ),
        lambda part: (str(part.events[0].length), str(part.bars[0].length)),
        ("1/7", "4"),
    ),
    of_part(
        "24a",
        "grace notes",
        "Short ones with a stroke, long ones without; they take no time.",
        bars(
            note("D5", 0, kind="eighth", grace='slash="yes"')
            + note("C5", 2)
            + note("E5", 0, kind="16th", grace="")
            + note("F5", 0, kind="16th", grace="")
            + note("G5", 2)
        ),
        lambda part: [
            (event.grace.slash, str(event.length)) for event in part.events if event.grace
        ],
        [(True, "0"), (False, "0"), (False, "0")],
    ),
    of_part(
        "24b",
        "grace chord",
        "Two graces at once.",
        bars(
            note("D5", 0, kind="eighth", grace='slash="yes"')
            + note("F5", 0, kind="eighth", grace='slash="yes"', chord=True)
            + note("C5", 4)
        ),
        names,
        "D5+F5 C5",
    ),
    of_part(
        "24c",
        "grace at the end of a bar",
        "An after-note belongs to the note before it.",
        bars(
            note("C5", 4) + note("D5", 0, kind="16th", grace='steal-time-previous="20"'),
            note("E5", 4),
        ),
        lambda part: [event.grace.after for event in part.events if event.grace],
        [True],
    ),
    of_part(
        "24d",
        "grace on the other staff",
        "The lower hand's grace before the upper hand's note.",
        measure(
            opening(staves=2)
            + note("G3", 0, kind="eighth", grace='slash="yes"', staff=2)
            + note("C5", 4, staff=1)
        ),
        lambda part: [event.staff for event in part.events],
        [2, 1],
    ),
    of_part(
        "24e",
        "grace with a slur",
        "From the grace to its note.",
        bars(
            note(
                "D5",
                0,
                kind="eighth",
                grace='slash="yes"',
                notations='<slur type="start" number="1"/>',
            )
            + note("C5", 4, notations='<slur type="stop" number="1"/>')
        ),
        lambda part: [end.start for event in part.events for end in event.spanners],
        [True, False],
    ),
    of_part(
        "24f",
        "cue notes",
        "Small notes of other players are shown and never planned for.",
        bars(
            note("C5", 4),
            note("F#5", 4, before="<cue/>", voice=1)
            + move(-4)
            + note('<rest measure="yes"/>', 4, voice=2),
        ),
        lambda part: [event.cue for event in part.events],
        [False, True, False],
        "bar 2, beat 1, staff 1: small notes are taken for a cue: shown, and not planned for",
    ),
)
