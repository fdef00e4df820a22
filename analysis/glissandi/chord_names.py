"""Chord symbols: from ``Cm7`` or ``F#dim7`` to the notes of the chord.

A symbol is read piece by piece: root, kind (``m``, ``maj``, ``dim``, ``aug`` …), number (6, 7, 9,
11, 13), then what is altered, added, suspended or left out, then a bass after a slash. Case counts:
``M7`` is major, ``m7`` minor.

Two customs are followed where theory and practice part (common practice, no source): major and
dominant thirteenths leave the eleventh out, which would clash with the third; and ``dim7`` has a
diminished seventh, a half-diminished chord a minor one.
"""

from __future__ import annotations

import re

from pedalsetter.analysis.errors import SettingError
from pedalsetter.analysis.instrument.note_names import NoteName, read_note

__all__ = ["read_chord"]

_ROOT = re.compile(r"([A-G][#♯b♭]?)(.*?)(?:/([A-G][#♯b♭]?))?")
_PLAIN = str.maketrans(
    {"♯": "#", "♭": "b", "°": "o", "Ø": "ø", "△": "Δ", "−": "-", "–": "-"} | dict.fromkeys("() ,^")
)
_KINDS: tuple[tuple[str, str], ...] = (
    # (pattern, kind); the first that fits counts, so longer words stand before their beginnings.
    (r"(?:minor|min|mi|m|-)(?:major|maj|ma|M|Δ)", "minor with major seventh"),
    (r"(?:half-?dim(?:inished)?|ø)7?", "half-diminished"),
    (r"(?:dim(?:inished)?|o)(?:maj|M|Δ)", "diminished with major seventh"),
    (r"dim(?:inished)?|o", "diminished"),
    (r"(?:aug(?:mented)?|\+)(?:maj|M|Δ)", "augmented with major seventh"),
    (r"aug(?:mented)?|\+(?!5|11)", "augmented"),
    (r"major|maj|ma(?!dd)|M|Δ", "major"),
    (r"minor|min|mi|m|-(?!5)", "minor"),
    (r"dom(?:inant)?", "dominant"),
)
_NUMBER = re.compile(r"6/?9|13|11|9|7|6|5")
_MODIFIER = re.compile(
    r"(?P<alter>[#b+-])(?P<degree>13|11|9|6|5|4|2)"
    r"|sus(?P<sus>[24]?)"
    r"|add(?P<sign>[#b]?)(?P<add>13|11|9|6|4|2)"
    r"|(?:omit|no)(?P<omit>[35])"
    r"|(?P<major>maj|M|Δ)7"
    r"|(?P<alt>alt)"
)
_SIZE = {2: 2, 4: 5, 5: 7, 6: 9, 9: 14, 11: 17, 13: 21}
"""Semitones of the major or perfect interval."""


def read_chord(text: str) -> tuple[NoteName, ...] | None:
    """The notes of a chord symbol, root first, each once; None if it begins with no root.

    >>> " ".join(map(str, read_chord("Cm7")))
    'C E♭ G B♭'
    >>> " ".join(map(str, read_chord("F#dim7")))
    'F♯ A C E♭'

    Raises:
        SettingError: it begins with a root, but what follows is no chord.
    """
    match = _ROOT.fullmatch(text.strip())
    root = read_note(match[1]) if match else None
    if match is None or root is None:
        return None
    members = _members(match[2].translate(_PLAIN), text)
    notes = [root.above((degree - 1) % 7 + 1, semitones) for degree, semitones in members]
    bass = read_note(match[3]) if match[3] else None
    if bass is not None:
        notes.append(bass)
    found: dict[int, NoteName] = {}
    for note in notes:
        found.setdefault(note.pitch_class, note)
    return tuple(found.values())


def _members(symbol: str, text: str) -> list[tuple[int, int]]:
    """(degree, semitones above the root) of everything in the chord, root first."""
    kind, rest = _kind(symbol)
    found = _NUMBER.match(rest)
    number = found[0].replace("/", "") if found else ""
    rest = rest[found.end() :] if found else rest
    if kind == "half-diminished" and not number:
        number = "7"
    if kind.endswith("major seventh") and not number:
        number = "7"
    chord = _stack(kind, number, plain_triangle=symbol.rstrip() == "Δ")
    altered: set[int] = set()
    while rest:
        modifier = _MODIFIER.match(rest)
        if modifier is None:
            raise SettingError(
                f"'{text.strip()}' is no chord that is known here: '{rest}' is not understood",
                mend="Write it as in Cm7, F#dim7, Gmaj7 or C7b9, or name its notes.",
            )
        _modify(chord, modifier, altered)
        rest = rest[modifier.end() :]
    return sorted(
        (degree, semitones) for degree, sizes in chord.items() for semitones in sorted(sizes)
    )


def _kind(symbol: str) -> tuple[str, str]:
    for pattern, kind in _KINDS:
        match = re.match(pattern, symbol)
        if match:
            return kind, symbol[match.end() :]
    return "dominant", symbol


def _stack(kind: str, number: str, *, plain_triangle: bool) -> dict[int, set[int]]:
    """The chord before alterations: degree to its sizes in semitones."""
    minor_third = kind.startswith(("minor", "half", "diminished"))
    low_fifth = kind.startswith(("half", "diminished"))
    chord = {
        1: {0},
        3: {3 if minor_third else 4},
        5: {6 if low_fifth else 8 if kind.startswith("augmented") else 7},
    }
    if number == "5":
        del chord[3]
    if number in ("6", "69"):
        chord[6] = {9}
    if number in ("7", "9", "11", "13") or plain_triangle:
        major = kind == "major" or kind.endswith("major seventh")
        chord[7] = {11 if major else 9 if kind == "diminished" else 10}
    if number in ("9", "11", "13", "69"):
        chord[9] = {14}
    if number == "11" or (number == "13" and minor_third):
        chord[11] = {17}
    if number == "13":
        chord[13] = {21}
    return chord


def _modify(chord: dict[int, set[int]], modifier: re.Match[str], altered: set[int]) -> None:
    """Alter, add, suspend or leave out; ``altered`` are the degrees that were altered before."""
    if modifier["alter"]:
        degree = int(modifier["degree"])
        size = _SIZE[degree] + (1 if modifier["alter"] in "#+" else -1)
        # the first alteration takes the place of the plain degree, another stands beside it
        chord[degree] = chord.get(degree, set()) | {size} if degree in altered else {size}
        altered.add(degree)
    elif modifier["add"]:
        degree = int(modifier["add"])
        size = _SIZE[degree] + {"#": 1, "b": -1, "": 0}[modifier["sign"]]
        chord[degree] = chord.get(degree, set()) | {size}
    elif modifier["sus"] is not None:
        degree = int(modifier["sus"] or 4)
        chord.pop(3, None)
        chord[degree] = {_SIZE[degree]}
    elif modifier["omit"]:
        chord.pop(int(modifier["omit"]), None)
    elif modifier["major"]:
        chord[7] = {11}
    else:
        chord[5], chord[7], chord[9] = {6, 8}, {10}, {13, 15}
