"""Notes, chords and scales by name, held against music21, which reads names by code of its own."""

from __future__ import annotations

import pytest
from music21 import harmony, scale

from pedalsetter.analysis.errors import SettingError
from pedalsetter.analysis.glissandi.chord_names import read_chord
from pedalsetter.analysis.glissandi.pitch_sets import read_pitch_set
from pedalsetter.analysis.glissandi.scale_names import SCALES
from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.instrument.note_names import NoteName, read_note

ROOTS = ("C", "C#", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B")

KINDS = (
    *("", "m", "dim", "aug", "+", "6", "m6", "7", "maj7", "M7", "m7", "min7", "mM7", "dim7", "o7"),
    *("m7b5", "ø7", "+7", "7#5", "7b5", "aug7", "maj7#5", "augmaj7", "9", "m9", "7b9", "7#9"),
    *("11", "m11", "m13", "7#11", "9#11", "maj7#11", "sus2", "sus4", "7sus4", "add9", "madd9"),
    *("7b9#5", "7b9b13", "/G", "7/E"),
)


def sounding(figure: str) -> list[int]:
    """The pitch classes of a chord symbol, as music21 reads it."""
    return sorted({pitch.pitchClass for pitch in harmony.ChordSymbol(figure).pitches})


@pytest.mark.parametrize("kind", KINDS)
def test_chord_symbols_sound_as_music21_reads_them(kind: str) -> None:
    """The same symbol gives the same pitch classes on fourteen roots."""
    for root in ROOTS:
        flat = root.replace("b", "-")  # music21 writes flats of roots so
        assert list(read_pitch_set(root + kind).pitch_classes) == sounding(flat + kind)


@pytest.mark.parametrize(
    ("symbol", "notes"),
    [
        ("Cmaj9", "C E G B D"),
        ("Cmaj13", "C E G B D A"),
        ("C13", "C E G B♭ D A"),
        ("C9sus4", "C F G B♭ D"),
        ("C6/9", "C E G A D"),
        ("Cm6/9", "C E♭ G A D"),
        ("Cdimmaj7", "C E♭ G♭ B"),
        ("C7alt", "C E G♭ G♯ B♭ D♭ D♯"),
        ("C7-5", "C E G♭ B♭"),
        ("C7+5", "C E G♯ B♭"),
        ("C7-9", "C E G B♭ D♭"),
        ("C-7", "C E♭ G B♭"),
        ("C-", "C E♭ G"),
        ("Cm(maj7)", "C E♭ G B"),
        ("C-Δ7", "C E♭ G B"),
        ("CΔ", "C E G B"),
        ("C°7", "C E♭ G♭ B♭♭"),
        ("Cø", "C E♭ G♭ B♭"),
        ("Chalf-dim7", "C E♭ G♭ B♭"),
        ("C7(b9,#11)", "C E G B♭ D♭ F♯"),
        ("C7omit5", "C E B♭"),
        ("C5", "C G"),
        ("C7no3", "C G B♭"),
        ("Abm7b5", "A♭ C♭ E♭♭ G♭"),
        ("G♯°7", "G♯ B D F"),
        ("Cm7/F", "C E♭ G B♭ F"),
        ("Bb7b9", "B♭ D F A♭ C♭"),
    ],
)
def test_chords_are_spelled_by_their_degrees(symbol: str, notes: str) -> None:
    """What music21 does not read, or spells otherwise. Common practice, no source."""
    found = read_pitch_set(symbol)

    assert " ".join(map(str, found.notes)) == notes


def test_names_are_shown_with_proper_signs() -> None:
    """A b behind a root or before a figure is a flat sign; that of ``sub`` would not be."""
    shown = {given: read_pitch_set(given).name for given in ("Bb7b9", "F#dim7", "Cm7/Bb", "d m7")}

    assert shown == {
        "Bb7b9": "B♭7♭9",
        "F#dim7": "F♯dim7",
        "Cm7/Bb": "Cm7/B♭",
        "d m7": "Dm7",
    }


MUSIC21_SCALES = {
    "major": scale.MajorScale,
    "natural minor": scale.MinorScale,
    "minor": scale.MinorScale,
    "harmonic minor": scale.HarmonicMinorScale,
    "dorian": scale.DorianScale,
    "phrygian": scale.PhrygianScale,
    "lydian": scale.LydianScale,
    "mixolydian": scale.MixolydianScale,
    "locrian": scale.LocrianScale,
    "whole tone": scale.WholeToneScale,
    "chromatic": scale.ChromaticScale,
}


@pytest.mark.parametrize("name", MUSIC21_SCALES)
def test_scales_have_the_notes_that_music21_gives_them(name: str) -> None:
    """The same name gives the same pitch classes on every tonic."""
    for root in ROOTS:
        kind = MUSIC21_SCALES[name]
        pitches = kind(root.replace("b", "-")).getPitches(direction=scale.Direction.ASCENDING)
        expected = sorted({pitch.pitchClass for pitch in pitches})

        assert list(read_pitch_set(f"{root} {name}").pitch_classes) == expected


def test_rising_melodic_minor_and_both_octatonics() -> None:
    """The falling form is the natural minor; an octatonic begins with either step."""
    rising = scale.MelodicMinorScale("D").getPitches(direction=scale.Direction.ASCENDING)
    wanted = sorted({pitch.pitchClass for pitch in rising})

    assert list(read_pitch_set("D melodic minor").pitch_classes) == wanted
    half = read_pitch_set("C octatonic").pitch_classes
    whole = read_pitch_set("C# octatonic whole-half").pitch_classes
    assert half == (0, 1, 3, 4, 6, 7, 9, 10)
    assert sorted((pitch_class - 1) % 12 for pitch_class in whole) == [0, 2, 3, 5, 6, 8, 9, 11]


def test_pentatonics_leave_two_notes_of_their_scale_out() -> None:
    """Major without 4 and 7, natural minor without 2 and 6. Common practice, no source."""
    for wanted, whole, missing in (
        ("major pentatonic", "major", {"F", "B"}),
        ("minor pentatonic", "minor", {"D", "A♭"}),
    ):
        notes = {str(note) for note in read_pitch_set(f"C {wanted}").notes}
        assert {str(note) for note in read_pitch_set(f"C {whole}").notes} - notes == missing


def test_seven_note_scales_use_each_letter_once() -> None:
    """Otherwise it could not be slid as spelled: each letter is one string."""
    sevens = [name for name, degrees in SCALES.items() if len(degrees) == 7]
    assert len(sevens) == 14
    for name in sevens:
        for root in ROOTS:
            letters = {note.letter for note in read_pitch_set(f"{root} {name}").notes}
            assert letters == set(Letter)


@pytest.mark.parametrize(
    ("text", "notes"),
    [
        ("C Eb Gb A", "C E♭ G♭ A"),
        ("c eb gb a", "C E♭ G♭ A"),
        ("C,Eb,Gb,A", "C E♭ G♭ A"),
        ("b bb", "B B♭"),
        ("C B# D", "C D"),
        ("F## Gbb", "F♯♯ G♭♭"),
        ("C♮ Fx", "C F♯♯"),
    ],
)
def test_notes_by_name(text: str, notes: str) -> None:
    """Case does not matter; two names of one pitch class count once."""
    assert read_pitch_set(text).name == notes


def test_one_word_is_a_chord_and_a_scale_without_tonic_is_on_c() -> None:
    """``C`` alone is C major, for one note is no glissando."""
    assert read_pitch_set("C").pitch_classes == (0, 4, 7)
    assert read_pitch_set("whole-tone scale").name == "C whole tone"


def test_a_note_and_a_chord_part_ways() -> None:
    """``read_note`` reads notes and nothing else; ``read_chord`` wants a root first."""
    assert read_note("Bb") == NoteName(Letter.B, -1)
    assert [read_note(word) for word in ("H", "Cm", "b5", "", "C4")] == [None] * 5
    assert read_chord("H7") is None


HOW = "Give notes (C Eb Gb A), a chord (Cm7, F#dim7) or a scale (whole tone, F harmonic minor)."


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", f"nothing is named that the glissando should sound. {HOW}"),
        ("H7", f"'H7' names no notes, chord or scale. {HOW}"),
        ("foo bar", f"'foo bar' names no notes, chord or scale. {HOW}"),
        (
            "Cfoo",
            "'Cfoo' is no chord that is known here: 'foo' is not understood. "
            "Write it as in Cm7, F#dim7, Gmaj7 or C7b9, or name its notes.",
        ),
        (
            "C foo scale",
            f"there is no scale 'foo scale' here. There are {', '.join(SCALES)}.",
        ),
    ],
)
def test_what_is_not_understood_is_one_line(text: str, line: str) -> None:
    """The line says what could have been written."""
    with pytest.raises(SettingError) as told:
        read_pitch_set(text)

    assert str(told.value) == line
