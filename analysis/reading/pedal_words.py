"""Words as names of pedal positions, one text and one language at a time.

A text is read only if it is nothing but names. What it then means for the part is decided from all
texts together (:mod:`~pedalsetter.analysis.reading.source_words`), never from one.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import cache

from pedalsetter.analysis.errors import SettingError
from pedalsetter.analysis.instrument.harp import LETTERS
from pedalsetter.analysis.instrument.pitch_names import Language, parse_name

__all__ = [
    "Form",
    "Name",
    "is_chord_symbol",
    "is_led",
    "names_in",
    "names_strings",
    "readings",
    "speaks_of_pedals",
    "whole_setting",
]


class Form(IntEnum):
    """How plainly a name says that it is one, plainest last."""

    BARE = 0
    """A letter or a syllable alone: ``A``, ``H``, ``la``."""
    SHORT = 1
    """A German name that is an ordinary word or a syllable as well: ``Es``, ``As``, ``Des``."""
    PLAIN = 2
    """A letter with a sign of a plain keyboard: ``Eb``, ``F#``, ``Bn``."""
    NAMED = 3
    """A letter with its position in words: ``E flat``, ``mi bémol``, ``Fis``."""
    SIGN = 4
    """A letter with a real sign: ``E♭``."""


@dataclass(frozen=True, slots=True)
class Name:
    """One pedal named by a text."""

    letter: str
    alter: int
    form: Form


_BRACKETS = str.maketrans(dict.fromkeys("()[]{}", " "))
_SMUFL = str.maketrans({"\ue260": "♭", "\ue261": "♮", "\ue262": "♯", "\u266e": "♮"})

_BREAK = r"[\s,;/+&·•|–—-]"
_END = rf"(?=\Z|{_BREAK})"
_GAP = r"[ \u00a0-]?"

_SYLLABLE = r"(?P<syllable>do|ut|re|mi|fa|sol|la|si)"

_WORDS: Mapping[Language, str] = {
    Language.ENGLISH: "flat|sharp|natural|nat",
    Language.FRENCH: "bemol|diese|becarre",
    Language.ITALIAN: "bemolle|diesis|bequadro",
    Language.SPANISH: "bemol|sostenido|becuadro",
}

_LEAD = re.compile(r"(?i:ped(?:al(?:s|e|es|en|i)?)?)(?:(?:\s*[.:])+\s*|\s+|\Z)")
"""The word that some parts write before a name, in any of the five languages, accents gone:
``Ped. F♯``, ``Pedal: E♭``, ``pédales``, ``pedale``."""

_ORDINARY = frozenset({"es", "as", "des", "ces", "his"})
"""Names that are words of a language or syllables of a text too: *Es*, *Des*, *His* …"""


@cache
def _pattern(language: Language) -> re.Pattern[str]:
    """One name of a language, at the place where the search stands; accents are gone already."""
    signed = rf"{_GAP}(?P<sign>[♭♮♯])"
    bare = rf"(?P<bare>){_END}"
    if language is Language.GERMAN:
        return re.compile(
            rf"(?P<named>[CDEFGAHcdefgah]is|[CDFG]es|Es|As){_END}"
            rf"|(?P<letter>[A-H]|[a-h](?={_GAP}[♭♮♯]))(?:{signed}|(?P<plain>[b#n]){_END}|{bare})"
        )
    words = _WORDS[language]
    position = rf"{_GAP}(?P<word>(?i:{words})\.?){_END}"
    plain = rf"{_GAP}(?P<plain>[b#]|(?<=\S)n){_END}"
    if language is Language.ENGLISH:
        # A small letter is a name only with a real sign or a word; alone it may be anything.
        stem = rf"(?P<letter>[A-G]|[a-g](?={_GAP}(?:[♭♮♯]|(?i:{words})\b)))"
    else:
        stem = rf"(?P<letter>(?i:{_SYLLABLE}))"
    return re.compile(rf"{stem}(?:{signed}|{position}|{plain}|{bare})")


def names_in(text: str, language: Language) -> tuple[Name, ...]:
    """The names of which a text consists in ``language``; empty if anything else is in it.

    Names stand apart by spaces, line breaks, commas, strokes and bars, in brackets or not. The word
    *pedal* may stand before them; after it a name is plainly one.

    >>> [(name.letter, name.alter) for name in names_in("E♭ B natural", Language.ENGLISH)]
    [('E', -1), ('B', 0)]
    >>> [(name.letter, name.alter) for name in names_in("Es, H", Language.GERMAN)]
    [('E', -1), ('B', 0)]
    >>> names_in("la main gauche", Language.FRENCH)
    ()
    """
    plain = _bare(text)
    lead = _LEAD.match(plain)
    if lead is not None:
        named = _names(plain[lead.end() :], language)
        return tuple(
            replace(name, form=Form.NAMED) if name.form in (Form.SHORT, Form.PLAIN) else name
            for name in named
        )
    return _names(plain, language)


def _names(plain: str, language: Language) -> tuple[Name, ...]:
    pattern = _pattern(language)
    breaks = re.compile(rf"{_BREAK}*")
    found: list[Name] = []
    place = 0
    while place < len(plain):
        match = pattern.match(plain, place)
        name = None if match is None else _name(match, language)
        if match is None or name is None:
            return ()
        found.append(name)
        rest = breaks.match(plain, match.end())
        place = match.end() if rest is None else rest.end()
    return tuple(found)


def _name(match: re.Match[str], language: Language) -> Name | None:
    found = match.groupdict()
    written = found.get("named")
    if written:
        ordinary = written.casefold() in _ORDINARY
        return _parsed(written, language, Form.SHORT if ordinary else Form.NAMED)
    letter, sign, plain = found["letter"], found.get("sign"), found.get("plain")
    if len(letter) == 1:
        letter = letter.upper()
    if sign or plain:
        sign = sign or {"b": "♭", "#": "♯", "n": "♮"}[str(plain)]
        form = Form.PLAIN if plain else Form.SIGN
        if language is Language.GERMAN and letter == "B":
            # With a sign the letter B is meant as everywhere; without, it is the German name.
            return Name("B", "♭♮♯".index(sign) - 1, form)
        return _parsed(letter + sign, language, form)
    word = found.get("word")
    if word:
        word = "natural" if word.casefold().startswith("nat") else word.rstrip(".")
        return _parsed(f"{letter} {word}", language, Form.NAMED)
    return _parsed(letter, language, Form.BARE)


def _parsed(written: str, language: Language, form: Form) -> Name | None:
    if written.casefold().startswith("ut") and language is not Language.FRENCH:
        return None
    try:
        letter, position = parse_name(written, language)
    except SettingError:
        return None
    return Name(letter.value, int(position), form)


@cache
def readings(text: str) -> Mapping[Language, tuple[Name, ...]]:
    """Every language in which a text is nothing but names, with these names."""
    if len(text) > _LONGEST:
        return {}
    found = {language: names_in(text, language) for language in Language}
    return {language: names for language, names in found.items() if names}


_LONGEST = 160
"""Seven names in the longest language, with brackets and signs between them, stay below this."""


def whole_setting(names: tuple[Name, ...]) -> bool:
    """Whether the names are all seven letters, each once."""
    return len(names) == len(LETTERS) == len({name.letter for name in names})


_CHORD = re.compile(
    r"[A-H][♭♯b#]?"
    r"(?:(?:maj|min|dim|aug|sus|add|m|M|°|ø|Δ|\+|o)(?:\d{1,2})?|\d{1,2})"
    r"(?:[♭♯b#(),/]|sus|add|maj|\d)*"
    r"(?:/[A-H][♭♯b#]?)?"
)


def is_chord_symbol(text: str) -> bool:
    """Whether words are a chord symbol and could be nothing else: ``Am``, ``B♭7``, ``F#m7/C``.

    >>> [text for text in ("Am", "Bb7", "Cmaj7", "Eb", "E♭", "D.C.", "As") if is_chord_symbol(text)]
    ['Am', 'Bb7', 'Cmaj7']
    """
    return _CHORD.fullmatch(text.strip()) is not None


_SIGNED = re.compile(rf"(?<!\w)(?:[A-Ha-h]|(?i:do|ut|re|mi|fa|sol|la|si)){_GAP}[♭♮♯](?![\w+°øΔ])")
"""A name with a real sign, and no chord symbol."""

_NAME = re.compile(
    r"(?<!\w)(?:[A-H](?:[b#n]|is|es|s)?|[a-h](?:is|es)|(?i:do|ut|re|mi|fa|sol|la|si)[b#]?)(?!\w)"
)
"""What may be a name after the word *pedal*."""

_KEY = re.compile(
    r"(?i)(?<!\w)(?:in|en|major|minor|majeur|mineur|dur|moll|maggiore|minore|mayor|menor)(?!\w)"
)
"""Words beside the name of a key or of an instrument."""


_STRING_NAMES = re.compile(r"\s*(?:\([^()=]*=[^()=]+\)\s*)+")


def names_strings(text: str) -> bool:
    """Whether words say on which string a note is played, ``(=E♯)``; no pedal moves for that."""
    return len(text) <= _LONGEST and _STRING_NAMES.fullmatch(text) is not None


def is_led(text: str) -> bool:
    """Whether the word *pedal* stands before the rest."""
    return _LEAD.match(_bare(text)) is not None


def speaks_of_pedals(text: str) -> bool:
    """Whether words name pedals but are more than names, so that what they say is not known.

    >>> [text for text in ("Ped. F♯ then G", "E♭ → E♮", "Ped.", "in B♭") if speaks_of_pedals(text)]
    ['Ped. F♯ then G', 'E♭ → E♮']
    """
    if len(text) > _LONGEST or readings(text) or is_chord_symbol(text):
        return False
    if names_strings(text):
        return False
    plain = _bare(text)
    lead = _LEAD.match(plain)
    if lead is not None:
        rest = plain[lead.end() :]
        return bool(_SIGNED.search(rest) or _NAME.search(rest))
    return bool(_SIGNED.search(plain)) and not _KEY.search(plain)


def _bare(text: str) -> str:
    """The text without accents and brackets."""
    return _without_accents(text.translate(_SMUFL).translate(_BRACKETS)).strip()


def _without_accents(text: str) -> str:
    decomposed = unicodedata.normalize("NFD", text)
    return "".join(sign for sign in decomposed if not unicodedata.combining(sign))
