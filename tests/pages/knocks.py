"""Sounds of the instrument's body."""

from __future__ import annotations

from pages.case import Case, beam
from score_snippets import bars, note, opening, score

__all__ = ["CASES"]


def _knock(place: str, quarters: object = 1, **more: object) -> str:
    step, octave = place
    return note(
        f"<unpitched><display-step>{step}</display-step>"
        f"<display-octave>{octave}</display-octave></unpitched>",
        quarters,
        **more,  # type: ignore[arg-type]
    )


CASES = {
    "knocks on the soundboard": Case(
        "a knock is a cross with stem and beam, without accidental, alone and in a chord",
        score(
            bars(
                _knock("E4", "1/2", after=beam("begin"))
                + _knock("E4", "1/2", after=beam("end"))
                + note("C5", 1)
                + _knock("B4", 1, chord=True)
                + note("E5", 2),
                _knock("E4", 4),
                first=opening(fifths=-2),
            )
        ),
        {"NoteHead": 6, "Beam": 1, "Rest": 0, "MultiMeasureRest": 0, "Accidental": 1},
        written=(r"\tweak style #'cross ef'", r"\tweak style #'cross bf'"),
    ),
}
