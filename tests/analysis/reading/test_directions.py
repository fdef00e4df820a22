"""Words, dynamics, hairpins, tempo, octave lines: what is printed at a moment."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

from fractions import Fraction

import pytest
from score_snippets import (
    DIVISIONS,
    TREBLE_AND_BASS,
    bars,
    direction,
    full_score,
    measure,
    note,
    opening,
    read,
    told,
    words,
)

from pedalsetter.analysis.part import Direction, DirectionKind, NotatedLength, Tempo
from pedalsetter.analysis.reading import read_score
from pedalsetter.analysis.reading.tempo_words import TempoTerm, tempo_figure, tempo_term


def only(content: str) -> Direction:
    """The one direction of a bar that begins with this content."""
    part = read(bars(content + note("C4", 4)))
    assert told(part) == []
    (found,) = part.directions
    return found


def test_words_with_their_look() -> None:
    """Text, style, size, box, place and staff, a line break included."""
    part = read(
        bars(
            words(
                "près de\nla table",
                'font-style="italic" font-size="10.5" enclosure="rectangle"',
                "<staff>2</staff>",
                'placement="below"',
            )
            + note("C4", 4, staff=1),
            first=opening(staves=2, clefs=TREBLE_AND_BASS),
        )
    )
    (found,) = part.directions
    assert found.kind is DirectionKind.WORDS
    assert found.text == "près de\nla table"
    assert (found.italic, found.bold, found.size_points) == (True, False, 10.5)
    assert (found.enclosure, found.placement, found.staff) == ("rectangle", "below", 2)


def test_signs_of_private_use_are_left_out_and_told() -> None:
    """U+E167 means something in the source's own font only (Unicode, private use area)."""
    part = read(bars(words("\ue167") + words("dolce \ue167") + note("C4", 4)))

    assert [direction.text for direction in part.directions] == ["dolce"]
    assert told(part) == [
        "bar 1, beat 1, staff 1: a sign of the source's own font was left out of its words "
        "(and 1 more like it)"
    ]


def test_an_ossia_is_shown_but_not_played() -> None:
    """The notes of an ossia staff stand instead of others: shown small, never demanded."""
    ossia = '<staff-details number="2"><staff-type>ossia</staff-type></staff-details>'
    second = note("C#5", 4, staff=2, voice=5)
    part = read(
        bars(
            note("C5", 4, staff=1)
            + f"<backup><duration>{4 * DIVISIONS}</duration></backup>"
            + second,
            first=opening(staves=2, clefs=TREBLE_AND_BASS, more=ossia),
        )
    )

    assert [(event.staff, event.cue) for event in part.events] == [(1, False), (2, True)]
    assert told(part) == [
        "bar 1, beat 1, staff 2: the ossia is shown small, as a cue; it is not planned for"
    ]


def test_formatted_runs_are_one_text() -> None:
    """Runs of one text in several elements: spaces only where words would grow together."""
    found = only(
        direction("<words>poco </words><words font-style='italic'>cresc</words><words>.</words>")
    )
    assert found.text == "poco cresc."
    found = only(direction("<words>molto</words><words>dolce</words>"))
    assert found.text == "molto dolce"


def test_the_place_may_be_told_by_height_alone() -> None:
    """``default-y`` counts from the staff's top line: 20 is above it, -60 below the staff."""
    assert only(words("dolce", 'default-y="20"')).placement == "above"
    assert only(words("dolce", 'default-y="-60"')).placement == "below"
    assert only(words("dolce", 'default-y="-20"')).placement is None


def test_an_offset_moves_the_printed_moment() -> None:
    """``<offset>`` counts in divisions from where the direction stands."""
    found = only(words("dolce", after="<offset>96</offset>"))
    assert found.onset == 1


@pytest.mark.parametrize(
    ("content", "text"),
    [
        ("<dynamics><mf/></dynamics>", "mf"),
        ("<dynamics><f/><p/></dynamics>", "fp"),
        ("<dynamics><other-dynamics>più f</other-dynamics></dynamics>", "più f"),
        ("<dynamics><p/><other-dynamics>sub.</other-dynamics></dynamics>", "p sub."),
    ],
)
def test_dynamics(content: str, text: str) -> None:
    """Standard ones, grown together, and of the composer's own making."""
    found = only(direction(content))
    assert (found.kind, found.text) == (DirectionKind.DYNAMIC, text)


def test_hairpins_pair_by_number() -> None:
    """A crescendo from nothing, and where it stops."""
    part = read(
        bars(
            direction('<wedge type="crescendo" number="2" niente="yes"/>')
            + note("C4", 2)
            + direction('<wedge type="stop" number="2"/>')
            + note("C4", 2)
        )
    )
    assert [
        (each.kind, each.onset, each.number, each.shape, each.niente) for each in part.directions
    ] == [
        (DirectionKind.WEDGE_START, 0, 2, "crescendo", True),
        (DirectionKind.WEDGE_STOP, 2, 2, "", False),
    ]


def test_octave_lines_change_no_pitch() -> None:
    """8va: the pitch is the sounding one, and ``down`` means written lower than it sounds."""
    part = read(
        bars(
            direction('<octave-shift type="down" size="8"/>')
            + note("C6", 4)
            + direction('<octave-shift type="stop" size="8"/>')
            + direction('<octave-shift type="up" size="15"/>'),
            note("C2", 4) + direction('<octave-shift type="stop" size="15"/>'),
        )
    )
    assert [(each.kind, each.shape) for each in part.directions] == [
        (DirectionKind.OCTAVE_START, "8va"),
        (DirectionKind.OCTAVE_STOP, ""),
        (DirectionKind.OCTAVE_START, "15mb"),
        (DirectionKind.OCTAVE_STOP, ""),
    ]
    assert [str(head.pitch) for _, head in part.notes()] == ["C6", "C2"]


def test_dashes_brackets_damp_symbols_and_rehearsal() -> None:
    """The rest of what stands at a moment."""
    part = read(
        bars(
            direction('<dashes type="start" number="1"/>')
            + direction('<bracket type="start" line-end="none"/>')
            + direction("<damp/>")
            + direction("<damp-all/>")
            + direction("<symbol>harpSalzedoThunderEffect</symbol>")
            + direction('<rehearsal enclosure="circle">B</rehearsal>')
            + note("C4", 4)
            + direction('<dashes type="stop" number="1"/>')
            + direction('<bracket type="stop" line-end="none"/>')
        )
    )
    assert [(each.kind.value, each.text) for each in part.directions] == [
        ("dashes start", ""),
        ("bracket start", ""),
        ("damp", ""),
        ("damp all", ""),
        ("symbol", "harpSalzedoThunderEffect"),
        ("rehearsal", "B"),
        ("dashes stop", ""),
        ("bracket stop", ""),
    ]


def test_piano_pedal_is_left_out_and_told() -> None:
    """A harp has no such pedal (MusicXML 4.0: ``pedal`` is the piano's)."""
    part = read(bars(direction('<pedal type="start"/>') + note("C4", 4)))
    assert told(part) == ["bar 1, beat 1, staff 1: piano pedal left out"]


def test_an_unknown_direction_is_told() -> None:
    """Nothing is dropped in silence."""
    part = read(bars(direction("<eyeglasses/>") + note("C4", 4)))
    assert told(part) == ["bar 1, beat 1, staff 1: the direction 'eyeglasses' was left out"]


@pytest.mark.parametrize(
    ("text", "term"),
    [
        ("Andante con moto", TempoTerm.STEADY),
        ("Più mosso", TempoTerm.STEADY),
        ("Sehr langsam", TempoTerm.STEADY),
        ("Mäßig bewegt", TempoTerm.STEADY),
        ("Très modéré", TempoTerm.STEADY),
        ("Lively", TempoTerm.STEADY),
        ("Moderately fast", TempoTerm.STEADY),
        ("poco rit.", TempoTerm.SLOWER),
        ("molto rallentando", TempoTerm.SLOWER),
        ("Cédez", TempoTerm.SLOWER),
        ("en retenant", TempoTerm.SLOWER),
        ("accel.", TempoTerm.FASTER),
        ("poco a poco stringendo", TempoTerm.FASTER),
        ("drängend", TempoTerm.FASTER),
        ("a tempo", TempoTerm.BACK),
        ("au Mouvement", TempoTerm.BACK),
        ("Tempo I", TempoTerm.FIRST),
        ("Tempo primo", TempoTerm.FIRST),
        ("dolce", None),
        ("fast gliss.", None),
        ("près de la table", None),
        ("solo", None),
        ("dim.", None),
    ],
)
def test_words_of_tempo_in_four_languages(text: str, term: TempoTerm | None) -> None:
    """Common practice, no source: what names a tempo, changes it, or has nothing to do with it."""
    assert tempo_term(text) is term


def test_a_metronome_mark_and_its_words() -> None:
    """*Allegro* (dotted quarter = 92): two directions, one tempo of 138 quarters a minute."""
    content = (
        '<direction placement="above"><direction-type><words font-weight="bold">Allegro</words>'
        "</direction-type><direction-type><metronome parentheses='yes'><beat-unit>quarter"
        "</beat-unit><beat-unit-dot/><per-minute>92</per-minute></metronome></direction-type>"
        '<sound tempo="137.9"/></direction>'
    )
    part = read(bars(content + note("C4", 4)))
    assert [(each.kind, each.text) for each in part.directions] == [
        (DirectionKind.TEMPO_WORDS, "Allegro"),
        (DirectionKind.METRONOME, "92"),
    ]
    metronome = part.directions[1]
    assert metronome.beat_unit == NotatedLength(2, 1)
    assert metronome.parentheses
    assert [each.id for each in part.directions] == ["P1-m1-d1", "P1-m1-d1-2"]
    assert part.tempi == (Tempo(Fraction(0), Fraction(138)),)


def test_figures_of_speed_that_are_not_plain_numbers() -> None:
    """About 96 is 96; a range stands for its middle; words may hold the figure themselves."""
    mark = "<metronome><beat-unit>half</beat-unit><per-minute>{}</per-minute></metronome>"
    for text, speed in (("c. 96", 192), ("ca 60", 120), ("92-96", 188), ("60.5", 121)):
        part = read(bars(direction(mark.format(text)) + note("C4", 4)))
        assert part.tempi == (Tempo(Fraction(0), Fraction(speed)),)
    assert tempo_figure("Andante ♩ = 72") == 72
    assert tempo_figure("♩. = 60") == 90
    assert tempo_figure("page 72") is None


def test_a_metric_modulation() -> None:
    """Quarter = dotted quarter: both notes are kept, no figure is made up."""
    mark = (
        "<metronome><beat-unit>quarter</beat-unit><beat-unit>quarter</beat-unit>"
        "<beat-unit-dot/></metronome>"
    )
    found = only(direction(mark))
    assert (found.beat_unit, found.beat_unit_to) == (NotatedLength(2, 0), NotatedLength(2, 1))


def test_bold_words_above_a_bars_beginning_are_a_heading() -> None:
    """*Trio* names no tempo, yet stands in its row; the same words in mid-bar do not."""
    assert only(words("Trio", 'font-weight="bold"', outer='placement="above"')).kind is (
        DirectionKind.TEMPO_WORDS
    )
    part = read(bars(note("C4", 2) + words("marcato", 'font-weight="bold"') + note("C4", 2)))
    assert part.directions[0].kind is DirectionKind.WORDS


def _tempo(speed: int) -> str:
    return direction(
        f"<metronome><beat-unit>quarter</beat-unit><per-minute>{speed}</per-minute></metronome>"
    )


def test_a_ritardando_leads_to_the_next_slower_tempo() -> None:
    """From 80 to 60 over two bars."""
    part = read(
        bars(
            _tempo(80) + note("C4", 4),
            words("rit.") + note("C4", 4),
            note("C4", 4),
            _tempo(60) + note("C4", 4),
        )
    )
    assert part.tempi == (
        Tempo(Fraction(0), Fraction(80)),
        Tempo(Fraction(4), Fraction(80), Fraction(60)),
        Tempo(Fraction(12), Fraction(60)),
    )


def test_a_ritardando_before_a_tempo_slows_modestly_and_returns() -> None:
    """A fifth slower (a modest guess), then the old tempo."""
    part = read(
        bars(
            _tempo(100) + note("C4", 4),
            words("rit.") + note("C4", 4),
            words("a tempo") + note("C4", 4),
        )
    )
    assert part.tempi == (
        Tempo(Fraction(0), Fraction(100)),
        Tempo(Fraction(4), Fraction(100), Fraction(80)),
        Tempo(Fraction(8), Fraction(100)),
    )


def test_a_gradual_change_that_nothing_ends_is_over_after_two_bars() -> None:
    """Or where its dashes end; then the new speed stays."""
    part = read(
        bars(
            _tempo(80) + note("C4", 4),
            words("accel.") + note("C4", 4),
            *(note("C4", 4) for _ in range(4)),
        )
    )
    assert part.tempi == (
        Tempo(Fraction(0), Fraction(80)),
        Tempo(Fraction(4), Fraction(80), Fraction(100)),
        Tempo(Fraction(12), Fraction(100)),
    )
    part = read(
        bars(
            _tempo(80) + note("C4", 4),
            words("rit.")
            + direction('<dashes type="start"/>')
            + note("C4", 2)
            + direction('<dashes type="stop"/>')
            + note("C4", 2),
            note("C4", 4),
        )
    )
    assert part.tempi[1:] == (
        Tempo(Fraction(4), Fraction(80), Fraction(64)),
        Tempo(Fraction(6), Fraction(64)),
    )


def test_tempo_primo_returns_to_the_first_figure() -> None:
    """Whatever lay between."""
    part = read(
        bars(
            _tempo(72) + note("C4", 4),
            _tempo(120) + note("C4", 4),
            words("Tempo I") + note("C4", 4),
        )
    )
    assert part.tempi[-1] == Tempo(Fraction(8), Fraction(72))


def test_no_figure_no_tempo() -> None:
    """A speed is never made up from words."""
    part = read(bars(words("Adagio") + note("C4", 4), words("rit.") + note("C4", 4)))
    assert part.tempi == ()


def test_a_sound_alone_gives_a_tempo() -> None:
    """Programs store the speed of words as sound."""
    part = read(bars('<sound tempo="66"/>' + note("C4", 4)))
    assert part.tempi == (Tempo(Fraction(0), Fraction(66)),)


def test_signs_above_the_first_part_hold_for_the_harp() -> None:
    """Tempo, rehearsal mark and D.C. stand above the flute; the flute's *dolce* stays there."""
    flute = bars(
        _tempo(96) + words("dolce") + note("C5", 4),
        direction("<rehearsal>A</rehearsal>") + note("C5", 4),
        note("C5", 4) + words("D.C. al Fine", after='<sound dacapo="yes"/>'),
    )
    harp = bars(note("C4", 4), direction("<rehearsal>A</rehearsal>") + note("C4", 4), note("C4", 4))
    part = read_score(full_score([("P1", "Flute", flute), ("P2", "Harp", harp)]), "score.xml")
    assert [(each.kind, each.text) for each in part.directions] == [
        (DirectionKind.METRONOME, "96"),
        (DirectionKind.REHEARSAL, "A"),
        (DirectionKind.JUMP_WORDS, "D.C. al Fine"),
    ]
    assert part.tempi == (Tempo(Fraction(0), Fraction(96)),)
    assert part.jumps[0].al_fine


def test_a_direction_between_voices_keeps_its_moment() -> None:
    """After a backup the moment is the cursor's, not the bar's end."""
    part = read(
        measure(
            opening()
            + note("C5", 4)
            + "<backup><duration>384</duration></backup>"
            + note("C4", 2, voice=2)
            + words("dolce")
            + note("C4", 2, voice=2)
        )
    )
    assert part.directions[0].onset == 2
