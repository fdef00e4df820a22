"""Dynamics, lines, words and signs that were printed twice, elsewhere or not at all."""

from __future__ import annotations

from pages.case import Case, beam, solo
from score_snippets import (
    bars,
    direction,
    full_score,
    measure,
    move,
    note,
    opening,
    score,
    words,
)

__all__ = ["CASES"]


def _dynamic(name: str, staff: int = 1, placement: str = "below") -> str:
    return direction(
        f"<dynamics><{name}/></dynamics>",
        after=f"<staff>{staff}</staff>",
        attributes=f'placement="{placement}"',
    )


def _wedge(kind: str) -> str:
    return direction(
        f'<wedge type="{kind}"/>', after="<staff>1</staff>", attributes='placement="below"'
    )


_CROSSING = "".join(
    note(name, "1/2", staff=staff, after=beam(kind))
    for name, staff, kind in (
        ("C3", 2, "begin"),
        ("E3", 2, "continue"),
        ("C5", 1, "continue"),
        ("E5", 1, "end"),
    )
)
_BASS = move(-4) + note("C2", 4, voice=5, staff=2)
_SIXTEENTHS = "".join(note("C5", "1/4", staff=1) for _ in range(15))
_WHOLE = note("C5", 4)


def _credit(text: str, size: int, height: int, kind: str = "") -> str:
    told = f"<credit-type>{kind}</credit-type>" if kind else ""
    return (
        f'<credit page="1">{told}<credit-words default-y="{height}" font-size="{size}" '
        f'justify="center">{text}</credit-words></credit>'
    )


_HEADER = (
    "<work><work-title>Pond</work-title></work><movement-title>Reeds</movement-title>"
    "<identification><rights>©</rights></identification>"
)


def _bracket(kind: str) -> str:
    return direction(f'<bracket type="{kind}" line-end="down" line-type="dashed"/>')


def _octave(kind: str) -> str:
    return direction(f'<octave-shift type="{kind}" size="8"/>', after="<staff>1</staff>")


def _dashes(kind: str) -> str:
    return direction(f'<dashes type="{kind}" number="1"/>')


_TRILL = (
    "<ornaments><trill-mark/><accidental-mark>flat</accidental-mark>"
    '<wavy-line type="start"/></ornaments>'
)

CASES = {
    "dynamics beside beams from staff to staff": Case(
        "dynamics of the upper staff stay with it where beams cross",
        solo(
            _dynamic("p")
            + _wedge("crescendo")
            + _CROSSING
            + _wedge("stop")
            + _dynamic("f")
            + _CROSSING
            + _BASS,
            staves=2,
        ),
        {"DynamicText/1": 2, "Hairpin/1": 1},
    ),
    "dynamics in a bar whose voice crosses without a beam": Case(
        "where no beam is in the way dynamics stand between the staves",
        solo(_dynamic("p") + note("C3", 2, staff=2) + note("C5", 2, staff=1) + _BASS, staves=2),
        {"DynamicText/0": 1},
    ),
    "wide dynamics at barlines": Case(
        "a dynamic does not reach over a barline, and leaves its note only where it would",
        solo(
            _dynamic("fff") + _SIXTEENTHS + _dynamic("ppp") + note("C5", "1/4", staff=1) + _BASS,
            staves=2,
        ),
        {"DynamicText/0": 2},
        unwritten=("DynamicText.self-alignment-X",),
    ),
    "dynamics of both staves at one moment": Case(
        "two dynamics that stand between the staves are both printed",
        solo(_dynamic("p") + _dynamic("f", 2, "above") + note("C5", 4, staff=1) + _BASS, staves=2),
        {"DynamicText": 2},
    ),
    "two dynamics of a staff at one moment": Case(
        "two dynamics of one staff are both printed",
        solo(_dynamic("p", 1, "above") + _dynamic("sfz", 1, "above") + note("C5", 4)),
        {"DynamicText": 2},
    ),
    "dynamic under the one chord of a bar": Case(
        "a rolled chord alone in its bar leaves its dynamic room before the barline",
        solo(
            *[
                _dynamic("pp")
                + note("C5", 4, staff=1, notations='<arpeggiate number="1"/>')
                + note("E5", 4, staff=1, chord=True, notations='<arpeggiate number="1"/>')
                + move(-4)
                + note("C3", 4, voice=5, staff=2, notations='<arpeggiate number="1"/>')
                + note("G3", 4, voice=5, staff=2, chord=True, notations='<arpeggiate number="1"/>')
            ]
            * 2,
            staves=2,
        ),
        {"DynamicText": 2},
    ),
    "rehearsal marks with and without frames": Case(
        "a rehearsal mark has the frame that its source gives it",
        solo(
            direction('<rehearsal enclosure="none">A</rehearsal>') + _WHOLE,
            direction('<rehearsal enclosure="circle">B</rehearsal>') + _WHOLE,
            direction("<rehearsal>C</rehearsal>") + _WHOLE,
        ),
        {"RehearsalMark": 3},
        written=(
            r'\mark \markup \bold "A"',
            r'\mark \markup \circle \bold "B"',
            r'\mark \markup \box \bold "C"',
        ),
    ),
    "dashed bracket": Case(
        "a bracket is dashed where the source dashes it",
        solo(_bracket("start") + note("C5", 2) + note("D5", 2) + _bracket("stop")),
        {"TextSpanner": 1},
        written=("dashed-line",),
    ),
    "trill with accidental and line": Case(
        "one tr begins the line and carries the accidental",
        solo(
            note("C5", 2, notations=_TRILL)
            + note("D5", 2, notations='<ornaments><wavy-line type="stop"/></ornaments>')
        ),
        {"TrillSpanner": 1, "TextScript": 0, "Script": 0},
        written=(r"\teeny \flat",),
    ),
    "octave line in words beside a bracket": Case(
        "8va is written once",
        solo(
            words("8va")
            + _dashes("start")
            + _octave("down")
            + note("C6", 2)
            + note("D6", 2)
            + _octave("stop")
            + _dashes("stop")
        ),
        {"OttavaBracket": 1, "TextSpanner": 0, "TextScript": 0},
    ),
    "cut time of four crotchets": Case(
        "a signature that the source writes as a sign is printed as one",
        score(
            bars(_WHOLE, first=opening().replace("<time>", '<time symbol="cut">')),
        ),
        {"NoteHead": 1},
        written=(r'\musicglyph "timesig.C22"',),
    ),
    "words whose first run is no text": Case(
        "words look as those runs do that are printed",
        solo(
            direction('<words> </words><words font-style="italic">dolce</words>') + _WHOLE,
        ),
        {"TextScript": 1},
        written=(r'\markup \italic "dolce"',),
    ),
    "tempo words on both staves": Case(
        "a tempo is written once",
        solo(
            words("Adagio", 'font-weight="bold"', after="<staff>1</staff>")
            + words("Adagio", 'font-weight="bold"', after="<staff>2</staff>")
            + note("C5", 4, staff=1)
            + _BASS,
            staves=2,
        ),
        {"MetronomeMark": 1},
        unwritten=('"Adagio" \\normal',),
    ),
    "signs of an inner part": Case(
        "tempo and rehearsal marks that stand in an inner part are the harp's too, once",
        full_score(
            [
                ("P1", "Flute", bars(_WHOLE, _WHOLE)),
                (
                    "P2",
                    "Oboe",
                    bars(
                        words("Allegro", 'font-weight="bold"') + _WHOLE,
                        direction("<rehearsal>A</rehearsal>") + words("dolce") + _WHOLE,
                    ),
                ),
                (
                    "P3",
                    "Horn",
                    bars(
                        words("ALLEGRO", 'font-weight="bold"') + _WHOLE,
                        direction("<rehearsal>A</rehearsal>") + _WHOLE,
                    ),
                ),
                ("P4", "Harp", bars(_WHOLE, _WHOLE)),
            ]
        ),
        {"MetronomeMark": 1, "RehearsalMark": 1, "TextScript": 0},
        written=('"Allegro"',),
    ),
    "titles of the first page": Case(
        "subtitle and title of the movement stand below the title; a bare sign of rights does not",
        score(
            bars(_WHOLE),
            header=_HEADER
            + _credit("Pond", 24, 1600)
            + _credit("for harp", 14, 1540)
            + _credit("printed here", 8, 60),
        ),
        {"NoteHead": 1},
        written=('subtitle = \\markup \\center-column { "for harp" "Reeds" }',),
        unwritten=("copyright =", "printed here"),
    ),
    "bar without a number": Case(
        "a pickup has no number on the page",
        score(
            measure(opening() + note("C5", 1), 0, 'implicit="yes"') + measure(_WHOLE, 1),
        ),
        {"NoteHead": 2, "BarNumber": 0},
    ),
}
