"""Small scores, all engraved in one run: what their source shows stands on the page, once."""

from __future__ import annotations

from collections import Counter

import pytest
from albums import Album, engrave_album
from pages.all_cases import CASES

from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.layout.contacts import contact_failures
from pedalsetter.engrave.layout.music_count import count_failures
from pedalsetter.engrave.output.pages.lilypond import lilypond_source

pytestmark = pytest.mark.engraving


@pytest.fixture(scope="module")
def parts() -> dict[str, HarpPart]:
    """Every case as it is read."""
    return {name: read_score(case.data, "page.xml", case.part) for name, case in CASES.items()}


@pytest.fixture(scope="module")
def album(parts: dict[str, HarpPart]) -> Album:
    """Every case on the page."""
    return engrave_album([(part, place_marks(part, plan_changes(part))) for part in parts.values()])


def test_the_engraver_has_nothing_to_say(album: Album) -> None:
    """No warning in any case."""
    assert album.engraving.warnings == ()


@pytest.mark.parametrize("name", CASES)
def test_what_stands_on_the_page(name: str, parts: dict[str, HarpPart], album: Album) -> None:
    """Counted on the page itself.

    Source: LilyPond's own objects that have ink; names, LilyPond Internals Reference.
    """
    case, place = CASES[name], list(CASES).index(name)
    found: Counter[str] = Counter()
    for count in album.boxes[place].counts:
        found[count.kind] += count.number
        found[f"{count.kind}/{count.staff}"] += count.number
    assert {kind: found[kind] for kind in case.printed} == dict(case.printed), case.truth
    notices = (*parts[name].warnings, *album.notices[place])
    assert tuple(map(str, notices)) == case.told, case.truth
    assert album.proofs[place].failures == ()
    assert count_failures(parts[name], album.boxes[place]) == (), case.truth
    assert list(contact_failures(parts[name], album.boxes[place])) == [], case.truth
    if case.written or case.unwritten:
        part = parts[name]
        marks = place_marks(part, plan_changes(part))
        text = lilypond_source(part, marks, load_house_style()).text
        assert [words for words in case.written if words not in text] == [], case.truth
        assert [words for words in case.unwritten if words in text] == [], case.truth
