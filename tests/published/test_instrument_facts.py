"""The instrument against what is printed about it: strings, pedals, positions.

Each test names its source. *Exhaustion* means: computed once by going through every setting, and
kept here as a figure.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise, product

from major_keys import setting_of
from music21 import pitch as music21_pitch

from pedalsetter.analysis.glissandi.glissando import exact_settings
from pedalsetter.analysis.instrument.harp import (
    LETTERS,
    STRINGS,
    Foot,
    Harp,
    Letter,
    Position,
    Setting,
    String,
)


def test_the_harp_has_47_strings_from_c1_to_g7() -> None:
    """Widor, Initiation musicale, p. 45: 47 strings, seven to the octave."""
    assert len(STRINGS) == 47
    assert (str(STRINGS[0]), str(STRINGS[-1])) == ("C1", "G7")


def test_seven_strings_of_c_to_g_and_six_of_a_and_b() -> None:
    """Follows from C1 to G7: 5 × 7 + 2 × 6 = 47."""
    assert Counter(string.letter.value for string in STRINGS) == {
        **dict.fromkeys("CDEFG", 7),
        **dict.fromkeys("AB", 6),
    }


def test_the_compass_in_midi_keys() -> None:
    """Lowest string C♭1 = 23 and C♮1 = 24, highest G♭7 = 102 to G♯7 = 104 (computed)."""
    lowest, highest = STRINGS[0], STRINGS[-1]

    assert [lowest.midi(p) for p in (Position.FLAT, Position.NATURAL)] == [23, 24]
    assert [highest.midi(p) for p in Position] == [102, 103, 104]
    assert music21_pitch.Pitch("C-1").ps == 23
    assert music21_pitch.Pitch("G#7").ps == 104


def test_141_nominal_pitches() -> None:
    """Widor, Initiation musicale, p. 45: 47 strings in three positions are 141 pitches.

    The figure is nominal: the two lowest strings have no pedal.
    """
    assert len([(s, p) for s, p in product(STRINGS, Position)]) == 141


def test_a_smaller_compass_is_in_print() -> None:
    """Prout, The Orchestra, vol. I, ch. V: C♭1 to F♭7, 46 strings; so the compass is a value."""
    harp = Harp(highest=String(Letter.F, 7))

    assert sum(harp.has(string) for string in STRINGS) == 46


def test_the_two_lowest_strings_have_no_pedal() -> None:
    """C1 and D1 are tuned by hand (Wikipedia, "Pedal harp"; common practice)."""
    harp = Harp()

    assert [str(s) for s in STRINGS if not harp.works_by_pedal(s)] == ["C1", "D1"]


def test_octaves_as_players_count_them() -> None:
    """Octave 0 is G7 F7, the first E7 to F6 … the seventh E1 D1 C1 (common practice, no source)."""
    downwards = STRINGS[::-1]
    octaves = [downwards[:2]] + [downwards[n : n + 7] for n in range(2, 47, 7)]

    assert [f"{octave[0]} {octave[-1]}" for octave in octaves] == [
        "G7 F7",
        "E7 F6",
        "E6 F5",
        "E5 F4",
        "E4 F3",
        "E3 F2",
        "E2 F1",
        "E1 C1",
    ]


def test_pedals_from_left_to_right() -> None:
    """D C B, E F G A: Wikipedia, "Pedal harp"; LilyPond Notation Reference, "Harp pedals".

    The French edition of the latter names the feet: three pedals left, four right.
    """
    assert [letter.value for letter in LETTERS] == ["D", "C", "B", "E", "F", "G", "A"]
    assert [letter.foot for letter in LETTERS] == [Foot.LEFT] * 3 + [Foot.RIGHT] * 4


def test_each_notch_down_raises_by_a_semitone() -> None:
    """Up flat, middle natural, down sharp (Britannica, "Pedal harp"; Grove, "Harp")."""
    for string in STRINGS:
        keys = [string.midi(p) for p in (Position.FLAT, Position.NATURAL, Position.SHARP)]

        assert [keys[1] - keys[0], keys[2] - keys[1]] == [1, 1]


def test_the_open_harp_is_in_c_flat() -> None:
    """All up C♭ major, all in the middle C major, all down C♯ major (Britannica; Grove)."""
    assert setting_of("C♭").pattern == "bbb|bbbb"
    assert setting_of("C").pattern == "nnn|nnnn"
    assert setting_of("C♯").pattern == "sss|ssss"


def test_fourteen_notches_run_through_all_keys() -> None:
    """Grove's Dictionary, "Harp", p. 327: from C♭, one pedal one notch at a time, to C♯.

    The keys run G♭ D♭ A♭ E♭ B♭ F C, then G D A E B F♯ C♯; the letters F C G D A E B, twice.
    """
    keys = [Setting.of_key(fifths) for fifths in range(-7, 8)]
    letters = ""
    for one, two in pairwise(keys):
        (moved,) = one.letters_unlike(two)
        letters += moved.value

        assert one.notches_to(two) == 1
        assert two[moved] > one[moved]
    assert letters == "FCGDAEB" * 2


def test_minor_scales_can_each_be_set_alone() -> None:
    """Harmonic and rising melodic minor stand on all twelve keynotes (exhaustion).

    Grove, "Harp", p. 327, says that only the falling form can be set; taken alone, each can.
    """
    for steps in ((0, 2, 3, 5, 7, 8, 11), (0, 2, 3, 5, 7, 9, 11)):
        for keynote in range(12):
            assert exact_settings((keynote + step) % 12 for step in steps)
