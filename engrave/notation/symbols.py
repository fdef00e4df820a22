"""SMuFL glyphs drawn with what LilyPond's own font and its markup can draw."""

from __future__ import annotations

__all__ = ["symbol_markup"]

_CROSSED_RING = (
    r"\path #0.13 #'((moveto 0 0.85) (curveto 0 1.32 0.38 1.7 0.85 1.7) "
    r"(curveto 1.32 1.7 1.7 1.32 1.7 0.85) (curveto 1.7 0.38 1.32 0 0.85 0) "
    r"(curveto 0.38 0 0 0.38 0 0.85) (closepath) (moveto -0.35 0.85) (lineto 2.05 0.85) "
    r"(moveto 0.85 -0.35) (lineto 0.85 2.05))"
)

_GLYPHS = {
    "pluckedDamp": _CROSSED_RING,
    "pluckedDampAll": rf"\concat {{ {_CROSSED_RING} \hspace #-0.5 {_CROSSED_RING} }}",
    "pluckedDampOnStem": _CROSSED_RING,
    "segno": r'\musicglyph "scripts.segno"',
    "coda": r'\musicglyph "scripts.coda"',
    "codaSquare": r'\musicglyph "scripts.varcoda"',
    "segnoSerpent1": r'\musicglyph "scripts.varsegno"',
    "fermataAbove": r'\musicglyph "scripts.ufermata"',
    "fermataBelow": r'\musicglyph "scripts.dfermata"',
    "breathMarkComma": r'\musicglyph "scripts.rcomma"',
    "caesura": r'\musicglyph "scripts.caesura.straight"',
    "keyboardPedalPed": r'\musicglyph "pedal.Ped"',
    "keyboardPedalUp": r'\musicglyph "pedal.*"',
    "accidentalFlat": r"\flat",
    "accidentalNatural": r"\natural",
    "accidentalSharp": r"\sharp",
    "accidentalDoubleSharp": r"\doublesharp",
    "accidentalDoubleFlat": r"\doubleflat",
}
"""Names of SMuFL 1.4 ("Plucked techniques", "Repeats", "Holds and pauses" …)."""


def symbol_markup(name: str) -> str | None:
    r"""Markup of a glyph by its SMuFL name, without ``\markup``; None if it cannot be drawn."""
    return _GLYPHS.get(name)
