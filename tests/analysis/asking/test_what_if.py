"""Respelled bars sound as before. Enharmonic pairs: Berlioz, Grand traité, "La Harpe"."""

from __future__ import annotations

import pytest
from part_builder import build_part

from pedalsetter.analysis.asking.what_if import Spelling, respelled_bars
from pedalsetter.analysis.errors import PlaceError
from pedalsetter.analysis.part import HarpPart

PART = build_part(
    "C#4/q D#4/q E#4/q F#4/q", "G#4/q A#4/q B#3/q D4/q", "Db4/q Eb4/q Fb4/q Cb5/q", "F##4/h G4/h"
)


def names(part: HarpPart, bar: int) -> list[str]:
    """The notes of a bar."""
    return [str(head.pitch) for event, head in part.notes() if event.bar == bar]


def keys(part: HarpPart) -> list[int]:
    """What sounds, as MIDI keys."""
    return [head.pitch.midi for _, head in part.notes()]


def test_sharps_become_flats_and_sound_alike() -> None:
    """C♯ D♯ E♯ F♯ as D♭ E♭ F G♭; other bars stay as they are."""
    flat = respelled_bars(PART, ["1"], Spelling.FLATS)

    assert names(flat, 0) == ["D♭4", "E♭4", "F4", "G♭4"]
    assert [names(flat, bar) for bar in (1, 2, 3)] == [names(PART, bar) for bar in (1, 2, 3)]
    assert keys(flat) == keys(PART)


def test_a_b_sharp_is_the_c_above_it() -> None:
    """The octave belongs to the letter: B♯3 and C4 are one pitch. D has no other string."""
    flat = respelled_bars(PART, ["2"], Spelling.FLATS)

    assert names(flat, 1) == ["A♭4", "B♭4", "C4", "D4"]
    assert keys(flat) == keys(PART)


def test_flats_become_sharps() -> None:
    """D♭ E♭ F♭ C♭ as C♯ D♯ E B."""
    sharp = respelled_bars(PART, ["3"], Spelling.SHARPS)

    assert names(sharp, 2) == ["C♯4", "D♯4", "E4", "B4"]
    assert keys(sharp) == keys(PART)
    assert respelled_bars(PART, ["3"], Spelling.FLATS) == PART


def test_a_double_sharp_goes_to_its_string() -> None:
    """F♯♯ is played on G, the only string that sounds it."""
    assert names(respelled_bars(PART, ["4"], Spelling.FLATS), 3) == ["G4", "G4"]


def test_tied_notes_follow() -> None:
    """A C♯ held into the next bar is D♭ there too, and still one note."""
    part = build_part("C#4/w~", "C#4/w")
    flat = respelled_bars(part, ["1"], Spelling.FLATS)

    assert [names(flat, bar) for bar in (0, 1)] == [["D♭4"], ["D♭4"]]
    heads = [head for _, head in flat.notes()]
    assert (heads[0].tie_start, heads[1].tie_stop) == (True, True)


def test_a_bar_that_is_not_there_is_one_line() -> None:
    """What is wrong, and which bars there are."""
    with pytest.raises(PlaceError) as told:
        respelled_bars(PART, ["1", "9"], Spelling.FLATS)

    assert str(told.value) == "built.musicxml: there is no bar 9. Its bars go from 1 to 4."
