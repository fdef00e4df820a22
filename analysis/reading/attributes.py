"""``<attributes>``: key, time, clef and transposition."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.part import TimeSignature
from pedalsetter.analysis.reading.figures import decimal, whole
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["Transposition", "read_clef", "read_key", "read_time", "read_transposition"]

_DEFAULT_LINE = {"G": 2, "F": 4, "C": 3}
_SHARPS = "FCGDAEB"
_FLATS = "BEADGCF"


@dataclass(frozen=True, slots=True)
class Transposition:
    """From written to sounding pitch: diatonic steps and semitones upwards."""

    diatonic: int
    chromatic: int

    @property
    def fifths(self) -> int:
        """What the transposition adds to a key signature."""
        # On the line of fifths a step is worth two and a semitone minus five; whole octaves
        # (7 steps, 12 semitones) must come to nothing: 7·12 − 12·7 = 0.
        return 7 * self.chromatic - 12 * self.diatonic


def read_key(key: etree._Element, notices: Notices) -> tuple[int, str | None] | None:
    """(fifths, mode) of a ``<key>``; None where it is no ordinary signature."""
    fifths_text = key.findtext("fifths")
    mode = (key.findtext("mode") or "").strip() or None
    if fifths_text is None:
        return _own_key(key, notices)
    number = decimal(fifths_text)
    if number is None:
        notices.add("a key signature could not be understood and was left out")
        return None
    fifths = int(number)
    if not -7 <= fifths <= 7:
        notices.add("a key signature of more than seven signs is read as one of seven")
        fifths = max(-7, min(7, fifths))
    return fifths, mode


def _own_key(key: etree._Element, notices: Notices) -> tuple[int, str | None] | None:
    """A signature spelled out by steps; it is kept if it is one of the usual fifteen."""
    steps = [step.text or "" for step in key.findall("key-step")]
    alters = [alter.text or "0" for alter in key.findall("key-alter")]
    signed = {step: alter for step, alter in zip(steps, alters, strict=False) if alter != "0"}
    count = len(signed)
    if set(signed.values()) <= {"1"} and set(signed) == set(_SHARPS[:count]):
        return count, None
    if set(signed.values()) <= {"-1"} and set(signed) == set(_FLATS[:count]):
        return -count, None
    notices.add("a key signature with signs of its own was left out; every note keeps its sign")
    return None


def read_time(time: etree._Element, notices: Notices) -> TimeSignature | None:
    """The signature of a ``<time>``; None where it cannot be understood."""
    if time.find("senza-misura") is not None:
        return TimeSignature((((4,), 4),), symbol="none")
    if time.find("interchangeable") is not None:
        notices.add("only the first of two interchangeable time signatures is kept")
    groups = []
    beats: tuple[int, ...] = ()
    for child in time:
        if child.tag == "beats":
            beats = tuple(whole(figure, 0) for figure in (child.text or "").split("+"))
        elif child.tag == "beat-type" and beats:
            groups.append((beats, whole(child.text, 0)))
            beats = ()
    if not groups or any(kind <= 0 or min(figures) <= 0 for figures, kind in groups):
        notices.add("a time signature could not be understood and was left out")
        return None
    if any(kind & (kind - 1) for _, kind in groups):
        notices.add("a time signature whose lower figure is no note value was left out")
        return None
    symbol = time.get("symbol", "normal")
    if time.get("print-object") == "no":
        symbol = "none"
    elif symbol not in ("normal", "common", "cut", "single-number"):
        notices.add("a time signature with a note for its lower figure is shown in figures")
        symbol = "normal"
    return TimeSignature(tuple(groups), symbol)


def read_clef(clef: etree._Element, notices: Notices) -> tuple[str, int, int]:
    """(sign, line, octave change) of a ``<clef>``."""
    sign = (clef.findtext("sign") or "G").strip()
    line = whole(clef.findtext("line"), _DEFAULT_LINE.get(sign, 3))
    octaves = whole(clef.findtext("clef-octave-change"), 0)
    if sign not in _DEFAULT_LINE:
        notices.add(f"a clef of the kind '{sign}' is unusual for a harp")
    return sign, line, octaves


def read_transposition(elements: Sequence[etree._Element], notices: Notices) -> Transposition:
    """What lies between written and sounding pitch by the part's ``<transpose>`` elements."""
    element = elements[0]
    chromatic = whole(element.findtext("chromatic"), 0)
    octaves = whole(element.findtext("octave-change"), 0)
    diatonic_text = element.findtext("diatonic")
    # Without it the nearest interval: a tone is one step, a minor third two …
    diatonic = whole(diatonic_text, round(Fraction(chromatic * 7, 12)))
    result = Transposition(diatonic + 7 * octaves, chromatic + 12 * octaves)
    if result != Transposition(0, 0):
        notices.add("the part is transposed; it is read at the pitch that sounds")
    return result
