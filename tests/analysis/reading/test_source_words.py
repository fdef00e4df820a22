"""Words as pedal letters: five languages, the whole part as witness, and false friends."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

import pytest
from corpus_pieces import PIECES, CorpusPiece
from score_snippets import bars, direction, note, read, told, words

from pedalsetter.analysis.instrument.pitch_names import Language
from pedalsetter.analysis.part import DirectionKind, HarpPart, SectionReason
from pedalsetter.analysis.reading import read_part
from pedalsetter.analysis.reading.pedal_words import is_chord_symbol, names_in

ENGLISH, GERMAN, FRENCH, ITALIAN, SPANISH = Language

DIAGRAM = direction(
    "<harp-pedals>"
    + "".join(
        f"<pedal-tuning><pedal-step>{step}</pedal-step><pedal-alter>0</pedal-alter></pedal-tuning>"
        for step in "DCBEFGA"
    )
    + "</harp-pedals>"
)


def with_words(*texts: str, before: str = "") -> HarpPart:
    """A part with one text at the third beat of each of its bars, each in front of a note."""
    return read(
        bars(
            *(
                (before if index == 0 else "")
                + note("C4", 2)
                + words(text.replace("<", "&lt;"), outer='placement="above"')
                + note("C4", 2)
                for index, text in enumerate(texts)
            )
        )
    )


def pedals(part: HarpPart) -> list[tuple[tuple[str, int], ...]]:
    """What the part's marks name, by place."""
    return [mark.pedals for mark in part.source_marks]


def kept(part: HarpPart) -> list[str]:
    """Texts that stayed ordinary words."""
    return [each.text for each in part.directions if each.kind is DirectionKind.WORDS]


# One text in one language. Names: trade fact W18 (Wikipedia, "Key signature names and
# translations"); the forms are common practice, no source.


@pytest.mark.parametrize(
    ("text", "language", "expected"),
    [
        ("E♭", ENGLISH, [("E", -1)]),
        ("f♯ e♭", ENGLISH, [("F", 1), ("E", -1)]),
        ("b flat", ENGLISH, [("B", -1)]),
        ("h♮", GERMAN, [("B", 0)]),
        ("Eb", ENGLISH, [("E", -1)]),
        ("E b", ENGLISH, [("E", -1)]),
        ("E flat", ENGLISH, [("E", -1)]),
        ("E-flat", ENGLISH, [("E", -1)]),
        ("F Sharp", ENGLISH, [("F", 1)]),
        ("C nat.", ENGLISH, [("C", 0)]),
        ("Bn", ENGLISH, [("B", 0)]),
        ("B", ENGLISH, [("B", 0)]),
        ("E♭ B♮", ENGLISH, [("E", -1), ("B", 0)]),
        ("E♭B♮", ENGLISH, [("E", -1), ("B", 0)]),
        ("Eb - F#", ENGLISH, [("E", -1), ("F", 1)]),
        ("Eb\nC#", ENGLISH, [("E", -1), ("C", 1)]),
        ("E flat, B natural", ENGLISH, [("E", -1), ("B", 0)]),
        ("(F♯)", ENGLISH, [("F", 1)]),
        ("(F#) (C#)", ENGLISH, [("F", 1), ("C", 1)]),
        ("G\ue262", ENGLISH, [("G", 1)]),
        ("Es", GERMAN, [("E", -1)]),
        ("As", GERMAN, [("A", -1)]),
        ("H", GERMAN, [("B", 0)]),
        ("B", GERMAN, [("B", -1)]),
        ("His", GERMAN, [("B", 1)]),
        ("Ces, Fis", GERMAN, [("C", -1), ("F", 1)]),
        ("B♭", GERMAN, [("B", -1)]),
        ("H♮", GERMAN, [("B", 0)]),
        ("Mi b", FRENCH, [("E", -1)]),
        ("mib", FRENCH, [("E", -1)]),
        ("mi bémol", FRENCH, [("E", -1)]),
        ("ut dièse", FRENCH, [("C", 1)]),
        ("Ré ♮", FRENCH, [("D", 0)]),
        ("SOL BÉCARRE", FRENCH, [("G", 0)]),
        ("fa #, do #", ITALIAN, [("F", 1), ("C", 1)]),
        ("si bemolle", ITALIAN, [("B", -1)]),
        ("sol diesis", ITALIAN, [("G", 1)]),
        ("re bequadro", ITALIAN, [("D", 0)]),
        ("la bemol", SPANISH, [("A", -1)]),
        ("fa sostenido", SPANISH, [("F", 1)]),
        ("mi becuadro", SPANISH, [("E", 0)]),
    ],
)
def test_names_of_one_language(
    text: str, language: Language, expected: list[tuple[str, int]]
) -> None:
    """The same pedal has other names in other languages; B changes its meaning."""
    assert [(name.letter, name.alter) for name in names_in(text, language)] == expected


@pytest.mark.parametrize("language", Language)
@pytest.mark.parametrize(
    "text",
    [
        "a",
        "b",
        "la main gauche",
        "do.",
        "D.C.",
        "m.d.",
        "m.g.",
        "do majeur",
        "B♭ major",
        "in B♭",
        "C♮ dolce",
        "Solo",
        "Am",
        "E♭7",
        "F𝄪",
        "Fisis",
        "E double flat",
        "♭",
        "",
        "8va",
        "des",
        "Ees",
    ],
)
def test_other_words_are_names_in_no_language(text: str, language: Language) -> None:
    """Only a text that is nothing but names of pedal positions is read at all."""
    assert names_in(text, language) == ()


@pytest.mark.parametrize("text", ["Am", "B♭7", "Cmaj7", "F#m7/C", "Gsus4", "E♭dim", "D9"])
def test_chord_symbols(text: str) -> None:
    """A suffix makes a chord symbol (common practice, no source)."""
    assert is_chord_symbol(text)


@pytest.mark.parametrize("text", ["Eb", "E♭", "A", "D.C.", "As", "dim.", "F♯ C♯", "D♭ C♯ B"])
def test_no_chord_symbols(text: str) -> None:
    """A letter with its sign alone says nothing about chords."""
    assert not is_chord_symbol(text)


# The whole part.


@pytest.mark.parametrize(
    ("texts", "language", "expected"),
    [
        (("Eb", "F#", "Eb"), "English", [(("E", -1),), (("F", 1),), (("E", -1),)]),
        (("E flat", "B flat", "B natural"), "English", [(("E", -1),), (("B", -1),), (("B", 0),)]),
        (
            ("Fis", "Es", "B", "Cis", "H"),
            "German",
            [(("F", 1),), (("E", -1),), (("B", -1),), (("C", 1),), (("B", 0),)],
        ),
        (
            ("mi bémol", "fa dièse", "mi bécarre"),
            "French",
            [(("E", -1),), (("F", 1),), (("E", 0),)],
        ),
        (("Mi b", "Ré b", "La b"), "French", [(("E", -1),), (("D", -1),), (("A", -1),)]),
        (
            ("mi bemolle", "fa diesis", "si bequadro"),
            "Italian",
            [(("E", -1),), (("F", 1),), (("B", 0),)],
        ),
        (
            ("mi bemol", "fa sostenido", "mi becuadro"),
            "Spanish",
            [(("E", -1),), (("F", 1),), (("E", 0),)],
        ),
        (
            ("Mi b", "Fa #", "La b"),
            "French or Italian or Spanish",
            [(("E", -1),), (("F", 1),), (("A", -1),)],
        ),
    ],
    ids=["signs", "English", "German", "French", "é", "Italian", "Spanish", "syllables"],
)
def test_the_language_is_told_from_the_whole_part(
    texts: tuple[str, ...], language: str, expected: list[tuple[tuple[str, int], ...]]
) -> None:
    """Three plain names make a marked part; what would be read alike is reported alike."""
    part = with_words(*texts)
    assert part.source_language == language
    assert pedals(part) == expected
    assert part.doubtful_words == ()
    assert kept(part) == []


def test_b_is_b_flat_only_in_a_german_part() -> None:
    """Trade fact W20: in a German part B means B flat, and never the pedal's own name."""
    german = with_words("Fis", "B", "Cis", "Gis")
    assert pedals(german)[1] == (("B", -1),)
    english = with_words("F#", "B", "C#", "G#")
    assert [mark.text for mark in english.source_marks] == ["F#", "C#", "G#"]
    assert [(doubt.text, doubt.bar) for doubt in english.doubtful_words] == [("B", 1)]
    assert kept(english) == ["B"]


def test_real_signs_need_no_company() -> None:
    """E♭ is a pedal letter by itself, even in a part of another language."""
    assert pedals(with_words("E♭")) == [(("E", -1),)]
    part = with_words("mi bémol", "E♭", "fa dièse", "la bécarre")
    assert (part.source_language, len(part.source_marks)) == ("French", 4)


def test_a_german_natural_is_a_letter_alone() -> None:
    """Es, then E: the pedal goes back. An A while A stands at natural says nothing, and is told."""
    part = with_words("Fis", "Es", "Cis", "E", "A", "F C")
    assert pedals(part)[3:] == [(("E", 0),), (("F", 0), ("C", 0))]
    assert [doubt.text for doubt in part.doubtful_words] == ["A"]


@pytest.mark.parametrize(
    "texts",
    [
        ("Des", "ces", "las"),
        ("As", "Es"),
        ("Es",),
        ("H",),
        ("Des", "Es", "As"),
        ("la", "si", "do"),
        ("sol", "la", "mi", "re"),
        ("A", "B", "C", "D"),
        ("Eb", "Am", "Bb7", "F"),
        ("E♭", "Cm7", "A♭", "B♭7"),
        ("a", "la main gauche", "do.", "m.d.", "m.g."),
        ("Eb",),
        ("F#", "F#"),
        ("Eb", "Eb", "Eb", "Eb"),
        ("mi b", "la main gauche"),
        ("En", "An"),
        ("Solo", "Tutti", "H"),
    ],
)
def test_false_friends_stay_words(texts: tuple[str, ...]) -> None:
    """Too little to tell, or chord symbols: nothing is taken for a pedal letter."""
    part = with_words(*texts)
    assert part.source_marks == ()
    assert part.source_language == ""
    assert kept(part) == list(texts)


@pytest.mark.parametrize(
    ("text", "language", "expected"),
    [
        ("Fis", "German", [("F", 1)]),
        ("E flat", "English", [("E", -1)]),
        ("mi bémol", "French", [("E", -1)]),
        ("si bemolle", "Italian", [("B", -1)]),
        ("do sostenido", "Spanish", [("C", 1)]),
        ("mi♭ do♮", "French or Italian or Spanish", [("E", -1), ("C", 0)]),
        ("Ped. F♯", "English", [("F", 1)]),
        ("Ped.: F♯", "English", [("F", 1)]),
        ("Pedal: E♭", "English", [("E", -1)]),
        ("Pedals F♯ C♯", "English", [("F", 1), ("C", 1)]),
        ("(ped. Eb)", "English", [("E", -1)]),
        ("Pedal Es", "German", [("E", -1)]),
        ("Péd. fa dièse", "French", [("F", 1)]),
        ("pédales: mi♭, la♭", "French", [("E", -1), ("A", -1)]),
        ("Pedale: fa diesis", "Italian", [("F", 1)]),
        ("pedal: mi bemol", "Spanish", [("E", -1)]),
    ],
)
@pytest.mark.parametrize("bars", [1, 80])
def test_one_plain_name_is_enough_in_a_part_of_any_length(
    text: str, language: str, expected: list[tuple[str, int]], bars: int
) -> None:
    """A real sign, a position in words or the word *pedal* says it, whatever else there is."""
    part = with_words(text, *["dolce"] * (bars - 1))
    assert pedals(part) == [tuple(expected)]
    assert language in part.source_language
    assert part.doubtful_words == ()


@pytest.mark.parametrize(
    "text",
    [
        "Ped. F♯ then G♯",
        "E♭ → E♮",
        "C♮ dolce",
        "Pedal: mi♭ puis ré",
        "ped. as at B",
        "Pedale H",
        "Pédale la",
        "si♭ subito",
    ],
)
def test_what_names_pedals_and_is_not_understood_is_told(text: str) -> None:
    """It stays words, and is listed: nothing that speaks of pedals is lost in silence."""
    part = with_words("dolce", text)
    assert part.source_marks == ()
    assert [each.text for each in part.doubtful_words] == [text]
    assert told(part) == [
        f"bar 2, beat 3, staff 1: '{text}' may be pedal letters and was kept as words"
    ]


@pytest.mark.parametrize(
    "text",
    ["Ped.", "con pedale", "in B♭", "B♭ major", "Si♭ majeur", "pedalling", "Pedro", "E♭maj7"],
)
def test_words_that_speak_of_something_else_are_no_doubt(text: str) -> None:
    """A key, an instrument, a chord or the word *pedal* alone names no pedal."""
    part = with_words("dolce", text)
    assert part.source_marks == ()
    assert part.doubtful_words == ()


def test_doubtful_words_are_listed_with_their_place() -> None:
    """Es and H could be letters; the list names bar and moment, and a notice tells of the first."""
    part = with_words("Es", "dolce", "H")
    assert [(each.text, each.bar, each.onset) for each in part.doubtful_words] == [
        ("Es", 0, 2),
        ("H", 2, 10),
    ]
    assert {each.why for each in part.doubtful_words} == {
        "Too few such words stand in the part to tell."
    }
    assert told(part) == [
        "bar 1, beat 3, staff 1: 'Es' may be pedal letters and was kept as words "
        "(and 1 more like it, in bar 3)"
    ]
    assert {each.id for each in part.doubtful_words} < {each.id for each in part.directions}


def test_letters_alone_are_no_doubt_where_no_pedal_is_marked() -> None:
    """In a part without pedal marks a lone la is *la*, and a lone A names a section."""
    assert with_words("la", "A", "do").doubtful_words == ()
    assert [each.text for each in with_words("la", before=DIAGRAM).doubtful_words] == ["la"]


def test_chord_symbols_cast_doubt_on_every_letter() -> None:
    """Between Cm7 and B♭7 an A♭ is a chord, and is listed as doubtful."""
    part = with_words("A♭", "Cm7", "B♭7", "Eb")
    assert [each.text for each in part.doubtful_words] == ["A♭", "Eb"]


def test_a_diagram_speaks_for_letters() -> None:
    """Where diagrams are printed, fewer letters are enough."""
    assert pedals(with_words("Eb")) == []
    part = with_words("Eb", "F#", before=DIAGRAM)
    assert [mark.kind for mark in part.source_marks] == ["diagram", "letters", "letters"]


@pytest.mark.parametrize(
    ("texts", "language"),
    [
        (("[D♭ C♯ B | E♯ F♯ G A♭]",), "English"),
        (("[Db C# B | E# F# G Ab]",), "English"),
        (("E# F# G Ab\nDb C# B",), "English"),
        (("Des Cis H | Eis Fis G As",), "German"),
        (("ré bémol, do dièse, si | mi dièse, fa dièse, sol, la bémol",), "French"),
        (("re b do # si | mi # fa # sol la b",), "French or Italian or Spanish"),
    ],
)
def test_a_whole_setting_is_enough(texts: tuple[str, ...], language: str) -> None:
    """LilyPond's manual, "Harp pedals" (trade fact S24), in five languages (W19): one setting."""
    part = with_words(*texts)
    (mark,) = part.source_marks
    setting = mark.setting()
    assert setting is not None
    assert setting.pattern == "bsn|ssnb"
    assert part.source_language == language


def test_two_rows_of_a_setting_may_be_two_directions() -> None:
    """Right foot above left (trade fact W7): bare letters in either row are naturals."""
    part = read(bars(words("E F# G A") + words("D C# Bb") + note("C4", 4), note("C4", 4)))
    assert pedals(part) == [
        (("E", 0), ("F", 1), ("G", 0), ("A", 0)),
        (("D", 0), ("C", 1), ("B", -1)),
    ]


def test_a_stack_may_be_two_directions_at_one_moment() -> None:
    """Two letters at one moment are two marks at one moment."""
    part = read(bars(words("E♭") + words("C♯") + note("C4", 4)))
    assert [(mark.onset, mark.pedals) for mark in part.source_marks] == [
        (0, (("E", -1),)),
        (0, (("C", 1),)),
    ]
    assert len({mark.id for mark in part.source_marks}) == 2


def test_a_framed_letter_is_a_rehearsal_mark() -> None:
    """A to G in a box names a section, whatever else stands in the part."""
    frame = 'enclosure="rectangle"'
    part = read(
        bars(
            *(words(name) + note("C4", 4) for name in ("Fis", "Es", "Cis")),
            words("A", frame) + note("C4", 4),
        )
    )
    assert part.source_language == "German"
    assert len(part.source_marks) == 3
    assert part.doubtful_words == ()
    assert [(each.text, each.enclosure) for each in part.directions] == [("A", "rectangle")]


def test_lyrics_titles_and_tempo_words_are_never_letters() -> None:
    """Des, la, A or si in a lyric, a title or a tempo text is no pedal mark."""
    lyric = "<lyric><syllabic>single</syllabic><text>la</text></lyric>"
    header = "<work><work-title>Des</work-title></work><movement-title>Es</movement-title>"
    part = read(
        bars(
            *(words(name) + note("C4", 4, after="") for name in ("Fis", "Es", "Cis")),
            direction(
                "<words>As</words>", after='<sound tempo="60"/>', attributes='placement="above"'
            )
            + note("C4", 4).replace("</note>", f"{lyric}</note>"),
        ),
        header=header,
    )
    assert [mark.text for mark in part.source_marks] == ["Fis", "Es", "Cis"]
    assert part.title == "Des"
    assert [each.text for each in part.directions] == ["As"]
    assert part.directions[0].kind is DirectionKind.TEMPO_WORDS


def test_bold_letters_at_a_barline_are_letters_in_a_marked_part() -> None:
    """Bold words at a barline look like a heading; among other letters they are letters."""
    bold = 'font-weight="bold"'
    part = read(bars(*(words(name, bold) + note("C4", 4) for name in ("Eb", "F#", "C#"))))
    assert [mark.text for mark in part.source_marks] == ["Eb", "F#", "C#"]
    assert [section.reasons for section in part.sections] == [(SectionReason.START,)]


def test_letters_in_pieces_are_joined() -> None:
    """Programs write the letter and its sign in two fonts: still one mark (SMuFL U+E260)."""
    pieces = "<words>E</words><words font-family='Bravura Text'>\ue260</words>"
    part = read(bars(direction(pieces) + note("C4", 4)))
    assert pedals(part) == [(("E", -1),)]


def test_words_of_other_parts_are_nothing_for_the_harp() -> None:
    """Only the harp's own words are asked; the flute's In B is the flute's."""
    from score_snippets import full_score

    from pedalsetter.analysis.reading import read_score

    flute = bars(*(words(name) + note("C5", 4) for name in ("Eb", "F#", "C#")))
    harp = bars(*(note("C4", 4) for _ in range(3)))
    part = read_score(full_score([("P1", "Flute", flute), ("P2", "Harp", harp)]), "two.musicxml")
    assert part.source_marks == ()
    assert part.doubtful_words == ()


def test_mei_directions_are_read_alike() -> None:
    """MEI writes a change as text in ``dir`` (trade fact S17); it arrives as words."""
    from pedalsetter.analysis.reading import read_score

    measures = "".join(
        f'<measure n="{number}"><staff n="1"><layer n="1"><note xml:id="n{number}" dur="1" oct="4" '
        f'pname="c"/></layer></staff><dir tstamp="1" staff="1" place="above">{text}</dir></measure>'
        for number, text in enumerate(("E♭", "Fis", "Es", "Cis", "dolce"), start=1)
    )
    data = (
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>'
        "<titleStmt><title>T</title></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv>"
        '<score><scoreDef meter.count="4" meter.unit="4"><staffGrp><staffDef n="1" lines="5" '
        'clef.shape="G" clef.line="2"><label>Harp</label></staffDef></staffGrp></scoreDef><section>'
        f"{measures}</section></score></mdiv></body></music></mei>"
    ).encode()
    part = read_score(data, "harp.mei")
    assert part.source_language == "German"
    assert [mark.pedals for mark in part.source_marks] == [
        (("E", -1),),
        (("F", 1),),
        (("E", -1),),
        (("C", 1),),
    ]
    assert kept(part) == ["dolce"]


@pytest.mark.corpus
@pytest.mark.parametrize("piece", PIECES, ids=lambda piece: piece.id)
def test_no_letter_is_seen_where_none_is(piece: CorpusPiece) -> None:
    """Keyboard music of music21's corpus has no pedal letters, whatever else its words say."""
    part = read_part(piece.path, piece.part)
    assert part.source_marks == ()
