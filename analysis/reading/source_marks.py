"""Pedal marks that the source already carries: diagrams, and letters as words.

Sources: MusicXML 4.0, ``harp-pedals`` (a diagram holds any number of ``pedal-tuning`` elements in
any order; ``pedal-step`` and ``pedal-alter`` are both required); SMuFL for the signs U+E260 to
U+E262. A change of one pedal has no element of its own and is written as words.
"""

from __future__ import annotations

import re

from lxml import etree

from pedalsetter.analysis.reading.figures import decimal
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["letters_of_words", "pedals_of_diagram"]

_ALTER = {
    "♭": -1,
    "\ue260": -1,
    "♮": 0,
    "\ue261": 0,
    "♯": 1,
    "\ue262": 1,
}
_SIGN = "[" + "".join(_ALTER) + "]"
_LETTER = re.compile(rf"[A-G]\s?{_SIGN}")
_LETTERS = re.compile(rf"\(?\[?\s*[A-G]\s?{_SIGN}(?:[\s,;/()]*[A-G]\s?{_SIGN})*\s*\]?\)?")
_SETTING = re.compile(
    rf"[\[(]\s*(?:[A-G]\s?{_SIGN}?[\s,]*){{3}}\|[\s,]*(?:[A-G]\s?{_SIGN}?[\s,]*){{4}}[\])]"
)
_BARE_OR_SIGNED = re.compile(rf"([A-G])\s?({_SIGN}?)")


def pedals_of_diagram(diagram: etree._Element, notices: Notices) -> tuple[tuple[str, int], ...]:
    """(letter, alteration) of each ``<pedal-tuning>``, as it stands: partial, shuffled or double.

    What is no letter, or no whole number of semitones, is left out with a notice.
    """
    pedals = []
    for tuning in diagram.findall("pedal-tuning"):
        step = (tuning.findtext("pedal-step") or "").strip().upper()
        alter = decimal(tuning.findtext("pedal-alter"))
        if len(step) != 1 or step not in "ABCDEFG" or alter is None or alter.denominator != 1:
            notices.add("a pedal of a diagram could not be understood and was left out")
            continue
        pedals.append((step, int(alter)))
    return tuple(pedals)


def letters_of_words(text: str) -> tuple[tuple[str, int], ...]:
    """(letter, alteration) if the words are nothing but pedal letters, else empty.

    Each letter has a real sign, as in ``B♭``, ``(F♯)`` or ``E♭ C♮``. A whole setting in brackets
    with its dividing stroke, ``[D♭ C♯ B | E♯ F♯ G A♭]``, may leave naturals bare (the form of
    LilyPond's manual, "Harp pedals").

    >>> letters_of_words("E♭ C♮")
    (('E', -1), ('C', 0))
    >>> letters_of_words("Bb")
    ()
    """
    words = text.strip()
    if _SETTING.fullmatch(words):
        found = _BARE_OR_SIGNED.findall(words)
        if len({letter for letter, _ in found}) == 7:
            return tuple((letter, _ALTER.get(sign, 0)) for letter, sign in found)
        return ()
    if not _LETTERS.fullmatch(words):
        return ()
    return tuple((token[0], _ALTER[token[-1]]) for token in _LETTER.findall(words))
