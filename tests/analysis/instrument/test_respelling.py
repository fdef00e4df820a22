"""From a written pitch to the strings that sound it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import pitch as music21_pitch

from pedalsetter.analysis.errors import SettingError
from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position, Setting, String
from pedalsetter.analysis.instrument.respelling import (
    Pitch,
    Sounding,
    strings_for,
    strings_of_pitch_class,
)

A_PITCH = st.builds(Pitch, st.sampled_from(LETTERS), st.integers(-2, 2), st.integers(0, 8))

SIGNS = {-2: "--", -1: "-", 0: "", 1: "#", 2: "##"}


@given(A_PITCH)
@settings(max_examples=200, deadline=None)
def test_a_pitch_sounds_as_another_library_says(pitch: Pitch) -> None:
    """music21 gives the same MIDI key for letter, alteration and octave (C♭4 sounds as B3)."""
    other = music21_pitch.Pitch(f"{pitch.letter.value}{SIGNS[pitch.alter]}{pitch.octave}")

    assert pitch.midi == int(other.ps)


@given(A_PITCH)
@settings(max_examples=200, deadline=None)
def test_every_string_found_sounds_the_pitch(pitch: Pitch) -> None:
    """A string is an answer only if it sounds the very key, in the very octave."""
    found = strings_for(pitch)

    assert 1 <= len(found) <= 2
    assert {sounding.midi for sounding in found} == {pitch.midi}
    assert len({sounding.letter for sounding in found}) == len(found)


@given(A_PITCH)
@settings(max_examples=200, deadline=None)
def test_the_written_string_comes_first(pitch: Pitch) -> None:
    """A single alteration is played as written if it can be; a double one has no such string."""
    found = strings_for(pitch)

    if abs(pitch.alter) <= 1:
        assert found[0] == Sounding(String(pitch.letter, pitch.octave), Position(pitch.alter))
    else:
        assert all(sounding.letter is not pitch.letter for sounding in found)


@given(A_PITCH)
@settings(max_examples=200, deadline=None)
def test_strings_are_music21s_enharmonics(pitch: Pitch) -> None:
    """The strings are the pitch's enharmonics with at most one sign, as music21 lists them.

    Its list from a double sharp stops one step early, so the enharmonics of each are listed too.
    """
    other = music21_pitch.Pitch(f"{pitch.letter.value}{SIGNS[pitch.alter]}{pitch.octave}")
    near = [other, *other.getAllCommonEnharmonics(alterLimit=2)]
    spellings = near + [far for one in near for far in one.getAllCommonEnharmonics(alterLimit=2)]
    single = {
        (spelling.step, int(spelling.alter), spelling.octave)
        for spelling in spellings
        if abs(spelling.alter) <= 1
    }

    assert single == {
        (s.letter.value, int(s.position), s.string.octave) for s in strings_for(pitch)
    }


@pytest.mark.parametrize(
    ("pitch", "strings"),
    [
        (Pitch(Letter.C, -1, 4), ["C4♭", "B3♮"]),
        (Pitch(Letter.B, 1, 3), ["B3♯", "C4♮"]),
        (Pitch(Letter.B, 2, 3), ["D4♭", "C4♯"]),
        (Pitch(Letter.C, -2, 4), ["B3♭", "A3♯"]),
        (Pitch(Letter.F, 2, 5), ["G5♮"]),
        (Pitch(Letter.D, 0, 5), ["D5♮"]),
    ],
)
def test_the_octave_follows_the_string(pitch: Pitch, strings: list[str]) -> None:
    """Across the B–C border an equivalent string bears another octave number."""
    assert [str(found.string) + found.position.sign for found in strings_for(pitch)] == strings


def test_names_of_pitches_and_strings() -> None:
    """A written natural is a bare letter; a string's natural is written out."""
    assert str(Pitch(Letter.F, 1, 5)) == "F♯5"
    assert str(Pitch(Letter.B, -2, 2)) == "B♭♭2"
    assert str(Pitch(Letter.G, 0, 3)) == "G3"
    assert strings_for(Pitch(Letter.B, -2, 2))[0].name == "A♮"


def test_pitch_classes_go_round() -> None:
    """Pitch classes repeat after twelve semitones, upwards and downwards."""
    for pitch_class in range(12):
        assert strings_of_pitch_class(pitch_class) == strings_of_pitch_class(pitch_class + 12)
        assert strings_of_pitch_class(pitch_class) == strings_of_pitch_class(pitch_class - 24)


@pytest.mark.parametrize("setting", list(Setting.every())[::191])
def test_every_string_of_a_setting_answers_to_its_pitch(setting: Setting) -> None:
    """What a pedal makes its strings sound, leads back to that string."""
    for letter, position in setting:
        assert (letter, position) in strings_of_pitch_class(setting.pitch_class(letter))


@pytest.mark.parametrize("alter", [-3, 3])
def test_an_alteration_beyond_a_double_sign_is_told(alter: int) -> None:
    """There are double signs and no triple ones."""
    with pytest.raises(SettingError) as caught:
        Pitch(Letter.C, alter, 4)

    assert str(caught.value) == f"an alteration of {alter} semitones has no written sign"
