"""Texts of directions as a reader sees them: runs joined, figures told from words."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from fractions import Fraction

from pedalsetter.analysis.reading.figures import decimal

__all__ = ["joined_dynamics", "joined_words", "points", "speed_of_figure", "without_private_signs"]


_SMUFL = str.maketrans({"\ue260": "♭", "\ue261": "♮", "\ue262": "♯"})
"""Accidentals of SMuFL, which every font has in plain Unicode too."""


def joined_words(texts: Sequence[str]) -> str:
    """Runs of formatted text as one; a space is put where two words would grow together."""
    whole = ""
    for text in texts:
        if whole and text and whole[-1].isalnum() and text[0].isalnum():
            whole += " "
        whole += text
    whole = whole.translate(_SMUFL)
    lines = [" ".join(line.split()) for line in whole.replace("\r\n", "\n").split("\n")]
    return "\n".join(lines).strip("\n").strip()


def without_private_signs(text: str) -> str:
    """The text without signs of private use, which mean something in one font only."""
    return "".join(sign for sign in text if unicodedata.category(sign) != "Co").strip()


def joined_dynamics(marks: list[str]) -> str:
    """``f`` and ``p`` grow together, words stand apart."""
    whole = ""
    for mark in marks:
        plain = re.fullmatch(r"[pmfrszn]+", mark) is not None
        whole += mark if plain and re.fullmatch(r"[pmfrszn]*", whole) else f" {mark}"
    return whole.strip()


def points(size: str | None) -> float | None:
    """A font size in points; None where it is none."""
    number = decimal(size)
    return float(number) if number is not None and number > 0 else None


def speed_of_figure(text: str) -> Fraction | None:
    """The number in ``96``, ``c. 96`` or ``92–96`` (then the middle of both)."""
    figures = re.findall(r"\d{1,6}(?:[.,]\d{1,6})?", text)
    speeds = [Fraction(figure.replace(",", ".")) for figure in figures[:2]]
    if len(speeds) == 2 and not re.search(r"\d\s*[-–—]\s*\d", text):
        speeds = speeds[:1]
    if not speeds or min(speeds) <= 0:
        return None
    return sum(speeds, Fraction(0)) / len(speeds)
