"""The names of the 21 pedal positions in five languages.

The same written ``B`` is B flat to a German player and B natural to an English one, so every name
is written and read in a stated language. French, Italian and Spanish name the seven letters by
syllables; German calls B natural H, B flat B, and shortens E flat and A flat to Es and As.

Sources: Wikipedia, "Key signature names and translations" (the systems); the pedal order by
language follows the French edition of the LilyPond Notation Reference, "Harp pedals". The forms
themselves are common practice, no source.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from enum import Enum
from functools import cache

from pedalsetter.analysis.errors import SettingError
from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position, Setting

__all__ = [
    "Language",
    "letter_name",
    "name_of",
    "parse_name",
    "pedal_order",
    "setting_in_words",
]


class Language(Enum):
    """A language in which notes are named."""

    ENGLISH = "English"
    GERMAN = "German"
    FRENCH = "French"
    ITALIAN = "Italian"
    SPANISH = "Spanish"

    @classmethod
    def of(cls, text: str) -> Language:
        """The language of an English name or a two-letter code (ISO 639-1), in any case.

        >>> Language.of("de")
        <Language.GERMAN: 'German'>

        Raises:
            SettingError: none of the five languages.
        """
        wanted = text.strip().casefold()
        for language in cls:
            if wanted in (language.value.casefold(), _CODES[language]):
                return language
        raise SettingError(
            f"there are no note names for the language '{text.strip()}'",
            mend="Choose English, German, French, Italian or Spanish (en, de, fr, it, es).",
        )


_CODES: Mapping[Language, str] = {
    Language.ENGLISH: "en",
    Language.GERMAN: "de",
    Language.FRENCH: "fr",
    Language.ITALIAN: "it",
    Language.SPANISH: "es",
}

_SYLLABLES: Mapping[str, str] = {
    "C": "do",
    "D": "re",
    "E": "mi",
    "F": "fa",
    "G": "sol",
    "A": "la",
    "B": "si",
}

_LETTER_NAMES: Mapping[Language, Mapping[str, str]] = {
    Language.ENGLISH: {name: name for name in "CDEFGAB"},
    Language.GERMAN: {**{name: name for name in "CDEFGA"}, "B": "H"},
    Language.FRENCH: {**_SYLLABLES, "D": "ré"},
    Language.ITALIAN: _SYLLABLES,
    Language.SPANISH: _SYLLABLES,
}

_POSITION_WORDS: Mapping[Language, Mapping[Position, str]] = {
    Language.ENGLISH: {
        Position.FLAT: "flat",
        Position.NATURAL: "natural",
        Position.SHARP: "sharp",
    },
    Language.FRENCH: {
        Position.FLAT: "bémol",
        Position.NATURAL: "bécarre",
        Position.SHARP: "dièse",
    },
    Language.ITALIAN: {
        Position.FLAT: "bemolle",
        Position.NATURAL: "bequadro",
        Position.SHARP: "diesis",
    },
    Language.SPANISH: {
        Position.FLAT: "bemol",
        Position.NATURAL: "becuadro",
        Position.SHARP: "sostenido",
    },
}

_GERMAN_FLATS: Mapping[str, str] = {"B": "B", "E": "Es", "A": "As"}

_SIGNS: Mapping[str, Position] = {
    "♭": Position.FLAT,
    "b": Position.FLAT,
    "♮": Position.NATURAL,
    "♯": Position.SHARP,
    "#": Position.SHARP,
}

_GERMAN_SLIPS: Mapping[str, str] = {
    "ees": "Es",
    "aes": "As",
    "hes": "B",
    "bes": "B",
    "bis": "His",
    "b♭": "B",
    "bb": "B",
    "b♮": "H",
    "b♯": "His",
    "b#": "His",
}
"""What is written where the German rule is not known, and what was meant."""


def letter_name(letter: Letter, language: Language) -> str:
    """The name of a pedal, that is, of its letter without alteration.

    >>> letter_name(Letter.B, Language.GERMAN), letter_name(Letter.B, Language.FRENCH)
    ('H', 'si')
    """
    return _LETTER_NAMES[language][letter.value]


def name_of(
    letter: Letter, position: Position, language: Language, *, with_natural: bool = False
) -> str:
    """The name of a pedal position, as in ``F sharp``, ``Fis`` or ``fa dièse``.

    The natural is left unsaid unless ``with_natural`` is true, as it is wanted where a pedal
    changes to it. German has no word for it: its bare letter says natural.

    >>> name_of(Letter.E, Position.FLAT, Language.GERMAN)
    'Es'
    >>> name_of(Letter.D, Position.NATURAL, Language.SPANISH, with_natural=True)
    're becuadro'
    """
    name = letter_name(letter, language)
    if language is Language.GERMAN:
        if position is Position.FLAT:
            return _GERMAN_FLATS.get(letter.value, f"{name}es")
        return f"{name}is" if position is Position.SHARP else name
    if position is Position.NATURAL and not with_natural:
        return name
    return f"{name} {_POSITION_WORDS[language][position]}"


def parse_name(text: str, language: Language) -> tuple[Letter, Position]:
    """Read the name of a pedal position.

    Case, accents and hyphens do not matter; a sign may stand for its word (``fa ♯``, ``F#``), a
    bare letter is natural (but a German B is B flat), and French ``ut`` is ``do``.

    >>> parse_name("B", Language.GERMAN) == (Letter.B, Position.FLAT)
    True
    >>> parse_name("ut dièse", Language.FRENCH) == (Letter.C, Position.SHARP)
    True

    Raises:
        SettingError: the text names no pedal position in this language.
    """
    found = _names(language).get(_plain(text))
    if found is not None:
        return found
    shown = " ".join(text.split())
    if language is Language.GERMAN and _plain(text) in _GERMAN_SLIPS:
        raise SettingError(
            f"'{shown}' is no German note name",
            mend=f"Write {_GERMAN_SLIPS[_plain(text)]}; "
            "B flat is B, B natural H, E flat Es and A flat As.",
        )
    if _names_a_double_alteration(_plain(text), language):
        raise SettingError(
            f"'{shown}' is a double alteration, which no pedal reaches",
            mend="Name the equivalent string.",
        )
    examples = ", ".join(
        name_of(letter, position, language)
        for letter, position in (
            (Letter.F, Position.SHARP),
            (Letter.B, Position.FLAT),
            (Letter.D, Position.NATURAL),
        )
    )
    raise SettingError(
        f"'{shown}' names no pedal position in {language.value}",
        mend=f"Write it as in {examples}.",
    )


def pedal_order(language: Language) -> tuple[str, ...]:
    """The names of the seven pedals from left to right.

    >>> " ".join(pedal_order(Language.GERMAN))
    'D C H E F G A'
    """
    return tuple(letter_name(letter, language) for letter in LETTERS)


def setting_in_words(setting: Setting, language: Language) -> str:
    """A whole setting by names, the feet parted by a bar; naturals are left unsaid.

    >>> setting_in_words(Setting.parse("Db C# B E# F# G Ab"), Language.GERMAN)
    'Des Cis H | Eis Fis G As'
    >>> setting_in_words(Setting.parse("D C B E F# G A"), Language.FRENCH)
    'ré, do, si | mi, fa dièse, sol, la'
    """
    words = [name_of(letter, position, language) for letter, position in setting]
    gap = " " if language is Language.GERMAN else ", "
    return f"{gap.join(words[:3])} | {gap.join(words[3:])}"


def _plain(text: str) -> str:
    """The text without case, accents, hyphens and spaces, so that only its letters count."""
    decomposed = unicodedata.normalize("NFD", text.strip().casefold())
    return "".join(
        sign for sign in decomposed if not unicodedata.combining(sign) and sign not in "- \t\n()"
    )


@cache
def _names(language: Language) -> Mapping[str, tuple[Letter, Position]]:
    """Every accepted spelling, plain, to what it names."""
    found: dict[str, tuple[Letter, Position]] = {}
    for letter in LETTERS:
        bare = _plain(letter_name(letter, language))
        stems = [bare, "ut"] if language is Language.FRENCH and bare == "do" else [bare]
        for position in Position:
            for with_natural in (False, True):
                name = _plain(name_of(letter, position, language, with_natural=with_natural))
                for stem in stems:
                    found[name.replace(bare, stem, 1)] = (letter, position)
        for sign, position in _SIGNS.items():
            for stem in stems:
                # German "hb" would be read as a slip of the pen for B, so it is not offered.
                if not (language is Language.GERMAN and letter is Letter.B and sign in "♭b"):
                    found.setdefault(stem + sign, (letter, position))
    return found


def _names_a_double_alteration(plain: str, language: Language) -> bool:
    """Whether an unknown name says a sign twice, as in ``F double sharp`` or ``Cisis``."""
    if language is Language.GERMAN:
        return plain in {"asas", "eses", *(f"{stem}{end}" for stem in "cdefgah" for end in _DOUBLE)}
    if any(plain.startswith(name) and plain.endswith(_TWICE) for name in _bare(language)):
        return True
    return any(
        plain == bare + sign + sign for bare in _bare(language) for sign in ("♭", "b", "♯", "#")
    ) or plain.endswith(("𝄪", "𝄫"))


_DOUBLE = ("eses", "isis")

_TWICE = (
    "doubleflat",
    "doublesharp",
    "doublebemol",
    "doublediese",
    "doppiobemolle",
    "doppiodiesis",
    "doblebemol",
    "doblesostenido",
)


def _bare(language: Language) -> tuple[str, ...]:
    return tuple(_plain(letter_name(letter, language)) for letter in LETTERS)
