"""The sentences of a collation: what stands, what should, and why."""

from __future__ import annotations

from collections.abc import Sequence

from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position
from pedalsetter.analysis.part import SourceMark

__all__ = ["called", "reading_of"]


def called(letter: Letter, position: Position) -> str:
    """A pedal position as printed: ``F♯``."""
    return f"{letter.value}{position.sign}"


def reading_of(marks: Sequence[SourceMark]) -> str:
    """What marks say, as printed; diagrams by their letters in pedal order.

    >>> from fractions import Fraction
    >>> mark = SourceMark("m", 0, Fraction(0), None, "diagram", (("E", 0), ("D", -1), ("C", 2)))
    >>> reading_of([mark])
    'diagram D♭ C+2 | E♮'
    """
    return ", ".join(_reading(mark) for mark in marks)


def _reading(mark: SourceMark) -> str:
    if mark.text and mark.kind != "diagram":
        return " ".join(mark.text.split())
    if mark.kind != "diagram":
        return " ".join(_pedal(letter, alter) for letter, alter in mark.pedals)
    order = {letter.value: letter.index for letter in LETTERS}
    pedals = sorted(mark.pedals, key=lambda pedal: order.get(pedal[0], 7))
    left = " ".join(_pedal(*pedal) for pedal in pedals if order.get(pedal[0], 7) < 3)
    right = " ".join(_pedal(*pedal) for pedal in pedals if order.get(pedal[0], 7) >= 3)
    return f"diagram {' | '.join(filter(None, (left, right)))}".strip()


def _pedal(letter: str, alter: int) -> str:
    return letter + {-1: "♭", 0: "♮", 1: "♯"}.get(alter, f"{alter:+d}")
