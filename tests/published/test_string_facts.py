"""Strings per pitch class, and chords that no setting gives.

Each test names its source. *Exhaustion* means: computed once by going through every setting or
every set of pitch classes, and kept here as a figure. music21, which knows nothing of
pedals, is the second opinion on enharmonics.
"""

from __future__ import annotations

from collections import Counter
from itertools import combinations, product

import pytest
from music21 import pitch as music21_pitch

from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position, Setting
from pedalsetter.analysis.instrument.respelling import Pitch, strings_for, strings_of_pitch_class

EVERY = tuple(Setting.every())


def position(name: str) -> tuple[Letter, Position]:
    """Read ``B♯`` or ``C♮``."""
    return Letter(name[0]), Position("♭♮♯".index(name[1]) - 1)


# Exhaustion; that D, G and A stand alone is also in Berlioz, "La Harpe" (from memory).
STRINGS_PER_PITCH_CLASS = (
    "C♮ B♯",
    "C♯ D♭",
    "D♮",
    "D♯ E♭",
    "E♮ F♭",
    "E♯ F♮",
    "F♯ G♭",
    "G♮",
    "G♯ A♭",
    "A♮",
    "A♯ B♭",
    "C♭ B♮",
)


def test_twelve_pitch_classes_have_21_names() -> None:
    """Seven letters in three positions; nine classes have two strings, three have one."""
    found = [strings_of_pitch_class(pitch_class) for pitch_class in range(12)]

    assert sum(map(len, found)) == 7 * 3 == 21
    assert Counter(map(len, found)) == {2: 9, 1: 3}


@pytest.mark.parametrize("pitch_class", range(12))
def test_strings_of_each_pitch_class(pitch_class: int) -> None:
    """The strings of a pitch class are the table's, and music21's enharmonics of one sign."""
    expected = {position(name) for name in STRINGS_PER_PITCH_CLASS[pitch_class].split()}
    other = music21_pitch.Pitch(pitch_class)
    spellings = [other, *other.getAllCommonEnharmonics(alterLimit=1)]

    assert set(strings_of_pitch_class(pitch_class)) == expected
    assert {(p.step, int(p.alter)) for p in spellings if abs(p.alter) <= 1} == {
        (letter.value, int(where)) for letter, where in expected
    }


def test_nine_unisons_on_neighbouring_letters() -> None:
    """B♯=C, C♯=D♭, D♯=E♭, E=F♭, E♯=F, F♯=G♭, G♯=A♭, A♯=B♭, B=C♭ (exhaustion).

    The pairs C♭/B and E♭/D♯ are printed in Berlioz, Grand traité, "La Harpe".
    """
    pairs = [strings_of_pitch_class(pc) for pc in range(12) if len(strings_of_pitch_class(pc)) == 2]
    neighbours = {frozenset(pair) for pair in zip("CDEFGAB", "DEFGABC", strict=True)}

    assert len(pairs) == 9
    for (one, _), (two, _) in pairs:
        assert frozenset((one.value, two.value)) in neighbours


def test_at_most_three_unisons_stand_at_once() -> None:
    """No pitch class has three strings, and no setting fewer than four pitch classes."""
    unisons = []
    for setting in EVERY:
        counts = Counter(setting.pitch_class(letter) for letter in LETTERS)
        unisons.append(sum(count == 2 for count in counts.values()))

        assert max(counts.values()) <= 2
    assert max(unisons) == 3


# Exhaustion: what plays each of the 14 double alterations.
DOUBLE_ALTERATIONS = {
    "C♭♭": "A♯ B♭",
    "D♭♭": "C♮ B♯",
    "E♭♭": "D♮",
    "F♭♭": "D♯ E♭",
    "G♭♭": "E♯ F♮",
    "A♭♭": "G♮",
    "B♭♭": "A♮",
    "C♯♯": "D♮",
    "D♯♯": "E♮ F♭",
    "E♯♯": "F♯ G♭",
    "F♯♯": "G♮",
    "G♯♯": "A♮",
    "A♯♯": "C♭ B♮",
    "B♯♯": "C♯ D♭",
}


@pytest.mark.parametrize(("written", "strings"), DOUBLE_ALTERATIONS.items())
def test_double_alterations_are_played_on_their_equivalents(written: str, strings: str) -> None:
    """No pedal reaches a double sign, yet each of the 14 has one or two strings."""
    pitch = Pitch(Letter(written[0]), 2 if "♯" in written else -2, 4)
    found = strings_for(pitch)

    assert {(s.letter, s.position) for s in found} == {position(n) for n in strings.split()}
    assert {s.midi for s in found} == {pitch.midi}


def test_six_double_alterations_leave_no_choice() -> None:
    """Those that sound D, G or A: E♭♭ C♯♯, A♭♭ F♯♯, B♭♭ G♯♯ (exhaustion)."""
    single = {
        Pitch(letter, alter, 4).name: strings_for(Pitch(letter, alter, 4))[0].name
        for letter in LETTERS
        for alter in (-2, 2)
        if len(strings_for(Pitch(letter, alter, 4))) == 1
    }

    assert single == {
        "E♭♭": "D♮",
        "C♯♯": "D♮",
        "A♭♭": "G♮",
        "F♯♯": "G♮",
        "B♭♭": "A♮",
        "G♯♯": "A♮",
    }


def test_a_chord_respelled_in_print() -> None:
    """Berlioz, Grand traité, "La Harpe": D♭♭ F♭ A♭♭ C♭ is played C♮ F♭ G♮ B♮.

    C♮ takes the C string, so C♭ must come from the B string. F♭ stays on its own string, as the
    text says; then no other choice of strings is left but B♯ for C with C♭ as written.
    """
    chord = [Pitch(Letter.D, -2, 4), Pitch(Letter.F, -1, 4), Pitch(Letter.A, -2, 4)]
    chord.append(Pitch(Letter.C, -1, 5))
    possible = {
        tuple(s.name for s in choice)
        for choice in product(*map(strings_for, chord))
        if len({s.letter for s in choice}) == 4
    }

    assert ("C♮", "F♭", "G♮", "B♮") in possible
    assert {choice for choice in possible if choice[1] == "F♭"} == {
        ("C♮", "F♭", "G♮", "B♮"),
        ("B♯", "F♭", "G♮", "C♭"),
    }


def playable(wanted: tuple[int, ...]) -> bool:
    """Whether each pitch class finds a letter of its own, by music21's enharmonics alone."""
    choices = []
    for pitch_class in wanted:
        one = music21_pitch.Pitch(pitch_class)
        spellings = [one, *one.getAllCommonEnharmonics(alterLimit=1)]
        choices.append({p.step for p in spellings if abs(p.alter) <= 1})
    return any(len(set(letters)) == len(wanted) for letters in product(*choices))


@pytest.fixture(scope="module")
def sounding_sets() -> frozenset[frozenset[int]]:
    """Every set of pitch classes that some setting sounds at least."""
    subsets = set()
    for collection in {setting.pitch_classes() for setting in EVERY}:
        for size in range(1, 8):
            subsets |= set(map(frozenset, combinations(collection, size)))
    return frozenset(subsets)


@pytest.mark.parametrize(
    ("size", "sets", "impossible"),
    [(1, 12, 0), (2, 66, 0), (3, 220, 1), (4, 495, 13), (5, 792, 74), (6, 924, 233), (7, 792, 433)],
)
def test_how_many_chords_no_setting_gives(
    sounding_sets: frozenset[frozenset[int]], size: int, sets: int, impossible: int
) -> None:
    """Of 220 sets of three pitch classes one is impossible, of 495 of four 13 … (exhaustion)."""
    every = list(combinations(range(12), size))

    assert len(every) == sets
    assert sum(frozenset(wanted) not in sounding_sets for wanted in every) == impossible


def test_no_setting_gives_eight_pitch_classes() -> None:
    """Seven letters, so seven sounds at most."""
    assert max(len(setting.pitch_classes()) for setting in EVERY) == 7


def test_g_a_flat_a_is_the_one_impossible_three(
    sounding_sets: frozenset[frozenset[int]],
) -> None:
    """Both spellings of the middle note need a letter that is already taken (exhaustion)."""
    missing = [set(w) for w in combinations(range(12), 3) if frozenset(w) not in sounding_sets]

    assert missing == [{7, 8, 9}]


def test_four_impossible_fours_have_another_cause(
    sounding_sets: frozenset[frozenset[int]],
) -> None:
    """B–C–C♯–D, A–B♭–B–C, D–E♭–E–F and E–F–F♯–G (exhaustion); the other nine hold G A♭ A."""
    missing = [set(w) for w in combinations(range(12), 4) if frozenset(w) not in sounding_sets]
    others = [wanted for wanted in missing if not {7, 8, 9} <= wanted]

    assert sorted(map(sorted, others)) == sorted(
        map(sorted, ({11, 0, 1, 2}, {9, 10, 11, 0}, {2, 3, 4, 5}, {4, 5, 6, 7}))
    )


@pytest.mark.parametrize("size", [2, 3, 4])
def test_settings_and_enharmonics_agree_on_what_is_possible(
    sounding_sets: frozenset[frozenset[int]], size: int
) -> None:
    """A chord can be set exactly when its notes find letters of their own in music21's spelling."""
    for wanted in combinations(range(12), size):
        assert playable(wanted) == (frozenset(wanted) in sounding_sets), wanted


def test_how_many_collections_all_settings_sound() -> None:
    """977 different ones: 25 of four pitch classes, 178 of five, 415 of six, 359 of seven.

    The settings behind them: 42, 495, 1071 and 579, together 2187 (exhaustion).
    """
    settings = Counter(len(setting.pitch_classes()) for setting in EVERY)
    collections = Counter(map(len, {setting.pitch_classes() for setting in EVERY}))

    assert collections == {4: 25, 5: 178, 6: 415, 7: 359}
    assert sum(collections.values()) == 977
    assert settings == {4: 42, 5: 495, 6: 1071, 7: 579}
