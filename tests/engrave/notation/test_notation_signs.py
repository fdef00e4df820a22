"""Each sign of the notation, engraved from a small hand-built part.

All parts run through LilyPond once. What is drawn is counted by LilyPond itself (its grobs), what
sounds is read from its MIDI, and no part may cause a complaint.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from midi_oracle import Engraved, engrave_scores, midi_strikes, part_strikes, plain_score, unlike
from signs.all_signs import SIGNS
from small_parts import COMMON, line, small_part, time

from pedalsetter.engrave.notation.engraver_score import source
from pedalsetter.engrave.notation.score import build_score
from pedalsetter.engrave.notation.timeline import bar_units

pytestmark = pytest.mark.engraving


@pytest.fixture(scope="module")
def engraved(tmp_path_factory: pytest.TempPathFactory) -> Engraved:
    """All parts, engraved in one run."""
    scores = [plain_score(sign.part) for sign in SIGNS.values()]
    return engrave_scores(scores, tmp_path_factory.mktemp("signs"))


def test_no_complaints(engraved: Engraved) -> None:
    """LilyPond finds nothing to warn of in any of the parts."""
    assert engraved.complaints == ()


@pytest.mark.parametrize("name", SIGNS)
def test_sign(name: str, engraved: Engraved) -> None:
    """What the part holds is drawn, written readably, and sounds at its time.

    Source: LilyPond's own count of grobs and its MIDI; names of grobs, LilyPond Internals
    Reference.
    """
    place = list(SIGNS).index(name)
    sign = SIGNS[name]
    grobs = engraved.grobs[place]
    assert {grob: grobs[grob] for grob in sign.drawn} == dict(sign.drawn), sign.truth
    text = plain_score(sign.part)
    for words in sign.written:
        assert words in text, sign.truth
    for words in sign.unwritten:
        assert words not in text, sign.truth
    if sign.sounds:
        found = midi_strikes(engraved.midi[place])
        assert unlike(part_strikes(sign.part), found) == ((), ()), sign.truth


def test_common_time_is_a_sign_of_its_own() -> None:
    """4/4 that the source writes in figures is not turned into C."""
    assert "'numbered" in plain_score(small_part(line("C5/1"), signature=COMMON))
    assert "'numbered" not in plain_score(small_part(line("C5/1"), signature=time(4, 4, "common")))


def test_folder_is_clean(tmp_path: Path) -> None:
    """A run leaves its page and its MIDI in its own folder."""
    done = engrave_scores([plain_score(small_part(line("C5/1")))], tmp_path)
    assert done.pdf.parent == tmp_path
    assert len(done.midi) == 1


def test_lines_break_as_in_the_source_when_asked() -> None:
    """Systems and pages of the source are kept only where the caller wants them."""
    part = small_part(
        *(line("C5/1", bar=bar, at=4 * bar) for bar in range(3)),
        bars=3,
        bar_fields={1: {"new_system": True}, 2: {"new_page": True}},
    )
    units = bar_units(part)
    kept = source(build_score(part, units, source_systems=True).timing)
    assert r"\break s1 | % 2" in kept
    assert r"\pageBreak s1 | % 3" in kept
    free = source(build_score(part, units).timing)
    assert r"\break" not in free
    assert r"\pageBreak" not in free
