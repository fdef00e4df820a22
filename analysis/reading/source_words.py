"""Which words of a part are pedal letters, and in which language: decided from the whole part.

A letter with a real sign (``E♭``), or with its position in words (``Fis``, ``mi bémol``), is a
pedal letter wherever it stands. Everything else needs the company of others: ``B`` is B flat only
where the part writes ``Fis`` and ``H`` elsewhere, and ``la`` may be *la main gauche* cut short.
What stays in doubt, or speaks of pedals and is not understood, stays words, and is listed. False
marks harm a part more than missing ones (all pedals or none, common practice), so doubt wins.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.instrument.pitch_names import Language
from pedalsetter.analysis.part import Direction, DirectionKind, DoubtfulWords, SourceMark
from pedalsetter.analysis.reading.pedal_words import (
    Form,
    Name,
    is_chord_symbol,
    is_led,
    readings,
    speaks_of_pedals,
    whole_setting,
)
from pedalsetter.analysis.reading.source_marks import letters_of_words

__all__ = ["PedalWords", "may_be_pedal_words", "settle_pedal_words"]

_ENOUGH_TEXTS = 3
"""So many plain names (diagrams and letters with real signs counted in) make a marked part."""

_ENOUGH_NAMES = 2
"""So many of them must differ."""

_NOT_UNDERSTOOD = "It names pedals, but says more than names, and is not understood."

_SYLLABLES = (Language.FRENCH, Language.ITALIAN, Language.SPANISH)


@dataclass(frozen=True, slots=True)
class PedalWords:
    """What became of the words of a part."""

    directions: tuple[Direction, ...]
    """Those that are no pedal letters, in their order."""
    marks: tuple[SourceMark, ...]
    language: str
    doubtful: tuple[DoubtfulWords, ...]


def may_be_pedal_words(text: str, enclosure: str | None = None) -> bool:
    """Whether words could be pedal letters in any language, or speak of pedals otherwise.

    A letter alone in a frame is a rehearsal mark.
    """
    found = readings(text)
    if not found:
        return speaks_of_pedals(text)
    alone = all(len(names) == 1 and names[0].form is Form.BARE for names in found.values())
    return not (alone and enclosure not in (None, "none"))


def _is_plain(name: Name, language: Language) -> bool:
    """Whether a name can be nothing else; in a German part that holds for Es and H too."""
    if language is Language.GERMAN:
        return name.form is not Form.BARE or (name.letter == "B" and name.alter == 0)
    return name.form >= Form.PLAIN


@dataclass(frozen=True, slots=True)
class _Text:
    """One direction that could be pedal letters."""

    direction: Direction
    readings: Mapping[Language, tuple[Name, ...]]
    sure: bool

    def plainly(self, language: Language) -> bool:
        """Whether every name says by itself that it is one."""
        names = self.readings.get(language, ())
        return bool(names) and all(_is_plain(name, language) for name in names)

    def surely(self, language: Language) -> bool:
        """Whether every name has a real sign or its position in words: nothing else is so said."""
        names = self.readings.get(language, ())
        return bool(names) and all(name.form >= Form.NAMED for name in names)


def settle_pedal_words(
    directions: Sequence[Direction], candidates: Iterable[str], marks: Sequence[SourceMark]
) -> PedalWords:
    """Tell pedal letters from other words, in a language found out from all of them.

    ``candidates`` are the ids of directions whose words may be pedal letters; ``marks`` are the
    source's diagrams, which make it likelier that letters stand beside them.
    """
    wanted = set(candidates)
    texts = [
        _Text(each, readings(each.text), bool(letters_of_words(each.text)))
        for each in directions
        if each.id in wanted
    ]
    chords = sum(
        each.kind in (DirectionKind.WORDS, DirectionKind.TEMPO_WORDS) and is_chord_symbol(each.text)
        for each in directions
    )
    if texts and chords >= 2 and 4 * chords >= len(texts):
        doubts = {
            text.direction.id: "Chord symbols stand in the part, and this could be one of them."
            for text in texts
        }
        return _settled(directions, {}, "", doubts)
    return _Part(texts, len(marks)).settle(directions)


class _Part:
    """All candidates of a part, weighed together."""

    def __init__(self, texts: Sequence[_Text], diagrams: int) -> None:
        self.texts = texts
        self.diagrams = diagrams
        self.moments: defaultdict[tuple[int, Fraction], list[_Text]] = defaultdict(list)
        for text in texts:
            self.moments[text.direction.bar, text.direction.onset].append(text)

    def settle(self, directions: Sequence[Direction]) -> PedalWords:
        sure = [text for text in self.texts if text.sure]
        language = self._language()
        if language is None:
            found = {text.direction.id: letters_of_words(text.direction.text) for text in sure}
            doubts = {
                text.direction.id: "Too few such words stand in the part to tell."
                if text.readings
                else _NOT_UNDERSTOOD
                for text in self.texts
                if not text.sure and self._worth_telling(text)
            }
            return _settled(directions, found, Language.ENGLISH.value if sure else "", doubts)
        found, doubts = self._read(language)
        return _settled(directions, found, self._told(language), doubts)

    def _worth_telling(self, text: _Text) -> bool:
        """A lone letter or syllable is a doubt only where pedals are marked at all."""
        if self.diagrams or not text.readings or any(each.sure for each in self.texts):
            return True
        if text.direction.text.strip() == "H" or is_led(text.direction.text):
            return True
        return any(name.form is not Form.BARE for names in text.readings.values() for name in names)

    def _wholes(self, language: Language) -> set[str]:
        """Ids of texts that give, alone or with others at their moment, all seven letters."""
        found: set[str] = set()
        for texts in self.moments.values():
            for group in (*([text] for text in texts), texts):
                names = tuple(name for text in group for name in text.readings.get(language, ()))
                signed = any(name.form >= Form.PLAIN for name in names)
                framed = any("|" in text.direction.text for text in group)
                if whole_setting(names) and (signed or framed):
                    found |= {text.direction.id for text in group}
        return found

    def _language(self) -> Language | None:
        """The language that explains most; None if no language has enough to show for itself."""
        shown: dict[Language, int] = {}
        for language in Language:
            wholes = self._wholes(language)
            plain = [text for text in self.texts if text.plainly(language)]
            if language is Language.GERMAN and not self._is_german(wholes):
                continue
            weight = len({text.direction.id for text in plain} | wholes)
            names = {
                (name.letter, name.alter) for text in plain for name in text.readings[language]
            }
            others = sum(text.sure and not text.plainly(language) for text in self.texts)
            enough = weight + min(self.diagrams, 2) + others >= _ENOUGH_TEXTS and (
                len(names) + self.diagrams + others >= _ENOUGH_NAMES
            )
            enough = enough or any(text.surely(language) for text in plain if not text.sure)
            if weight and (enough or wholes):
                shown[language] = weight + self._native(language)
        if not shown:
            return None
        # In a tie the first language of the five is taken; it reads the same.
        return max(shown, key=lambda language: shown[language])

    def _is_german(self, wholes: set[str]) -> bool:
        """At least two different names that only German has, or one in a whole setting."""
        only: set[tuple[str, int]] = set()
        for text in self.texts:
            for name in text.readings.get(Language.GERMAN, ()):
                inside = text.direction.id in wholes
                named = name.form is Form.NAMED or (inside and name.form is Form.SHORT)
                if name.form is Form.SIGN and Language.ENGLISH not in text.readings:
                    return True  # H with a real sign is a pedal, and only in German
                is_h = name.letter == "B" and name.alter == 0 and name.form is Form.BARE
                if named or (inside and is_h):
                    only.add((name.letter, name.alter))
                    if inside or text.surely(Language.GERMAN):
                        return True
        return len(only) >= 2

    def _native(self, language: Language) -> int:
        """How many texts can only be this language, or have its own letters or accents."""
        count = 0
        for text in self.texts:
            names = text.readings.get(language)
            if not names:
                continue
            if language is Language.GERMAN:
                count += Language.ENGLISH not in text.readings
            elif language in _SYLLABLES:
                others = [each for each in _SYLLABLES if each is not language]
                alone = not any(each in text.readings for each in others)
                count += alone or (
                    language is Language.FRENCH
                    and any(sign in "éèÉÈ" for sign in text.direction.text)
                )
        return count

    def _told(self, language: Language) -> str:
        """The language, or all that would read the part alike."""
        if language not in _SYLLABLES:
            return language.value
        native = {each: self._native(each) for each in _SYLLABLES}
        if native[language]:
            return language.value
        alike = [
            each
            for each in _SYLLABLES
            if all(each in text.readings for text in self.texts if language in text.readings)
        ]
        return " or ".join(each.value for each in alike)

    def _read(
        self, language: Language
    ) -> tuple[dict[str, tuple[tuple[str, int], ...]], dict[str, str]]:
        wholes = self._wholes(language)
        found: dict[str, tuple[tuple[str, int], ...]] = {}
        doubts: dict[str, str] = {}
        standing: dict[str, int] = {}
        for text in self.texts:
            identity = text.direction.id
            names = text.readings.get(language, ())
            pedals: tuple[tuple[str, int], ...] = ()
            if names and (identity in wholes or self._means_pedals(names, language, standing)):
                pedals = tuple((name.letter, name.alter) for name in names)
            elif text.sure:
                pedals = letters_of_words(text.direction.text)
            if pedals:
                found[identity] = pedals
                standing.update(pedals)
            elif names:
                doubts[identity] = (
                    "It names no position; the natural is written out where a pedal changes."
                )
            elif not text.readings:
                doubts[identity] = _NOT_UNDERSTOOD
            else:
                doubts[identity] = (
                    f"It is no name in {self._told(language)}, the language of the part's letters."
                )
        return found, doubts

    def _means_pedals(
        self, names: tuple[Name, ...], language: Language, standing: Mapping[str, int]
    ) -> bool:
        if any(name.form >= Form.PLAIN for name in names):
            return True
        if language is not Language.GERMAN:
            return False
        # German says natural by the letter alone; that is a change only where the pedal, as
        # marked so far, stands elsewhere. H, B, Es and As are nothing else in such a part.
        return all(
            name.form is Form.SHORT or name.letter == "B" or standing.get(name.letter, 0) != 0
            for name in names
        )


def _settled(
    directions: Sequence[Direction],
    found: Mapping[str, tuple[tuple[str, int], ...]],
    language: str,
    doubts: Mapping[str, str],
) -> PedalWords:
    return PedalWords(
        tuple(each for each in directions if each.id not in found),
        tuple(_mark(each, found[each.id]) for each in directions if each.id in found),
        language if found else "",
        tuple(
            DoubtfulWords(each.id, each.bar, each.onset, each.staff, each.text, doubts[each.id])
            for each in directions
            if each.id in doubts
        ),
    )


def _mark(direction: Direction, pedals: tuple[tuple[str, int], ...]) -> SourceMark:
    return SourceMark(
        id=direction.id,
        bar=direction.bar,
        onset=direction.onset,
        staff=direction.staff,
        kind="letters",
        pedals=pedals,
        text=direction.text,
        placement=direction.placement,
    )
