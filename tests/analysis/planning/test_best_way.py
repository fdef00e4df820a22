"""What is known of hard passages never leaves out the best way of a foot."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise

import pytest
from part_builder import build_part

from pedalsetter.analysis.planning import choosing, plan_changes, search_terms, string_search
from pedalsetter.analysis.planning.best_way import Rises, best_way
from pedalsetter.analysis.planning.foot_programme import FootProgramme, Found
from pedalsetter.analysis.planning.letter_bound import INFINITE

# Chromatic lines and turns, too fast for the feet, over chords that hold some letters.
HARD = [
    "C4/s C#4/s D4/s D#4/s E4/s F4/s F#4/s G4/s G#4/s A4/s Bb4/s B4/s C5/q",
    "F4/e F#4/e G4/e G#4/e A4/e A#4/e B4/e C5/e",
    "C4+E4+G4/q C#4+E4+G#4/q D4+F4+A4/q D#4+F#4+A#4/q",
    "E4/s Eb4/s E4/s D#4/s E4/s B3/s D4/s C4/s A3/q r/q",
    "Ab4/e G4/e F#4/e F4/e E4/e Eb4/e D4/e Db4/e",
]


@contextmanager
def _collected(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[FootProgramme]]:
    """The programmes that a search makes while the context is open."""
    found: list[FootProgramme] = []

    def noted(programme: FootProgramme, most: int, rises: Rises) -> Found | int:
        found.append(programme)
        return best_way(programme, most, rises)

    with monkeypatch.context() as patch:
        patch.setattr(string_search, "best_way", noted)
        yield found


@pytest.fixture
def programmes(monkeypatch: pytest.MonkeyPatch) -> list[FootProgramme]:
    """Feet that cannot play what is written, at several speeds."""
    with _collected(monkeypatch) as found:
        monkeypatch.setattr(choosing, "LAST_EFFORT", search_terms.Effort(1000, 10))
        for tempo in (60, 100):
            for first in range(len(HARD)):
                bars = (*HARD[first:], *HARD[:first])[:2]
                plan_changes(build_part(*bars, tempo=tempo, key=first - 2))
    for programme in found:
        programme.effort = 1 << 40
    return found


def test_the_way_is_that_of_a_search_without_excerpts(programmes: list[FootProgramme]) -> None:
    """Looked for passage by passage, the best way costs what it costs when all is followed."""
    hard = 0
    for programme in programmes:
        found = best_way(programme, INFINITE, Rises())
        assert isinstance(found, Found)
        whole = programme.within([found.rank + 40] * len(programme.options))
        assert isinstance(whole, Found)
        assert whole.rank == found.rank
        hard += found.rank > 100
    assert hard >= 4


def test_more_music_never_costs_less(programmes: list[FootProgramme]) -> None:
    """From an earlier place on the feet pay as much as from a later one, or more."""
    looked = 0
    for programme in programmes[::2]:
        places = len(programme.options)
        rises = Rises()
        if isinstance(best_way(programme, INFINITE, rises), int) or rises.passages is None:
            continue
        limits = rises.within(0)
        assert all(before <= after for before, after in pairwise(limits))
        for begin in range(0, places - 8, 11):
            least = [
                found.rank if isinstance(found, Found) else found
                for found in (
                    programme.excerpt(begin, places, [4000] * places),
                    programme.excerpt(begin + 4, places, [4000] * places),
                )
            ]
            assert least[0] >= least[1]
            looked += 1
    assert looked >= 4


def test_a_way_that_costs_too_much_is_told_by_a_bound(programmes: list[FootProgramme]) -> None:
    """If not even the best way is cheap enough, what is told is no more than it costs."""
    bounded = 0
    for programme in programmes[::2]:
        whole = best_way(programme, INFINITE, Rises())
        assert isinstance(whole, Found)
        for most in (whole.rank // 2, whole.rank, whole.rank + 1):
            found = best_way(programme, most, Rises())
            if whole.rank < most:
                assert isinstance(found, Found)
                assert found.rank == whole.rank
            else:
                assert isinstance(found, int)
                assert most <= found <= whole.rank
                bounded += 1
    assert bounded >= 6
