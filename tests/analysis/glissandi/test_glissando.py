"""Settings for a glissando: their order, what is missing, what is foreign, what must stay."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedalsetter.analysis.errors import SettingError
from pedalsetter.analysis.glissandi.glissando import (
    exact_settings,
    nearest_settings,
    settings_without_foreign_notes,
)
from pedalsetter.analysis.instrument.harp import Letter, Position, Setting

PITCH_CLASSES = st.sets(st.integers(0, 11), min_size=1, max_size=12)
A_SETTING = st.lists(st.sampled_from(Position), min_size=7, max_size=7).map(
    lambda positions: Setting(tuple(positions))
)


def test_the_fewest_pedal_moves_come_first() -> None:
    """From D♭ major two pedals give its pentatonic: C♮ to C♯, and G♭ through G♮ to G♯."""
    wanted = {1, 3, 5, 8, 10}
    start = Setting.of_key(-5)
    found = exact_settings(wanted, start)

    assert [one.moves for one in found] == sorted(one.moves for one in found)
    assert (found[0].setting.pattern, found[0].moves, found[0].notches) == ("bsb|bnsb", 2, 3)
    assert {one.setting for one in found} == {one.setting for one in exact_settings(wanted)}


def test_among_equal_moves_the_shorter_way_comes_first() -> None:
    """E major pentatonic from C♭ major: G and A may stay flat, so the first moves fewest pedals."""
    found = exact_settings({4, 6, 8, 11, 1}, Setting.of_key(-7))

    assert found[0].setting.pattern == "bbn|nbbb"
    assert (found[0].moves, found[0].notches) == (2, 2)
    assert [(one.moves, one.notches) for one in found] == sorted(
        (one.moves, one.notches) for one in found
    )


def test_a_note_at_hand_stays_where_it_is() -> None:
    """A D♭ pentatonic glissando that begins on a written E♭ keeps the E string at flat."""
    found = exact_settings({1, 3, 5, 8, 10}, fixed={Letter.E: Position.FLAT})

    assert [one.setting.pattern for one in found] == [
        "bsb|bnsb",
        "bsb|bnss",
        "ssb|bnsb",
        "ssb|bnss",
    ]


def test_a_scale_of_eight_notes_always_lacks_one() -> None:
    """Seven letters sound at most seven pitch classes, so one of eight is missing, none foreign."""
    octatonic = {0, 1, 3, 4, 6, 7, 9, 10}
    best = nearest_settings(octatonic, count=1)[0]

    assert (len(best.missing), best.foreign, best.exact) == (1, (), False)


def test_the_nearest_are_as_many_as_asked() -> None:
    """The caller says how many settings are shown; none may be wanted."""
    assert len(nearest_settings({0, 4, 7})) == 5
    assert len(nearest_settings({0, 4, 7}, count=12)) == 12
    assert nearest_settings({0, 4, 7}, count=0) == ()


def test_missing_and_foreign_notes_of_a_triad() -> None:
    """A C major triad cannot be slid alone: at least one string is foreign.

    D has no place in C E G (D♭, D, D♯), nor has A (A♭, A, A♯); B may be tuned to C, F to E.
    """
    best = nearest_settings({0, 4, 7}, count=1)[0]

    assert best.missing == ()
    assert [letter.value for letter in best.foreign] == ["D", "A"]
    assert best.setting.pattern == "bns|nbnb"
    assert best.foreign_pitch_classes == (1, 8)


@given(PITCH_CLASSES, A_SETTING)
@settings(max_examples=40, deadline=None)
def test_the_three_searches_agree(wanted: set[int], start: Setting) -> None:
    """Exact settings are the pure ones that lack nothing, and lead the nearest where they exist."""
    exact = exact_settings(wanted, start)
    pure = settings_without_foreign_notes(wanted, start)
    every = nearest_settings(wanted, start, count=3**7)

    assert exact == tuple(one for one in pure if not one.missing)
    assert exact == every[: len(exact)]
    assert len(every) == 3**7
    for one in every[:20]:
        sounding = one.setting.pitch_classes()
        assert set(one.missing) == wanted - sounding
        assert set(one.foreign_pitch_classes) == sounding - wanted
        assert one.moves == len(start.letters_unlike(one.setting))
        assert one.notches == start.notches_to(one.setting)


@pytest.mark.parametrize(
    ("wanted", "line"),
    [
        (
            set(),
            "a glissando needs at least one pitch class. Give numbers from 0 (C) to 11 (B).",
        ),
        ({0, 12}, "12 is no pitch class. Give numbers from 0 (C) to 11 (B)."),
        ({-1, 3}, "-1 is no pitch class. Give numbers from 0 (C) to 11 (B)."),
    ],
)
def test_what_is_no_set_of_pitch_classes_is_told(wanted: set[int], line: str) -> None:
    """A wrong number is answered by one line with its mend, whichever way one asks."""
    for search in (exact_settings, settings_without_foreign_notes, nearest_settings):
        with pytest.raises(SettingError) as caught:
            search(wanted)

        assert line == str(caught.value)
