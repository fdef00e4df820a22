"""Topics 31 to 33: directions, signs at notes, spanners."""

from __future__ import annotations

from score_snippets import bars, direction, measure, note, opening, words
from topics.topic import Topic, directions, names, of_part, signs

from pedalsetter.analysis.part import DirectionKind

__all__ = ["TOPICS"]

K = DirectionKind
_PEDALS = "".join(
    f"<pedal-tuning><pedal-step>{step}</pedal-step><pedal-alter>{alter}</pedal-alter>"
    "</pedal-tuning>"
    for step, alter in zip("DCBEFGA", (0, 0, -1, -1, 0, 0, -1), strict=True)
)


def _with(notations: str, quarters: object = 4) -> str:
    """A bar of one note that bears signs."""
    return bars(note("C5", quarters, notations=notations))


def _metronome(inner: str) -> str:
    return direction(f"<metronome>{inner}</metronome>", attributes='placement="above"')


TOPICS: tuple[Topic, ...] = (
    of_part(
        "31a",
        "words",
        "Words stand where they belong.",
        bars(words("dolce") + note("C4", 2) + words("poco rit.") + note("D4", 2)),
        lambda part: [(str(each.onset), each.text) for each in part.directions],
        [("0", "dolce"), ("2", "poco rit.")],
    ),
    of_part(
        "31b",
        "dynamics",
        "From pppp to ffff, and sforzati.",
        bars(
            "".join(
                direction(f"<dynamics><{mark}/></dynamics>") + note("C4")
                for mark in ("pppp", "mf", "ffff", "sfz")
            )
        ),
        directions(K.DYNAMIC),
        [("0", "pppp"), ("1", "mf"), ("2", "ffff"), ("3", "sfz")],
    ),
    of_part(
        "31c",
        "metronome marks",
        "A quarter to the minute, and one value that becomes another.",
        bars(
            _metronome("<beat-unit>quarter</beat-unit><per-minute>96</per-minute>") + note("C4", 4),
            _metronome(
                "<beat-unit>eighth</beat-unit><beat-unit>quarter</beat-unit><beat-unit-dot/>"
            )
            + note("C4", 4),
        ),
        lambda part: [
            (str(each.beat_unit and each.beat_unit.quarters), each.text)
            for each in part.directions
            if each.kind is K.METRONOME
        ],
        [("1", "96"), ("1/2", "")],
    ),
    of_part(
        "31d",
        "tempo in words",
        "Speeds named in words hold for the plan's seconds.",
        bars(words("Allegro", 'font-weight="bold"', after='<sound tempo="120"/>') + note("C4", 4)),
        lambda part: [str(each.quarters_per_minute) for each in part.tempi],
        ["120"],
    ),
    of_part(
        "31e",
        "hairpins",
        "A crescendo begins and ends.",
        bars(
            direction('<wedge type="crescendo"/>')
            + note("C4", 2)
            + direction('<wedge type="stop"/>')
            + note("D4", 2)
        ),
        lambda part: [(each.kind.value, str(each.onset)) for each in part.directions],
        [("wedge start", "0"), ("wedge stop", "2")],
    ),
    of_part(
        "31f",
        "rehearsal marks",
        "Each begins a section.",
        bars(
            note("C4", 4),
            direction("<rehearsal>B</rehearsal>") + note("C4", 4),
        ),
        lambda part: [section.label for section in part.sections],
        ["", "B"],
    ),
    of_part(
        "31g",
        "pedal diagram",
        "The harp's own pedals, as the format writes them.",
        bars(direction(f"<harp-pedals>{_PEDALS}</harp-pedals>") + note("Eb4", 4)),
        lambda part: [str(mark.setting()) for mark in part.source_marks],
        ["D♮ C♮ B♭ | E♭ F♮ G♮ A♭"],
    ),
    of_part(
        "31h",
        "damping",
        "Strings are stopped: some, or all.",
        bars(direction("<damp/>") + note("C4", 2) + direction("<damp-all/>") + note("C4", 2)),
        lambda part: [each.kind.value for each in part.directions],
        ["damp", "damp all"],
    ),
    of_part(
        "31i",
        "sustaining pedal",
        "A piano's pedal is not a harp's: left out, and told.",
        bars(
            direction('<pedal type="start" line="yes"/>')
            + note("C4", 2)
            + direction('<pedal type="stop" line="yes"/>')
            + note("C4", 2)
        ),
        names,
        "C4 C4",
        "bar 1, beat 1, staff 1: piano pedal left out (and 1 more like it)",
    ),
    of_part(
        "31j",
        "dashes and brackets",
        "Lines that lead words on.",
        bars(
            direction("<words>cresc.</words>")
            + direction('<dashes type="start" number="1"/>')
            + direction('<bracket type="start" number="1" line-end="down"/>')
            + note("C4", 2)
            + direction('<dashes type="stop" number="1"/>')
            + direction('<bracket type="stop" number="1" line-end="down"/>')
            + note("C4", 2)
        ),
        lambda part: sorted(each.kind.value for each in part.directions),
        ["bracket start", "bracket stop", "dashes start", "dashes stop", "words"],
    ),
    of_part(
        "31k",
        "segno and coda",
        "Signs to jump from and to.",
        bars(
            note("C4", 4),
            direction("<segno/>") + note("D4", 4),
            note("E4", 4) + direction("<coda/>", after='<sound tocoda="coda"/>'),
            note("F4", 4) + words("D.S. al Coda", after='<sound dalsegno="segno"/>'),
            direction("<coda/>", after='<sound coda="coda"/>') + note("G4", 4),
        ),
        lambda part: sorted((jump.bar, jump.kind.value) for jump in part.jumps),
        [(1, "segno"), (2, "to coda"), (3, "dal segno"), (4, "coda")],
    ),
    of_part(
        "31l",
        "da capo al fine",
        "Back to the beginning, up to the word Fine.",
        bars(
            note("C4", 4) + words("Fine", after='<sound fine="yes"/>'),
            note("D4", 4) + words("D.C. al Fine", after='<sound dacapo="yes"/>'),
        ),
        lambda part: sorted((jump.bar, jump.kind.value) for jump in part.jumps),
        [(0, "fine"), (1, "da capo")],
    ),
    of_part(
        "31m",
        "directions for other players",
        "Signs of strings and accordions are left out, and told.",
        bars(
            direction('<string-mute type="on"/>')
            + direction("<scordatura/>")
            + direction("<accordion-registration><accordion-high/></accordion-registration>")
            + direction('<image source="a.png" type="image/png"/>')
            + direction('<principal-voice type="start" symbol="Hauptstimme"/>')
            + direction("<other-direction>tap</other-direction>")
            + note("C4", 4)
        ),
        names,
        "C4",
        "bar 1, beat 1, staff 1: the direction 'accordion-registration' was left out",
        "bar 1, beat 1, staff 1: the direction 'image' was left out",
        "bar 1, beat 1, staff 1: the direction 'principal-voice' was left out",
        "bar 1, beat 1, staff 1: the direction 'scordatura' was left out",
        "bar 1, beat 1, staff 1: the direction 'string-mute' was left out",
        "bar 1, beat 1, staff 1: the direction 'tap' was left out",
    ),
    of_part(
        "31n",
        "offset",
        "Words may stand after the moment at which they are written.",
        bars(words("dim.", after="<offset>192</offset>") + note("C4", 4)),
        lambda part: [(str(each.onset), each.text) for each in part.directions],
        [("2", "dim.")],
    ),
    of_part(
        "31o",
        "letters of the source",
        "Change letters written as words are known for what they are.",
        bars(
            words("E♭") + note("Eb4", 2) + words("F#") + note("F#4", 2),
            words("C♯ B♭") + note("C#4", 2) + note("Bb4", 2),
        ),
        lambda part: [mark.pedals for mark in part.source_marks],
        [(("E", -1),), (("F", 1),), (("C", 1), ("B", -1))],
    ),
    of_part(
        "32a",
        "fermatas",
        "Round, angled and square, above and below.",
        bars(
            note("C5", 1, notations="<fermata/>")
            + note("C5", 1, notations="<fermata>angled</fermata>")
            + note("C5", 2, notations='<fermata type="inverted">square</fermata>')
        ),
        signs("fermatas"),
        [(("normal", "above"),), (("angled", "above"),), (("square", "below"),)],
    ),
    of_part(
        "32b",
        "articulations",
        "Each sign is kept.",
        bars(
            "".join(
                note("C5", "0.5", notations=f"<articulations><{sign}/></articulations>")
                for sign in (
                    *("accent", "strong-accent", "staccato", "tenuto"),
                    *("detached-legato", "staccatissimo", "spiccato", "stress"),
                )
            )
        ),
        lambda part: [event.articulations[0][0] for event in part.events],
        [
            *("accent", "strong-accent", "staccato", "tenuto"),
            *("detached-legato", "staccatissimo", "spiccato", "stress"),
        ],
    ),
    of_part(
        "32c",
        "breath and caesura",
        "A breath and a break between two notes.",
        bars(
            note("C5", 2, notations="<articulations><breath-mark/></articulations>")
            + note("D5", 2, notations="<articulations><caesura/></articulations>")
        ),
        lambda part: [event.articulations[0][0] for event in part.events],
        ["breath-mark", "caesura"],
    ),
    of_part(
        "32d",
        "scoops and falls",
        "Signs of the wind band are kept as articulations.",
        bars(
            "".join(
                note("C5", 1, notations=f"<articulations><{sign}/></articulations>")
                for sign in ("scoop", "plop", "doit", "falloff")
            )
        ),
        lambda part: [event.articulations[0][0] for event in part.events],
        ["scoop", "plop", "doit", "falloff"],
    ),
    of_part(
        "32e",
        "ornaments",
        "Trill, turns, mordents.",
        bars(
            "".join(
                note("C5", "0.5", notations=f"<ornaments><{sign}/></ornaments>")
                for sign in (
                    *("trill-mark", "turn", "inverted-turn", "delayed-turn"),
                    *("mordent", "inverted-mordent", "schleifer", "shake"),
                )
            )
        ),
        lambda part: [event.ornaments[0].kind for event in part.events],
        [
            *("trill-mark", "turn", "inverted-turn", "delayed-turn"),
            *("mordent", "inverted-mordent", "schleifer", "shake"),
        ],
    ),
    of_part(
        "32f",
        "accidentals of ornaments",
        "A trill to the sharpened note needs that string.",
        _with("<ornaments><trill-mark/><accidental-mark>sharp</accidental-mark></ornaments>"),
        lambda part: part.events[0].ornaments[0].above,
        1,
    ),
    of_part(
        "32g",
        "repeated-note tremolo",
        "Three strokes through the stem.",
        _with('<ornaments><tremolo type="single">3</tremolo></ornaments>'),
        lambda part: part.events[0].tremolo and part.events[0].tremolo.marks,
        3,
    ),
    of_part(
        "32h",
        "arpeggios",
        "Up, down, plain, and a bracket for none.",
        bars(
            "".join(
                note("C4", 1, notations=sign) + note("E4", 1, chord=True, notations=sign)
                for sign in (
                    '<arpeggiate direction="up"/>',
                    '<arpeggiate direction="down"/>',
                    "<arpeggiate/>",
                    '<non-arpeggiate type="bottom"/>',
                )
            )
        ),
        lambda part: [event.arpeggio and event.arpeggio.kind for event in part.events],
        ["up", "down", "plain", "bracket"],
    ),
    of_part(
        "32i",
        "fingering",
        "Harpists use four fingers of each hand.",
        bars(
            "".join(
                note("C4", 1, notations=f"<technical><fingering>{n}</fingering></technical>")
                for n in (1, 2, 3, 4)
            )
        ),
        lambda part: [head.fingerings for _, head in part.notes()],
        [("1",), ("2",), ("3",), ("4",)],
    ),
    of_part(
        "32j",
        "harmonics",
        "A circle above the note: it sounds an octave higher.",
        _with("<technical><harmonic/></technical>"),
        lambda part: part.events[0].harmonic,
        True,
    ),
    of_part(
        "32k",
        "playing signs of other players",
        "Bowing is kept as a sign; frets are left out, and told.",
        bars(
            note("C5", 2, notations="<technical><up-bow/></technical>")
            + note("C5", 2, notations="<technical><fret>3</fret></technical>")
        ),
        signs("technical"),
        [(("up-bow", ""),)],
        "bar 1, beat 3, staff 1: the playing sign 'fret' was left out",
    ),
    of_part(
        "32l",
        "dynamics at a note",
        "Inside the note's own signs.",
        _with("<dynamics><p/></dynamics>"),
        signs("dynamics"),
        [("p",)],
    ),
    of_part(
        "32m",
        "many signs at one note",
        "All of them are kept.",
        _with(
            "<articulations><accent/><tenuto/></articulations><fermata/>"
            "<ornaments><trill-mark/></ornaments><dynamics><sfz/></dynamics>"
        ),
        lambda part: (
            len(part.events[0].articulations),
            len(part.events[0].fermatas),
            len(part.events[0].ornaments),
            part.events[0].dynamics,
        ),
        (2, 1, 1, ("sfz",)),
    ),
    of_part(
        "33a",
        "ties",
        "One string, struck once, over the barline.",
        bars(
            note("C5", 4, ties=["start"], notations='<tied type="start"/>'),
            note("C5", 4, ties=["stop"], notations='<tied type="stop"/>'),
        ),
        lambda part: [(head.tie_start, head.tie_stop) for _, head in part.notes()],
        [(True, False), (False, True)],
    ),
    of_part(
        "33b",
        "ties without end",
        "A tie that leads nowhere is let go, and told.",
        bars(
            note("C5", 4, ties=["start"], notations='<tied type="start"/>'),
            note("D5", 4),
        ),
        lambda part: [head.tie_start for _, head in part.notes()],
        [False, False],
        "bar 1, beat 1, staff 1: a tie has a beginning but no end; it was left out",
    ),
    of_part(
        "33c",
        "let ring",
        "A short tie to nothing: the string rings on.",
        _with('<tied type="let-ring"/>'),
        lambda part: [head.let_ring for _, head in part.notes()],
        [True],
    ),
    of_part(
        "33d",
        "slurs",
        "Two at once, told apart by number.",
        bars(
            note(
                "C5", 1, notations='<slur type="start" number="1"/><slur type="start" number="2"/>'
            )
            + note("D5", 1, notations='<slur type="stop" number="2"/>')
            + note("E5", 2, notations='<slur type="stop" number="1"/>')
        ),
        lambda part: [len(event.spanners) for event in part.events],
        [2, 1, 1],
    ),
    of_part(
        "33e",
        "octave shifts",
        "Written pitches are those that sound; the line is kept.",
        bars(
            direction('<octave-shift type="down" size="8"/>')
            + note("C6", 2)
            + direction('<octave-shift type="stop" size="8"/>')
            + note("C5", 2)
        ),
        lambda part: (
            [each.kind.value for each in part.directions],
            names(part),
        ),
        (["octave start", "octave stop"], "C6 C5"),
    ),
    of_part(
        "33f",
        "glissando",
        "From one note to another, over all strings between.",
        bars(
            note("C4", 2, notations='<glissando type="start" number="1">gliss.</glissando>')
            + note("C6", 2, notations='<glissando type="stop" number="1"/>')
        ),
        lambda part: [(end.kind, end.start) for _, head in part.notes() for end in head.spanners],
        [("glissando", True), ("glissando", False)],
    ),
    of_part(
        "33g",
        "slide",
        "A straight line between two heads.",
        bars(
            note("C4", 2, notations='<slide type="start" number="1"/>')
            + note("E4", 2, notations='<slide type="stop" number="1"/>')
        ),
        lambda part: [(end.kind, end.line) for _, head in part.notes() for end in head.spanners],
        [("slide", "solid"), ("slide", "solid")],
    ),
    of_part(
        "33h",
        "trill line",
        "A wavy line from the trill to its end.",
        bars(
            note(
                "C5",
                2,
                notations="<ornaments><trill-mark/>"
                '<wavy-line type="start" number="1"/></ornaments>',
            )
            + note("C5", 2, notations='<ornaments><wavy-line type="stop" number="1"/></ornaments>')
        ),
        lambda part: [end.kind for event in part.events for end in event.spanners],
        ["wavy-line", "wavy-line"],
    ),
    of_part(
        "33i",
        "slur from staff to staff",
        "One slur over both hands.",
        measure(
            opening(staves=2)
            + note("C3", 2, staff=2, notations='<slur type="start" number="1"/>')
            + note("C5", 2, staff=1, notations='<slur type="stop" number="1"/>')
        ),
        lambda part: [(event.staff, len(event.spanners)) for event in part.events],
        [(2, 1), (1, 1)],
    ),
    of_part(
        "33j",
        "impossible octave shift",
        "A shift of nothing is told, whatever its size says.",
        bars(
            direction('<octave-shift type="up" size="27"/>')
            + note("C4", 2)
            + direction('<octave-shift type="stop" size="27"/>')
            + note("C4", 2)
        ),
        names,
        "C4 C4",
        "bar 1, beat 1, staff 1: an octave line of size 27 was left out",
        "bar 1, beat 3, staff 1: an octave line has an end but no beginning; it was left out",
    ),
)
