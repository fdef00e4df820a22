"""Damaged scores: whatever is broken in a file, the answer is a part or one clear line."""

from __future__ import annotations

import random
from pathlib import Path

import music21
import pytest
from damaged_scores import assert_whole, damaged

from pedalsetter.analysis.errors import PedalsetterError
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.reading import read_score

SUITE = Path(music21.__file__).parent / "musicxml" / "lilypondTestSuite"


@pytest.mark.parametrize("path", sorted(SUITE.glob("*.xml"))[::3], ids=lambda path: path.stem)
def test_no_damage_is_a_traceback(path: Path) -> None:
    """Source of the scores: the MusicXML test suite, as shipped with music21."""
    data = path.read_bytes()
    chance = random.Random(path.stem)  # noqa: S311 - the same damage on every run
    for _ in range(12):
        part, refusal = answer(damaged(data, chance))
        assert part is not None or refusal.startswith("damaged.xml")
        assert "\n" not in refusal
        if part is not None:
            assert_whole(part)


def answer(data: bytes) -> tuple[HarpPart | None, str]:
    """The part, or the line with which it is refused; any other error passes through."""
    try:
        return read_score(data, "damaged.xml", "1"), ""
    except PedalsetterError as error:
        return None, str(error)
