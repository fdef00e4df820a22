"""The instrument: letters in pedal order, positions, settings, feet and strings.

Sources: pedal order and feet, LilyPond Notation Reference, "Harp pedals", and the MusicXML
reference for ``harp-pedals``; strings and compass, C.-M. Widor, *Initiation musicale*, p. 45;
the two lowest strings without pedals, common practice.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum, IntEnum
from functools import cached_property

from pedalsetter.analysis.errors import SettingError

__all__ = [
    "LETTERS",
    "MIDDLE",
    "NATURAL_PITCH_CLASS",
    "STRINGS",
    "Foot",
    "Harp",
    "Letter",
    "Position",
    "Setting",
    "String",
]


class Foot(Enum):
    """The foot that works a pedal."""

    LEFT = "left"
    RIGHT = "right"

    @property
    def other(self) -> Foot:
        """The foot of the other side."""
        return Foot.LEFT if self is Foot.RIGHT else Foot.RIGHT


class Position(IntEnum):
    """Where a pedal stands; the value is the alteration of its strings in semitones.

    Up is flat, the middle notch natural, down sharp (Britannica, "Pedal harp").
    """

    FLAT = -1
    NATURAL = 0
    SHARP = 1

    @property
    def sign(self) -> str:
        """♭, ♮ or ♯."""
        return "♭♮♯"[self.value + 1]

    def notches_to(self, other: Position) -> int:
        """How many notches the pedal travels to reach ``other``: 0, 1 or 2."""
        return abs(int(other) - int(self))


class Letter(Enum):
    """A pedal, and the strings that it works, in pedal order from left to right."""

    D = "D"
    C = "C"
    B = "B"
    E = "E"
    F = "F"
    G = "G"
    A = "A"

    @cached_property
    def foot(self) -> Foot:
        """The foot on whose side the pedal stands: D C B left, E F G A right."""
        return Foot.LEFT if self.value in "DCB" else Foot.RIGHT

    @cached_property
    def index(self) -> int:
        """Place in pedal order, 0 for D to 6 for A."""
        return "DCBEFGA".index(self.value)


LETTERS: tuple[Letter, ...] = tuple(Letter)
"""The seven letters in pedal order: D C B E F G A."""

MIDDLE = (Letter.B, Letter.E)
"""The pedals nearest the middle, the only ones that the other foot can take (common practice, no
source)."""

NATURAL_PITCH_CLASS: Mapping[Letter, int] = {
    Letter.C: 0,
    Letter.D: 2,
    Letter.E: 4,
    Letter.F: 5,
    Letter.G: 7,
    Letter.A: 9,
    Letter.B: 11,
}
"""Pitch class of each letter's natural, C = 0."""

_SCALE_ORDER = "CDEFGAB"

_SIGNS: Mapping[str, Position] = {
    "♭": Position.FLAT,
    "b": Position.FLAT,
    "♮": Position.NATURAL,
    "n": Position.NATURAL,
    "": Position.NATURAL,
    "♯": Position.SHARP,
    "#": Position.SHARP,
    "s": Position.SHARP,
}

_TOKEN = re.compile(r"([A-G])([♭♮♯bns#]?)\Z")


@dataclass(frozen=True, slots=True)
class Setting:
    """Where all seven pedals stand, in pedal order D C B E F G A.

    >>> print(Setting.parse("D C# B E F# G# A"))
    D♮ C♯ B♮ | E♮ F♯ G♯ A♮
    """

    positions: tuple[Position, ...]
    """Seven positions in pedal order."""

    def __post_init__(self) -> None:
        if len(self.positions) != 7:
            raise SettingError(
                f"a setting names all seven pedals, {len(self.positions)} were given",
                mend="Give D C B | E F G A, each with its sign.",
            )
        if not all(isinstance(position, Position) for position in self.positions):
            raise SettingError("a pedal stands at flat, natural or sharp")

    @classmethod
    def parse(cls, text: str) -> Setting:
        """Read a setting such as ``D♮ C♯ B♮ | E♮ F♯ G♯ A♮`` or ``D C# B E F# G# A``.

        The bar is optional, letters may come in any order; a bare letter is natural.

        Raises:
            SettingError: a word is no pedal, a letter stands twice, or one is missing.
        """
        found: dict[Letter, Position] = {}
        for word in text.replace("|", " ").replace(",", " ").split():
            match = _TOKEN.match(word[:1].upper() + word[1:])
            if match is None:
                raise SettingError(
                    f"'{word}' is no pedal position",
                    mend="Write a letter and its sign, as in C♯, Bb or F.",
                )
            letter = Letter(match[1])
            if letter in found:
                raise SettingError(
                    f"the {letter.value} pedal stands twice in '{text.strip()}'",
                    mend="Name each of the seven pedals once.",
                )
            found[letter] = _SIGNS[match[2]]
        missing = [letter.value for letter in LETTERS if letter not in found]
        if missing:
            raise SettingError(
                f"a setting names all seven pedals, {', '.join(missing)} missing in "
                f"'{text.strip()}'",
                mend="Give D C B | E F G A, each with its sign.",
            )
        return cls(tuple(found[letter] for letter in LETTERS))

    @classmethod
    def parse_pattern(cls, pattern: str) -> Setting:
        """Read the short form ``bsn|ssnb``: flat, sharp, natural … in pedal order.

        Raises:
            SettingError: not seven of b, n, s.
        """
        signs = pattern.replace("|", "").strip()
        if len(signs) != 7 or any(sign not in "bns" for sign in signs):
            raise SettingError(f"'{pattern}' is not seven of b, n and s in the order D C B E F G A")
        return cls(tuple(Position("bns".index(sign) - 1) for sign in signs))

    @classmethod
    def read(cls, text: str) -> Setting:
        """Read a setting in any of its forms: names, as :meth:`parse`, or a short pattern.

        >>> Setting.read("bsn|ssnb") == Setting.read("Db C# B E# F# G Ab")
        True

        Raises:
            SettingError: the text is neither.
        """
        plain = text.replace("|", "").strip()
        if plain and not set(plain) - set("bns"):
            return cls.parse_pattern(text)
        return cls.parse(text)

    @classmethod
    def of_key(cls, fifths: int) -> Setting:
        """The setting of a key signature: −7 (seven flats) to 7 (seven sharps).

        Raises:
            SettingError: more than seven signs.
        """
        if not -7 <= fifths <= 7:
            raise SettingError(f"a key signature has at most seven signs, not {abs(fifths)}")
        signed = "FCGDAEB"[:fifths] if fifths > 0 else "BEADGCF"[:-fifths]
        position = Position.SHARP if fifths > 0 else Position.FLAT
        return cls(
            tuple(position if letter.value in signed else Position.NATURAL for letter in LETTERS)
        )

    @classmethod
    def every(cls) -> Iterator[Setting]:
        """All 3⁷ = 2,187 settings, from all flat to all sharp."""
        for code in range(3**7):
            digits = []
            for place in range(7):
                digits.append(Position(code // 3 ** (6 - place) % 3 - 1))
            yield cls(tuple(digits))

    def __getitem__(self, letter: Letter) -> Position:
        return self.positions[letter.index]

    def __iter__(self) -> Iterator[tuple[Letter, Position]]:
        return iter(zip(LETTERS, self.positions, strict=True))

    def __str__(self) -> str:
        words = [f"{letter.value}{position.sign}" for letter, position in self]
        return f"{' '.join(words[:3])} | {' '.join(words[3:])}"

    @property
    def ascii(self) -> str:
        """The setting in plain letters, as in ``D C# B | E F# G# A``."""
        words = [
            letter.value + {-1: "b", 0: "", 1: "#"}[int(position)] for letter, position in self
        ]
        return f"{' '.join(words[:3])} | {' '.join(words[3:])}"

    @property
    def pattern(self) -> str:
        """The short form, as in ``bsn|ssnb``."""
        signs = "".join("bns"[int(position) + 1] for position in self.positions)
        return f"{signs[:3]}|{signs[3:]}"

    def moved(self, letter: Letter, position: Position) -> Setting:
        """This setting with one pedal elsewhere."""
        changed = list(self.positions)
        changed[letter.index] = position
        return Setting(tuple(changed))

    def letters_unlike(self, other: Setting) -> tuple[Letter, ...]:
        """The letters that stand differently in ``other``, in pedal order."""
        return tuple(letter for letter in LETTERS if self[letter] is not other[letter])

    def notches_to(self, other: Setting) -> int:
        """The sum of notches that all pedals travel to reach ``other``: 0 to 14."""
        return sum(self[letter].notches_to(other[letter]) for letter in LETTERS)

    def rounds_to(self, other: Setting) -> int:
        """The least number of rounds, one pedal per foot per round, no crossing: 0 to 4."""
        feet = [letter.foot for letter in self.letters_unlike(other)]
        return max(feet.count(Foot.LEFT), feet.count(Foot.RIGHT))

    def pitch_class(self, letter: Letter) -> int:
        """What the strings of ``letter`` sound, C = 0."""
        return (NATURAL_PITCH_CLASS[letter] + int(self[letter])) % 12

    def pitch_classes(self) -> frozenset[int]:
        """All pitch classes that the seven letters sound: four to seven of them."""
        return frozenset(self.pitch_class(letter) for letter in LETTERS)


@dataclass(frozen=True, slots=True)
class String:
    """One string of the harp: its letter and its octave (C4 = middle C)."""

    letter: Letter
    octave: int

    @property
    def step(self) -> int:
        """Diatonic place counted from C0, so that neighbouring strings differ by one."""
        return self.octave * 7 + _SCALE_ORDER.index(self.letter.value)

    def midi(self, position: Position) -> int:
        """The MIDI key number that the string sounds at ``position``, 60 = middle C."""
        return 12 * (self.octave + 1) + NATURAL_PITCH_CLASS[self.letter] + int(position)

    def __str__(self) -> str:
        return f"{self.letter.value}{self.octave}"


def _all_strings() -> tuple[String, ...]:
    strings = [String(Letter(name), octave) for octave in range(1, 8) for name in _SCALE_ORDER]
    return tuple(string for string in strings if string.step <= String(Letter.G, 7).step)


STRINGS: tuple[String, ...] = _all_strings()
"""The 47 strings of the full concert harp from C1 to G7, lowest first."""


@dataclass(frozen=True, slots=True)
class Harp:
    """The compass of one instrument.

    Smaller compasses and a 48th string exist, so both ends are values, not constants.
    """

    lowest: String = String(Letter.C, 1)
    highest: String = String(Letter.G, 7)
    without_pedal: tuple[String, ...] = (String(Letter.C, 1), String(Letter.D, 1))
    """Strings without mechanism: tuned by hand before playing, whatever their pedal does."""
    top_string_has_pedal: bool = True
    """Sources disagree on whether the top G has a disc; True trusts that it has."""

    def has(self, string: String) -> bool:
        """Whether the instrument has this string."""
        return self.lowest.step <= string.step <= self.highest.step

    def works_by_pedal(self, string: String) -> bool:
        """Whether the letter's pedal alters this string."""
        if string in self.without_pedal:
            return False
        return self.top_string_has_pedal or string != self.highest
