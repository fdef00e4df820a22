"""Glissando settings against published examples and against counts over all 2,187 settings.

Settings are written in pedal order D C B | E F G A, ``b`` flat, ``n`` natural, ``s`` sharp. The
counts were computed once by exhaustion and are kept here as figures; the settings of each cell are
checked a second time by music21's pitch classes, which know nothing of pedals.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from itertools import combinations

import pytest
from glissando_tables import (
    COUNTS_WITHOUT_FOREIGN_NOTES,
    EXACT_COUNTS,
    SHAPES,
    cells,
    explicit,
    transposed,
)
from music21 import pitch as music21_pitch

from pedalsetter.analysis.glissandi.glissando import (
    GlissandoSetting,
    exact_settings,
    nearest_settings,
    settings_without_foreign_notes,
)
from pedalsetter.analysis.instrument.harp import Setting


def patterns(found: Iterable[GlissandoSetting]) -> list[str]:
    """The settings found, in the short form, alphabetically."""
    return sorted(one.setting.pattern for one in found)


def sounding(pattern: str) -> set[int]:
    """What a setting sounds, by music21's pitches alone."""
    signs = {"b": "-", "n": "", "s": "#"}
    names = zip("DCBEFGA", pattern.replace("|", ""), strict=True)
    return {music21_pitch.Pitch(letter + signs[sign]).pitchClass for letter, sign in names}


def test_the_tables_are_whole() -> None:
    """21 shapes on 12 roots, twice, and 87 roots with their settings written out."""
    assert 21 * 12 == len(cells(EXACT_COUNTS)) == len(cells(COUNTS_WITHOUT_FOREIGN_NOTES))
    assert {shape for shape, _, _ in cells(EXACT_COUNTS)} == set(SHAPES)
    assert Counter(shape for shape, _, _ in explicit()) == {
        "dim7": 3,
        "dom7": 12,
        "half-dim7": 12,
        "minor7": 12,
        "major7": 12,
        "whole-tone": 2,
        "major pentatonic": 12,
        "dom9": 12,
    }


@pytest.mark.parametrize("shape", SHAPES)
def test_exact_settings_are_counted_on_every_root(shape: str) -> None:
    """The number of settings whose seven strings cover a set exactly, on each of twelve roots."""
    expected = [count for name, _, count in cells(EXACT_COUNTS) if name == shape]
    found = [exact_settings(transposed(shape, root)) for root in range(12)]

    assert expected == [len(settings) for settings in found]
    for root, settings in enumerate(found):
        for one in settings:
            assert one.exact
            assert transposed(shape, root) == sounding(one.setting.pattern)


@pytest.mark.parametrize("shape", SHAPES)
def test_settings_without_a_foreign_note_are_counted_on_every_root(shape: str) -> None:
    """The number of settings that stay inside a set, on each of twelve roots."""
    expected = [count for name, _, count in cells(COUNTS_WITHOUT_FOREIGN_NOTES) if name == shape]
    found = [settings_without_foreign_notes(transposed(shape, root)) for root in range(12)]

    assert expected == [len(settings) for settings in found]
    for root, settings in enumerate(found):
        assert all(sounding(one.setting.pattern) <= transposed(shape, root) for one in settings)


@pytest.mark.parametrize(("shape", "root", "expected"), explicit())
def test_every_exact_setting_is_found(shape: str, root: int, expected: list[str]) -> None:
    """The settings themselves, all of them and no other."""
    assert sorted(expected) == patterns(exact_settings(transposed(shape, root)))


def test_a_diminished_seventh_by_three_unisons() -> None:
    """Berlioz, Grand traité d'instrumentation, "La Harpe": C E♭ G♭ A slid with three fingers.

    B♯ = C, D♯ = E♭ and F♯ = G♭ are tuned alike, A stands alone; it is the only setting.
    """
    (only,) = exact_settings({0, 3, 6, 9})

    assert str(only.setting) == "D♯ C♮ B♯ | E♭ F♯ G♭ A♮"


def test_unisons_of_the_treatise_are_unisons() -> None:
    """Berlioz, same page: C♭ with B♮ and E♭ with D♯ sound alike."""
    setting = Setting.parse("D# Cb B Eb F G A")
    by_name = {letter.value: setting.pitch_class(letter) for letter, _ in setting}

    assert by_name["C"] == by_name["B"] == 11
    assert by_name["E"] == by_name["D"] == 3


def test_foreign_notes_are_told_not_refused() -> None:
    """Rimsky-Korsakov, Principles of Orchestration, ch. IV: foreign notes may be meant.

    C7 has no exact setting. The nearest ones sound all of it and one foreign note: every other
    letter has a string for the chord, but D♭, D and D♯ are all outside it.
    """
    chord = {0, 4, 7, 10}
    nearest = nearest_settings(chord, count=100)
    best = [one for one in nearest if (len(one.missing), len(one.foreign)) == (0, 1)]

    assert exact_settings(chord) == ()
    assert list(nearest[: len(best)]) == best
    assert {"D"} == {letter.value for one in best for letter in one.foreign}
    assert {(1,), (2,), (3,)} == {one.foreign_pitch_classes for one in best}
    for one in best:
        assert set(one.foreign_pitch_classes) == sounding(one.setting.pattern) - chord


def test_the_glissando_of_a_fauns_afternoon() -> None:
    """Debussy, Prélude à l'après-midi d'un faune, bar 4: A♯ half-diminished (from memory).

    The sounding set A♯ C♯ E G♯ has two exact settings, bsb|nbss among them.
    """
    assert patterns(exact_settings({10, 1, 4, 8})) == ["bsb|nbsb", "bsb|nbss"]


def test_no_triad_is_a_pure_glissando() -> None:
    """No setting has fewer than four pitch classes, so no triad and no smaller set is exact."""
    for size in (1, 2, 3):
        for wanted in combinations(range(12), size):
            assert exact_settings(wanted) == ()
            assert settings_without_foreign_notes(wanted) == ()


def test_25_four_note_sets_are_pure_glissandi() -> None:
    """Three diminished sevenths, five dominant sevenths … and their 42 settings (exhaustion)."""
    exact = {
        frozenset(wanted): len(exact_settings(wanted)) for wanted in combinations(range(12), 4)
    }
    by_shape = {
        shape: [exact[wanted] for wanted in {transposed(shape, root) for root in range(12)}]
        for shape in SHAPES
        if len(SHAPES[shape]) == 4
    }
    found = {
        shape: (sum(count > 0 for count in counts), sum(counts))
        for shape, counts in by_shape.items()
    }

    assert found == {
        "dim7": (3, 3),
        "dom7": (5, 8),
        "half-dim7": (5, 8),
        "minor7": (5, 10),
        "major7": (4, 8),
        "7♯5": (1, 1),
        "aug maj7": (1, 2),
        "min-maj7": (1, 2),
        "dom7♭5": (0, 0),
    }
    assert (sum(count > 0 for count in exact.values()), sum(exact.values())) == (25, 42)


def test_the_augmented_seventh_stands_on_e_alone() -> None:
    """7♯5 has one exact setting on E and none elsewhere (exhaustion)."""
    assert patterns(exact_settings(transposed("7♯5", 4))) == ["nns|nbsb"]


def test_octatonic_glissandi_lack_one_note() -> None:
    """Eight notes on seven strings: 128 settings stay inside, few with seven different notes.

    8 for the set on C (C D♭ E♭ E F♯ G A B♭), 12 for each of the other two (exhaustion).
    """
    sevens = []
    for root in range(3):
        inside = settings_without_foreign_notes(transposed("octatonic", root))
        sevens.append(sum(len(one.missing) == 1 for one in inside))

        assert len(inside[0].missing) == 1

    assert sevens == [8, 12, 12]


def test_c_major_is_had_in_four_ways() -> None:
    """C♭ + B♯ for B + C, E♯ + F♭ for F + E, both, or neither (exhaustion)."""
    assert patterns(exact_settings(transposed("major scale", 0))) == [
        "nbs|nnnn",
        "nbs|sbnn",
        "nnn|nnnn",
        "nnn|sbnn",
    ]


@pytest.mark.parametrize("shape", ["major scale", "harmonic minor"])
def test_every_scale_can_be_slid(shape: str) -> None:
    """Every major and every harmonic-minor scale has at least one setting (exhaustion)."""
    assert all(exact_settings(transposed(shape, root)) for root in range(12))
