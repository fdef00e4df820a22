"""The names of the 21 pedal positions in English, German, French, Italian and Spanish."""

from __future__ import annotations

import pytest
from music21 import pitch as music21_pitch

from pedalsetter.analysis.errors import SettingError
from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position, Setting
from pedalsetter.analysis.instrument.pitch_names import (
    Language,
    letter_name,
    name_of,
    parse_name,
    pedal_order,
    setting_in_words,
)

# Systems: Wikipedia, "Key signature names and translations"; forms: common practice, no source.
# Columns: English, German, French, Italian, Spanish, each with the natural said where it has a
# word.
NAMES = """
    D♭ | D flat    | Des | ré bémol    | re bemolle   | re bemol
    D♮ | D natural | D   | ré bécarre  | re bequadro  | re becuadro
    D♯ | D sharp   | Dis | ré dièse    | re diesis    | re sostenido
    C♭ | C flat    | Ces | do bémol    | do bemolle   | do bemol
    C♮ | C natural | C   | do bécarre  | do bequadro  | do becuadro
    C♯ | C sharp   | Cis | do dièse    | do diesis    | do sostenido
    B♭ | B flat    | B   | si bémol    | si bemolle   | si bemol
    B♮ | B natural | H   | si bécarre  | si bequadro  | si becuadro
    B♯ | B sharp   | His | si dièse    | si diesis    | si sostenido
    E♭ | E flat    | Es  | mi bémol    | mi bemolle   | mi bemol
    E♮ | E natural | E   | mi bécarre  | mi bequadro  | mi becuadro
    E♯ | E sharp   | Eis | mi dièse    | mi diesis    | mi sostenido
    F♭ | F flat    | Fes | fa bémol    | fa bemolle   | fa bemol
    F♮ | F natural | F   | fa bécarre  | fa bequadro  | fa becuadro
    F♯ | F sharp   | Fis | fa dièse    | fa diesis    | fa sostenido
    G♭ | G flat    | Ges | sol bémol   | sol bemolle  | sol bemol
    G♮ | G natural | G   | sol bécarre | sol bequadro | sol becuadro
    G♯ | G sharp   | Gis | sol dièse   | sol diesis   | sol sostenido
    A♭ | A flat    | As  | la bémol    | la bemolle   | la bemol
    A♮ | A natural | A   | la bécarre  | la bequadro  | la becuadro
    A♯ | A sharp   | Ais | la dièse    | la diesis    | la sostenido
"""

ROWS = [
    (Letter(cells[0][0]), Position("♭♮♯".index(cells[0][1]) - 1), tuple(cells[1:]))
    for line in NAMES.strip().splitlines()
    for cells in [[cell.strip() for cell in line.split("|")]]
]

EVERY = [(letter, position) for letter in LETTERS for position in Position]


def test_the_table_has_all_21_positions() -> None:
    """Seven letters in three positions give 21 names, none twice."""
    assert sorted((row[0].index, row[1]) for row in ROWS) == [
        (letter.index, position) for letter, position in EVERY
    ]


@pytest.mark.parametrize(("letter", "position", "names"), ROWS)
def test_each_position_has_its_name_in_five_languages(
    letter: Letter, position: Position, names: tuple[str, ...]
) -> None:
    """The name of every position, naturals said."""
    given = tuple(name_of(letter, position, language, with_natural=True) for language in Language)

    assert names == given


@pytest.mark.parametrize("language", Language)
def test_a_natural_is_left_unsaid_unless_wanted(language: Language) -> None:
    """A natural pedal is called by its bare letter; flats and sharps are always said."""
    for letter, position in EVERY:
        short = name_of(letter, position, language)
        if position is Position.NATURAL:
            assert letter_name(letter, language) == short
        else:
            assert name_of(letter, position, language, with_natural=True) == short


@pytest.mark.parametrize("language", Language)
def test_names_are_read_back(language: Language) -> None:
    """Every name, long or short, in any case, is read as the position that it was written for."""
    for letter, position in EVERY:
        for with_natural in (False, True):
            name = name_of(letter, position, language, with_natural=with_natural)
            for text in (name, name.upper(), name.lower(), f"  {name} ", name.replace(" ", "-")):
                assert (letter, position) == parse_name(text, language), text


@pytest.mark.parametrize("language", Language)
def test_no_two_positions_share_a_name(language: Language) -> None:
    """Within one language a name says which string and which notch, never two."""
    names = {name_of(letter, position, language) for letter, position in EVERY}

    assert len(names) == 21


def test_german_italian_and_spanish_names_agree_with_another_library() -> None:
    """music21 10 names pitches in German, Italian and Spanish by itself; the words agree."""
    for letter, position in EVERY:
        other = music21_pitch.Pitch(letter.value)
        other.accidental = int(position) if position else None
        ours = {
            language: name_of(letter, position, language)
            for language in (Language.GERMAN, Language.ITALIAN, Language.SPANISH)
        }

        assert other.german.casefold() == ours[Language.GERMAN].casefold()
        assert other.italian.casefold() == ours[Language.ITALIAN].casefold()
        assert other.spanish.casefold() == ours[Language.SPANISH].casefold()


@pytest.mark.parametrize(
    ("language", "order"),
    [
        (Language.ENGLISH, "D C B E F G A"),
        (Language.GERMAN, "D C H E F G A"),
        (Language.FRENCH, "ré do si mi fa sol la"),
        (Language.ITALIAN, "re do si mi fa sol la"),
        (Language.SPANISH, "re do si mi fa sol la"),
    ],
)
def test_the_pedal_order_is_named_in_each_language(language: Language, order: str) -> None:
    """The order of the feet is one, its names are five (French: LilyPond Notation Reference)."""
    assert order == " ".join(pedal_order(language))


def test_german_b_is_b_flat_and_never_the_pedal() -> None:
    """In a German part B means B flat; the pedal itself is called H (general theory)."""
    assert parse_name("B", Language.GERMAN) == (Letter.B, Position.FLAT)
    assert parse_name("H", Language.GERMAN) == (Letter.B, Position.NATURAL)
    assert parse_name("B", Language.ENGLISH) == (Letter.B, Position.NATURAL)
    assert letter_name(Letter.B, Language.GERMAN) == "H"


@pytest.mark.parametrize(
    ("text", "language", "named"),
    [
        ("F#", Language.ENGLISH, (Letter.F, Position.SHARP)),
        ("bb", Language.ENGLISH, (Letter.B, Position.FLAT)),
        ("E♭", Language.GERMAN, (Letter.E, Position.FLAT)),
        ("h♯", Language.GERMAN, (Letter.B, Position.SHARP)),
        ("ut", Language.FRENCH, (Letter.C, Position.NATURAL)),
        ("UT DIÈSE", Language.FRENCH, (Letter.C, Position.SHARP)),
        ("re bemol", Language.FRENCH, (Letter.D, Position.FLAT)),
        ("fa ♯", Language.FRENCH, (Letter.F, Position.SHARP)),
        ("ré (bécarre)", Language.FRENCH, (Letter.D, Position.NATURAL)),
        ("sib", Language.ITALIAN, (Letter.B, Position.FLAT)),
        ("sol♮", Language.SPANISH, (Letter.G, Position.NATURAL)),
    ],
)
def test_everyday_spellings_are_read(
    text: str, language: Language, named: tuple[Letter, Position]
) -> None:
    """Signs, missing accents, old French ut and small letters are understood."""
    assert named == parse_name(text, language)


GERMAN_RULE = "B flat is B, B natural H, E flat Es and A flat As."


@pytest.mark.parametrize(
    ("text", "language", "line"),
    [
        ("Ees", Language.GERMAN, f"'Ees' is no German note name. Write Es; {GERMAN_RULE}"),
        ("Aes", Language.GERMAN, f"'Aes' is no German note name. Write As; {GERMAN_RULE}"),
        ("Hes", Language.GERMAN, f"'Hes' is no German note name. Write B; {GERMAN_RULE}"),
        ("Bis", Language.GERMAN, f"'Bis' is no German note name. Write His; {GERMAN_RULE}"),
        ("B♭", Language.GERMAN, f"'B♭' is no German note name. Write B; {GERMAN_RULE}"),
        ("B♮", Language.GERMAN, f"'B♮' is no German note name. Write H; {GERMAN_RULE}"),
        (
            "Cisis",
            Language.GERMAN,
            "'Cisis' is a double alteration, which no pedal reaches. Name the equivalent string.",
        ),
        (
            "fa double  dièse",
            Language.FRENCH,
            "'fa double dièse' is a double alteration, which no pedal reaches. "
            "Name the equivalent string.",
        ),
        (
            "B♭♭",
            Language.ENGLISH,
            "'B♭♭' is a double alteration, which no pedal reaches. Name the equivalent string.",
        ),
        (
            "G𝄪",
            Language.ENGLISH,
            "'G𝄪' is a double alteration, which no pedal reaches. Name the equivalent string.",
        ),
        (
            "H",
            Language.ENGLISH,
            "'H' names no pedal position in English. Write it as in F sharp, B flat, D.",
        ),
        (
            "X",
            Language.GERMAN,
            "'X' names no pedal position in German. Write it as in Fis, B, D.",
        ),
        (
            "Fis",
            Language.FRENCH,
            "'Fis' names no pedal position in French. Write it as in fa dièse, si bémol, ré.",
        ),
        (
            "",
            Language.ITALIAN,
            "'' names no pedal position in Italian. Write it as in fa diesis, si bemolle, re.",
        ),
        (
            "mi ut",
            Language.SPANISH,
            "'mi ut' names no pedal position in Spanish. "
            "Write it as in fa sostenido, si bemol, re.",
        ),
    ],
)
def test_a_name_that_is_none_is_told_with_its_mend(
    text: str, language: Language, line: str
) -> None:
    """A wrong name is answered by one line that says how to write it."""
    with pytest.raises(SettingError) as caught:
        parse_name(text, language)

    assert line == str(caught.value)


@pytest.mark.parametrize(
    ("text", "language"),
    [("de", Language.GERMAN), ("FRENCH", Language.FRENCH), (" it ", Language.ITALIAN)],
)
def test_a_language_is_chosen_by_name_or_code(text: str, language: Language) -> None:
    """English names and ISO 639-1 codes choose a language."""
    assert language is Language.of(text)


def test_a_language_without_names_is_told() -> None:
    """Five languages are known; the line names them."""
    with pytest.raises(SettingError) as caught:
        Language.of("nl")

    assert str(caught.value) == (
        "there are no note names for the language 'nl'. "
        "Choose English, German, French, Italian or Spanish (en, de, fr, it, es)."
    )


@pytest.mark.parametrize(
    ("language", "words"),
    [
        (Language.ENGLISH, "D flat, C sharp, B | E sharp, F sharp, G, A flat"),
        (Language.GERMAN, "Des Cis H | Eis Fis G As"),
        (Language.FRENCH, "ré bémol, do dièse, si | mi dièse, fa dièse, sol, la bémol"),
        (Language.ITALIAN, "re bemolle, do diesis, si | mi diesis, fa diesis, sol, la bemolle"),
        (
            Language.SPANISH,
            "re bemol, do sostenido, si | mi sostenido, fa sostenido, sol, la bemol",
        ),
    ],
)
def test_a_whole_setting_is_said_in_words(language: Language, words: str) -> None:
    """The setting of LilyPond's manual example ("Harp pedals") in five languages."""
    assert words == setting_in_words(Setting.parse_pattern("bsn|ssnb"), language)
