"""A part with a run of glissandi, marked as players mark theirs: *The Weir in Spate*.

One diagram stands at its beginning and holds for the whole run; after it letters tell what moves:
where one glissando ends and the next begins, and in the last beat before. Each line is two beats
long, three octaves up or down, and begins where the one before it ends.
"""

from __future__ import annotations

from score_snippets import TREBLE_AND_BASS, bars, move, note, opening, score, words

from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.reading import read_score

__all__ = ["BARS", "glissandi", "glissandi_part"]

BARS = (
    ("C3 C6", "R"),
    ("C3 C6", "R"),
    ("F3 F6", "F2"),
    ("F3 F6", "F2"),
    ("Bb2 Bb5", "Bb1"),
    ("Bb2 Bb5", "Bb1"),
    ("Eb3 Eb6", "Eb2"),
)
"""For each bar where its two lines begin, and its bass; the last line ends in bar 8."""

_LETTERS = {
    (2, 4): "A♮",
    (3, 1): "E♭",
    (4, 4): "D♮",
    (5, 1): "A♭",
    (6, 4): "G♭",
    (7, 1): "D♭",
}
"""By bar and beat. Over the bars the lines sound C E F G A♭ B♭ D♭, then F A C E♭ and so on."""

_DIAGRAM = {"D": -1, "C": 0, "B": -1, "E": 0, "F": 0, "G": 0, "A": -1}


def glissandi(*, marked: bool = True, letters: dict[tuple[int, int], str] | None = None) -> bytes:
    """The score as MusicXML: with its marks, with other ``letters``, or with the diagram alone."""
    letters = (_LETTERS if letters is None else letters) if marked else {}
    contents = []
    for number, (lines, bass) in enumerate(BARS, start=1):
        here = [_marks(number, 1, letters)]
        if number == 1:
            here.insert(0, _TEMPO + _diagram())
        first, second = lines.split()
        here.append(_line(first, ends=number > 1))
        here.append(_line(second, ends=True))
        here.append(move(-1) + _marks(number, 4, letters) + move(1))
        here.append(move(-4) + note(bass, 4, voice=2, staff=2))
        contents.append("".join(here))
    contents.append(
        _marks(8, 1, letters)
        + note("Ab3", 4, staff=1, notations=_STOP)
        + move(-4)
        + note("Ab1", 4, voice=2, staff=2)
    )
    first = opening(fifths=-4, staves=2, clefs=TREBLE_AND_BASS)
    header = (
        "<work><work-title>The Weir in Spate</work-title></work>"
        "<identification><creator>Pedalsetter tests</creator></identification>"
    )
    return score(bars(*contents, first=first), header=header)


def glissandi_part(**options: object) -> HarpPart:
    """The same, read."""
    return read_score(glissandi(**options), "weir.musicxml")  # type: ignore[arg-type]


_START = '<glissando type="start" number="1" line-type="wavy"/>'
_STOP = '<glissando type="stop" number="1" line-type="wavy"/>'
_TEMPO = (
    '<direction placement="above"><direction-type><metronome><beat-unit>quarter</beat-unit>'
    '<per-minute>66</per-minute></metronome></direction-type><sound tempo="66"/></direction>'
)


def _line(name: str, *, ends: bool) -> str:
    return note(name, 2, staff=1, notations=(_STOP if ends else "") + _START)


def _diagram() -> str:
    tunings = "".join(
        f"<pedal-tuning><pedal-step>{step}</pedal-step><pedal-alter>{alter}</pedal-alter>"
        "</pedal-tuning>"
        for step, alter in _DIAGRAM.items()
    )
    return (
        '<direction placement="above"><direction-type>'
        f"<harp-pedals>{tunings}</harp-pedals></direction-type></direction>"
    )


def _marks(bar: int, beat: int, letters: dict[tuple[int, int], str]) -> str:
    text = letters.get((bar, beat))
    return words(text, outer='placement="above"') if text else ""
