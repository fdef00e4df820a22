"""Every pedal position in every language, read from a part marked in that language.

Names: Wikipedia, "Key signature names and translations" (the systems), forms common practice
(trade fact W18); pedal orders: LilyPond Notation Reference, "Harp pedals", and its French edition
(W19); B and H: general theory (W20).
"""

from __future__ import annotations

import pytest
from score_snippets import bars, note, read, words

from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position, Setting
from pedalsetter.analysis.instrument.pitch_names import Language, name_of, setting_in_words

COMPANY = {
    Language.ENGLISH: ("F sharp", "E flat", "C sharp"),
    Language.GERMAN: ("Fis", "Gis", "Cis"),
    Language.FRENCH: ("fa dièse", "mi bémol", "do bécarre"),
    Language.ITALIAN: ("fa diesis", "mi bemolle", "do bequadro"),
    Language.SPANISH: ("fa sostenido", "mi bemol", "do becuadro"),
}
"""Three names that leave no doubt about the language."""

W18 = {
    Language.ENGLISH: {"B flat": ("B", -1), "B natural": ("B", 0), "A flat": ("A", -1)},
    Language.GERMAN: {"B": ("B", -1), "H": ("B", 0), "As": ("A", -1), "Es": ("E", -1)},
    Language.FRENCH: {"si bémol": ("B", -1), "ut dièse": ("C", 1), "ré bécarre": ("D", 0)},
    Language.ITALIAN: {"si bemolle": ("B", -1), "sol diesis": ("G", 1), "re bequadro": ("D", 0)},
    Language.SPANISH: {"si bemol": ("B", -1), "sol sostenido": ("G", 1), "re becuadro": ("D", 0)},
}
"""Check values copied from the table, not from our own names."""


def read_last(language: Language, text: str) -> tuple[tuple[str, int], ...]:
    """What the last text of a part in this language means."""
    part = read(bars(*(words(each) + note("C4", 4) for each in (*COMPANY[language], text))))
    assert part.source_language == language.value
    last = part.source_marks[-1]
    return last.pedals if last.bar == len(COMPANY[language]) else ()


@pytest.mark.parametrize(
    ("language", "text", "pedal"),
    [(language, text, pedal) for language, names in W18.items() for text, pedal in names.items()],
)
def test_names_of_the_table(language: Language, text: str, pedal: tuple[str, int]) -> None:
    """The names of W18, each in a part of its language."""
    assert read_last(language, text) == (pedal,)


@pytest.mark.parametrize("language", Language)
@pytest.mark.parametrize("letter", LETTERS)
@pytest.mark.parametrize("position", Position)
def test_all_names_we_print_are_read_again(
    language: Language, letter: Letter, position: Position
) -> None:
    """21 names in five languages; a German natural, a bare letter, is read beside another name."""
    text = name_of(letter, position, language, with_natural=True)
    bare = language is Language.GERMAN and position is Position.NATURAL and letter is not Letter.B
    read_text = f"{text} Fis" if bare and letter is not Letter.F else text
    if bare and letter is Letter.F:
        read_text = f"{text} Cis"
    assert read_last(language, read_text)[0] == (letter.value, int(position))


@pytest.mark.parametrize("language", Language)
def test_a_setting_in_words_is_read_again(language: Language) -> None:
    """The manual's own example (S24), written out in each language."""
    setting = Setting.parse("Db C# B E# F# G Ab")
    part = read(bars(words(setting_in_words(setting, language)) + note("C4", 4)))
    (mark,) = part.source_marks
    assert mark.setting() == setting


W19 = {
    Language.ENGLISH: "D C B | E F G A",
    Language.GERMAN: "D C H | E F G A",
    Language.FRENCH: "ré do si | mi fa sol la",
    Language.ITALIAN: "re do si | mi fa sol la",
    Language.SPANISH: "re do si | mi fa sol la",
}
"""The order of the pedals, copied from the table."""


@pytest.mark.parametrize("language", Language)
def test_w19_the_order_of_the_pedals(language: Language) -> None:
    """All natural, in each language; written so in a score, it is a whole setting again."""
    natural = Setting.of_key(0)
    assert setting_in_words(natural, language).replace(",", "") == W19[language]
    part = read(bars(words(W19[language]) + note("C4", 4)))
    assert [mark.setting() for mark in part.source_marks] == [natural]


def test_w20_b_is_a_trap() -> None:
    """B is B flat in a German part and no position in an English one; Es and As have no e."""
    assert read_last(Language.GERMAN, "B") == (("B", -1),)
    assert read_last(Language.ENGLISH, "B") == ()
    for letter, name in (("E", "Es"), ("A", "As")):
        assert name_of(Letter(letter), Position.FLAT, Language.GERMAN) == name
        assert read_last(Language.GERMAN, name) == ((letter, -1),)
