"""The count of the music: nothing is lost from a page, or printed twice, without being told."""

from __future__ import annotations

from dataclasses import replace

import pytest
from albums import Album, engrave_album
from pages.case import beam, solo
from score_snippets import direction, move, note, words
from varied_parts import varied_part

from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.layout.geometry import PageBoxes
from pedalsetter.engrave.layout.music_count import count_failures
from pedalsetter.engrave.output.pages.lilypond_log import complaints_of

pytestmark = pytest.mark.engraving

_LYRIC = "<lyric><syllabic>single</syllabic><text>la</text></lyric>"
_FINGER = "<technical><fingering>2</fingering></technical>"

RICH = solo(
    words("Adagio", 'font-weight="bold"')
    + direction("<rehearsal>A</rehearsal>")
    + direction("<dynamics><mf/></dynamics>", after="<staff>1</staff>")
    + note("F#5", 1, staff=1, ties=("start",), notations='<slur type="start"/>', after=_LYRIC)
    + note("F#5", "1/2", staff=1, ties=("stop",), after=beam("begin"))
    + note("G5", "1/2", staff=1, after=beam("end"), notations='<slur type="stop"/>')
    + note("A5", "1/2", staff=1, notations=_FINGER)
    + note("R", "1/2", staff=1)
    + note("C5", 1, staff=1)
    + move(-4)
    + note("C3", 3, voice=5, staff=2, dots=1)
    + note("D3", 1, voice=5, staff=2, notations="<ornaments><mordent/></ornaments>"),
    note("C5", 4, staff=1) + move(-4) + note('<rest measure="yes"/>', 4, voice=5, staff=2),
    staves=2,
)
LOST = {
    "NoteHead": "page 1, bar 1, upper staff: 0 of 5 heads printed",
    "Rest": "bar 1, beat 3½, upper staff: a rest is missing",
    "MultiMeasureRest": "bar 2, beat 1, lower staff: a rest is missing",
    "Beam": "page 1, bar 1: 0 of 1 beam printed",
    "Flag": "page 1, bar 1, upper staff: 0 of 1 flag printed",
    "Accidental": "page 1, bar 1, upper staff: 0 of 1 accidental printed",
    "DynamicText": "page 1, bar 1: 0 of 1 dynamic printed",
    "Slur": "page 1, bar 1: 0 of 1 slur printed",
    "Tie": "page 1, bar 1, upper staff: 0 of 1 tie printed",
    "LyricText": "page 1, bar 1: 0 of 1 syllable printed",
    "MetronomeMark": "page 1, bar 1: 0 of 1 tempo mark printed",
    "RehearsalMark": "page 1, bar 1: 0 of 1 rehearsal mark printed",
    "Dots": "page 1, bar 1, lower staff: 0 of 1 dot sign printed",
    "Ornament": "page 1, bar 1, lower staff: 0 of 1 ornament printed",
    "Fingering": "page 1, bar 1, upper staff: 0 of 1 fingering printed",
}
SEEDS = range(24)


def engraved(data: list[bytes]) -> tuple[list[HarpPart], Album]:
    """Scores as parts, and all of them on pages."""
    parts = [read_score(one, "count.musicxml") for one in data]
    return parts, engrave_album([(part, place_marks(part, plan_changes(part))) for part in parts])


@pytest.fixture(scope="module")
def pages() -> tuple[list[HarpPart], Album]:
    """The rich part, and parts made by chance behind it."""
    return engraved([RICH, *map(varied_part, SEEDS)])


def without(boxes: PageBoxes, kind: str) -> PageBoxes:
    """What would be reported if things of one kind had vanished from the page."""
    return replace(boxes, counts=tuple(each for each in boxes.counts if each.kind != kind))


def doubled(boxes: PageBoxes, kind: str) -> PageBoxes:
    """What would be reported if each thing of one kind stood there twice."""
    return replace(
        boxes,
        counts=tuple(
            replace(each, number=2 * each.number) if each.kind == kind else each
            for each in boxes.counts
        ),
    )


def test_a_page_with_all_that_its_part_has(pages: tuple[list[HarpPart], Album]) -> None:
    """Nothing is told of a page on which all is well."""
    parts, album = pages
    assert count_failures(parts[0], album.boxes[0]) == ()


@pytest.mark.parametrize("kind", LOST)
def test_what_is_lost_is_told(kind: str, pages: tuple[list[HarpPart], Album]) -> None:
    """Every kind of thing is missed, with page, bar and staff."""
    parts, album = pages
    assert count_failures(parts[0], without(album.boxes[0], kind))[0] == LOST[kind]


@pytest.mark.parametrize("kind", sorted(set(LOST) - {"MultiMeasureRest", "Rest"}))
def test_what_is_printed_twice_is_told(kind: str, pages: tuple[list[HarpPart], Album]) -> None:
    """Nor may anything stand there more often than the part has it."""
    parts, album = pages
    assert count_failures(parts[0], doubled(album.boxes[0], kind))


def test_parts_made_by_chance(pages: tuple[list[HarpPart], Album]) -> None:
    """Hidden and small notes, four voices, beams over staves, slurs over voices: all is there."""
    parts, album = pages
    told = {
        seed: count_failures(part, boxes)
        for seed, part, boxes in zip(SEEDS, parts[1:], album.boxes[1:], strict=True)
    }
    assert {seed: failures for seed, failures in told.items() if failures} == {}
    assert sum(len(boxes.counts) for boxes in album.boxes) > 2000
    assert complaints_of(album.source, album.engraving.warnings)[0] == ()


def test_what_the_engraver_warns_of_is_a_failure() -> None:
    """A beam that it could not draw is one, with its bar; a page that it pressed together is not.

    Source of the warnings: LilyPond 2.24.
    """
    source = "\\score {\n  c8 [ d8 ] | % 12\n}"
    warnings = (
        "line 2: no viable initial configuration found: may not find good beam slope",
        "compressing over-full page by 1.2 staff-spaces",
        "unterminated slur",
    )
    assert complaints_of(source, warnings) == (
        (
            "bar 12: the engraver warns: no viable initial configuration found: "
            "may not find good beam slope",
            "the engraver warns: unterminated slur",
        ),
        ("compressing over-full page by 1.2 staff-spaces",),
    )
