"""Which part is the harp."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from score_snippets import bars, full_score, note, opening, part_head

from pedalsetter.analysis.errors import PartError
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.reading import read_score

ONE_STAFF = bars(note("C4", 4))
TWO_STAVES = bars(note("C4", 4), first=opening(staves=2))
THREE_STAVES = bars(note("C4", 4), first=opening(staves=3))


def choose(*heads: str, part: str | None = None, bodies: Sequence[str] | None = None) -> HarpPart:
    """Read a score with these ``<score-part>`` elements, P1, P2 …, one bar each."""
    contents = bodies or [ONE_STAFF] * len(heads)
    parts = [(f"P{place}", "", body) for place, body in enumerate(contents, 1)]
    heads_only = "".join(heads)
    return read_score(full_score(parts, part_list=heads_only), "score.musicxml", part)


def named(*names: str, part: str | None = None, staves: Sequence[int] = ()) -> HarpPart:
    """Read a score of parts with these names; ``staves`` gives their number of staves."""
    by_staves = {1: ONE_STAFF, 2: TWO_STAVES, 3: THREE_STAVES}
    bodies = [by_staves[count] for count in staves] if staves else None
    heads = [part_head(f"P{place}", name) for place, name in enumerate(names, 1)]
    return choose(*heads, part=part, bodies=bodies)


@pytest.mark.parametrize(
    "name",
    [
        "Harp",
        "HARP",
        "Harp 1",
        "Harp I",
        "Concert Harp",
        "Harfe",
        "Harfe I",
        "Harpe",
        "1re Harpe",
        "Arpa",
        "Arpa 1",
        "Arpe",
        "Hp.",
        "Hp",
        "Hrp.",
        "Hfe.",
        "Hpe",
        "harps",
        "Harp (right)",
    ],
)
def test_names_and_abbreviations_in_five_languages(name: str) -> None:
    """English, German, French, Italian and Spanish (arpa serves both)."""
    part = named("Flute", name, "Violin")
    assert part.source.part_number == 2
    assert part.part_name == name


@pytest.mark.parametrize(
    "name",
    ["Harpsichord", "Jew's Harp", "Autoharp", "Harp guitar", "Sharp", "Mouth Harp", "Aeolian harp"],
)
def test_names_that_only_look_like_a_harp(name: str) -> None:
    """A harpsichord is no harp."""
    with pytest.raises(PartError, match="no part is a harp"):
        named("Flute", name, "Violin")


def test_the_instrument_sound_tells_a_harp() -> None:
    """MusicXML's ``pluck.harp``, under whatever name."""
    sound = (
        '<score-instrument id="I2"><instrument-name>Saiten</instrument-name>'
        "<instrument-sound>pluck.harp</instrument-sound></score-instrument>"
    )
    part = choose(part_head("P1", "Flute"), part_head("P2", "Saiteninstrument", sound))
    assert part.source.part_id == "P2"


def test_the_midi_program_tells_a_harp() -> None:
    """Program 47, counted from 1 as MusicXML does, is the orchestral harp (General MIDI)."""

    def program(number: int) -> str:
        return (
            '<midi-instrument id="I1"><midi-channel>1</midi-channel>'
            f"<midi-program>{number}</midi-program></midi-instrument>"
        )

    part = choose(part_head("P1", "Staff", program(46)), part_head("P2", "Staff", program(47)))
    assert part.source.part_number == 2


def test_an_abbreviation_tells_a_harp() -> None:
    """The name is left empty, the abbreviation says it."""
    part = choose(part_head("P1", "Flute"), part_head("P2", "", abbreviation="Hrp."))
    assert part.source.part_number == 2


def test_two_harps_are_told_apart_and_one_is_asked_for() -> None:
    """By name (capitals and figures do not matter), by number, or by id."""
    names = ("Flute", "Harp I", "Harp II")
    with pytest.raises(PartError) as error:
        named(*names)
    assert str(error.value) == (
        "score.musicxml: the score has 2 harps: 2 Harp I, 3 Harp II. "
        "Choose one with --part NAME or NUMBER."
    )
    for asked in ("Harp II", "harp ii", "HARP 2", "3", "P3"):
        assert named(*names, part=asked).part_name == "Harp II"


def test_no_harp_lists_the_parts() -> None:
    """With their numbers, in one line."""
    with pytest.raises(PartError) as error:
        named("Flute", "Oboe", "")
    assert str(error.value) == (
        "score.musicxml: no part is a harp; the parts are 1 Flute, 2 Oboe, 3 (no name). "
        "Choose one with --part NAME or NUMBER."
    )


def test_a_part_that_is_not_there() -> None:
    """The message lists what is there."""
    with pytest.raises(PartError) as error:
        named("Flute", "Harp", part="Celesta")
    assert str(error.value) == (
        "score.musicxml: there is no part 'Celesta'; the parts are 1 Flute, 2 Harp. "
        "Choose one with --part NAME or NUMBER."
    )


def test_a_name_that_fits_several_parts() -> None:
    """The beginning of a name is enough where it is the only one."""
    with pytest.raises(PartError) as error:
        named("Violin 1", "Violin 2", "Harp", part="violin")
    assert str(error.value) == (
        "score.musicxml: 'violin' fits several parts: 1 Violin 1, 2 Violin 2. "
        "Choose one by its number with --part NUMBER."
    )
    assert named("Violin", "Celesta (Orchestra)", "Harp", part="celesta").source.part_number == 2


def test_any_part_may_be_asked_for() -> None:
    """Nobody forbids to set a piano part for the harp, even one of three staves."""
    assert named("Flute", "Piano", part="piano", staves=(1, 2)).staves == 2
    assert named("Flute", "Organ", part="2", staves=(1, 3)).staves == 3


@pytest.mark.parametrize(
    ("upper", "lower"),
    [
        ("Harp", "Harp"),
        ("Harp RH", "Harp LH"),
        ("Harp (right hand)", "Harp (left hand)"),
        ("Harfe r.H.", "Harfe l.H."),
        ("Harpe m.d.", "Harpe m.g."),
        ("Arpa mano destra", "Arpa mano sinistra"),
        ("Harp 1 RH", "Harp I LH"),
    ],
)
def test_two_one_staff_halves_are_one_harp(upper: str, lower: str) -> None:
    """Same name, or the hands of one name, one below the other."""
    part = named("Flute", upper, lower)
    assert part.staves == 2
    assert [event.staff for event in part.events] == [1, 2]


def test_an_unnamed_staff_in_the_harps_brace_is_its_lower_staff() -> None:
    """The brace joins what one player plays."""
    brace = (
        '<part-group number="1" type="start"><group-symbol>brace</group-symbol></part-group>{}'
        '<part-group number="1" type="stop"/>'
    )
    halves = part_head("P2", "Harp") + part_head("P3", "")
    braced = full_score(
        [("P1", "", ONE_STAFF), ("P2", "", ONE_STAFF), ("P3", "", ONE_STAFF)],
        part_list=part_head("P1", "Flute") + brace.format(halves),
    )
    assert read_score(braced, "score.xml").staves == 2
    loose = full_score(
        [("P1", "", ONE_STAFF), ("P2", "", ONE_STAFF), ("P3", "", ONE_STAFF)],
        part_list=part_head("P1", "Flute") + halves,
    )
    assert read_score(loose, "score.xml").staves == 1


def test_two_harps_of_one_staff_each_are_two_harps() -> None:
    """Different figures are different players, brace or not."""
    with pytest.raises(PartError, match="has 2 harps: 1 Harp I, 2 Harp II"):
        named("Harp I", "Harp II")


def test_two_whole_harps_of_one_name_are_two_harps() -> None:
    """Two staves each: nothing to join."""
    with pytest.raises(PartError, match="has 2 harps: 1 Harp, 2 Harp"):
        named("Harp", "Harp", staves=(2, 2))


def test_two_parts_may_be_joined_by_hand() -> None:
    """``3+2``: the first is the upper staff."""
    part = named("Flute", "Strings low", "Strings high", part="3+2")
    assert [event.id for event in part.events] == ["P3-m1-n1", "P2-m1-n1"]
    assert [event.staff for event in part.events] == [1, 2]
    for asked, message in (
        (
            "1+1",
            "score.musicxml: '1+1' does not name two different parts. "
            "Choose one with --part NAME or NUMBER.",
        ),
        (
            "1+2+3",
            "score.musicxml: '1+2+3' does not name two different parts. "
            "Choose one with --part NAME or NUMBER.",
        ),
    ):
        with pytest.raises(PartError) as error:
            named("Flute", "Strings low", "Strings high", part=asked)
        assert str(error.value) == message
    with pytest.raises(PartError) as error:
        named("Flute", "Piano", part="1+2", staves=(1, 2))
    assert str(error.value) == (
        "score.musicxml: part 2 Piano has 2 staves of its own and cannot be one of two halves. "
        "Choose it alone with --part 2."
    )


def test_the_only_part_is_the_harp() -> None:
    """Of one staff or two, under any name; three staves are asked for."""
    assert named("Klavier").staves == 1
    assert named("", staves=(2,)).staves == 2
    with pytest.raises(PartError) as error:
        named("Organ", staves=(3,))
    assert str(error.value) == (
        "score.musicxml: the only part, Organ, has 3 staves. "
        "If it is the harp, choose it with --part 1."
    )


@pytest.mark.parametrize(
    ("upper", "lower", "joined"),
    [
        ("", "", True),
        ("Piano", "Piano", True),
        ("Piano (hi)", "Piano (lo)", True),
        ("Part 1", "Part 2", True),
        ("Violin", "Violoncello", False),
        ("Violin", "Violin", False),
        ("Soprano", "", False),
    ],
)
def test_two_one_staff_parts_without_names_are_two_staves(
    upper: str, lower: str, joined: bool
) -> None:
    """Keyboard music from kern comes so; names of two players keep them apart."""
    if joined:
        assert named(upper, lower).staves == 2
    else:
        with pytest.raises(PartError) as error:
            named(upper, lower)
        assert str(error.value) == (
            f"score.musicxml: no part is a harp; the parts are 1 {upper}, 2 {lower or '(no name)'}."
            " Choose one with --part NAME or NUMBER, or join both with --part 1+2."
        )


def halves(upper: str, lower: str, identities: tuple[str, str] = ("P1", "P2")) -> HarpPart:
    """Read a harp in two one-staff parts."""
    heads = part_head("P1", "Harp RH") + part_head("P2", "Harp LH")
    parts = [(identities[0], "", upper), (identities[1], "", lower)]
    return read_score(full_score(parts, part_list=heads), "score.musicxml")


def test_a_bar_is_as_long_as_the_longer_half() -> None:
    """Five quarters below four: the bar has five, and says whose they are."""
    below = bars(note("C3", 4) + note("D3", 1), note("C3", 4))
    part = halves(bars(note("C5", 4), note("C5", 4)), below)
    assert [bar.length for bar in part.bars] == [5, 4]
    assert all(event.end <= part.bars[event.bar].end for event in part.events)
    assert [str(each) for each in part.warnings] == [
        "parts 1 and 2 of the score are read as the staves of one harp",
        "bar 1, staff 2: the bar is 5 quarters long where 4/4 asks for 4 quarters",
    ]


def test_a_half_without_bars() -> None:
    """The other half is read, and the difference is told."""
    for part, shorter in ((halves(ONE_STAFF, ""), 2), (halves("", ONE_STAFF), 1)):
        assert (len(part.bars), part.staves, len(part.events)) == (1, 2, 1)
        assert [str(each) for each in part.warnings] == [
            "parts 1 and 2 of the score are read as the staves of one harp",
            f"bar 1, staff {shorter}: the two halves of the part differ in their number of bars",
        ]


def test_two_halves_of_one_id() -> None:
    """A slip that some programs make: the notes of both are told apart all the same."""
    heads = part_head("P1", "Harp") + part_head("P1", "Harp")
    parts = [("P1", "", bars(note(name, 4))) for name in ("C5", "C3")]
    part = read_score(full_score(parts, part_list=heads), "score.musicxml")
    assert [head.id for _, head in part.notes()] == ["P1-m1-n1", "P1-lower-m1-n1"]
