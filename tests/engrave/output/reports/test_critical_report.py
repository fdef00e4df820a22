"""The critical report: Markdown and a self-contained page, escaped, opened in a browser."""

from __future__ import annotations

import base64
import io
import re
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
from lxml import html
from marked_parts import diagram, letters, marked, with_marks
from part_builder import build_part
from PIL import Image

from pedalsetter.analysis.editing import Edition, edit_marks
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import DoubtfulWords, HarpPart, Place
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.press import engrave_part
from pedalsetter.engrave.output.pages.raster import pages_to_png
from pedalsetter.engrave.output.reports.critical_notes import critical_notes
from pedalsetter.engrave.output.reports.critical_report import critical_html, critical_markdown

EXAMPLES = Path(__file__).resolve().parents[4] / "examples"


def completed(part: HarpPart) -> Edition:
    """The part with what is missing added."""
    plan = plan_changes(part)
    return edit_marks(part, plan, place_marks(part, plan), SourceMarks.COMPLETE)


def small() -> HarpPart:
    """One letter is missing, one stands too late, and the title tries to be a tag."""
    part = build_part("C4/h C#4/h", "F4/h F#4/q F#4/q", "D4/w")
    part = with_marks(
        part,
        [
            diagram("d", Place(0, Fraction(0)), Setting.of_key(0), part),
            letters("f", Place(1, Fraction(3)), [(Letter.F, Position.SHARP)], part),
        ],
    )
    doubt = DoubtfulWords("w", 2, Fraction(8), 1, "<b>As</b>", "Too few such words.")
    return replace(part, title="<script>alert(1)</script> | A & B", doubtful_words=(doubt,))


def test_each_note_has_bar_beat_source_edition_and_reason() -> None:
    """Additions stand in brackets; a late mark keeps its reading."""
    part = small()
    notes = critical_notes(part, completed(part))
    assert [(note.number, note.bar, note.beat, note.source, note.edition) for note in notes] == [
        (1, "1", "3", "", "[C♯]"),
        (2, "2", "4", "F♯", "F♯, [F♯] in bar 2, beat 3"),
    ]
    assert notes[0].reason == ("Missing change. C♯4 needs C♯, and the marks leave the pedal at C♮.")


def test_markdown_is_one_table_and_nothing_breaks_it() -> None:
    """Bars and tags of a title are escaped; every row has six cells."""
    part = small()
    text = critical_markdown(part, completed(part))
    assert text.startswith("# Critical report: \\<script\\>alert(1)\\</script\\> \\| A &amp; B\n")
    rows = [line for line in text.splitlines() if line.startswith("|")]
    assert len(rows) == 4
    assert {len(re.findall(r"(?<!\\)\|", row)) for row in rows} == {7}
    assert text.endswith("Too few such words.\n")


def test_the_page_is_escaped_and_self_contained() -> None:
    """No script, no link, no picture from elsewhere."""
    part = small()
    page = html.fromstring(critical_html(part, completed(part)))
    assert page.xpath("//script | //link | //iframe | //b") == []
    assert page.xpath("//@href | //@onerror") == []
    assert "<script>alert(1)</script>" in page.findtext(".//title")
    assert len(page.xpath("//tbody/tr")) == 2


@cache
def engraved_page() -> tuple[str, int]:
    """The report of one of our examples with three letters left out, and its number of notes."""
    part = marked(read_part(EXAMPLES / "evening-water.musicxml"))
    found = [mark.id for mark in part.source_marks if mark.kind == "letters"]
    gone = {found[2], found[5], found[8]}
    part = with_marks(part, [mark for mark in part.source_marks if mark.id not in gone])
    edition = completed(part)
    press = engrave_part(part, edition.markings, load_house_style("final-part"))
    pages = pages_to_png(press.engraving.pdf, 100)
    text = critical_html(part, edition, pages, press.placement)
    return text, len(critical_notes(part, edition))


@pytest.mark.engraving
def test_the_engraved_system_stands_beside_each_entry() -> None:
    """Each row has a picture of its own, or shares the one of its system."""
    text, count = engraved_page()
    page = html.fromstring(text)
    cells = page.xpath("//td[@class='system']")
    assert count >= 3
    assert sum(int(cell.get("rowspan")) for cell in cells) == count
    for cell in cells:
        (picture,) = cell.findall("img")
        kind, data = picture.get("src").split(",", 1)
        assert kind == "data:image/png;base64"
        with Image.open(io.BytesIO(base64.b64decode(data))) as opened:
            grey = opened.convert("L")
        assert grey.size == (int(picture.get("width")), int(picture.get("height")))
        # A system is wide, and both printed on and mostly white.
        assert grey.width > 2 * grey.height
        ink = sum(grey.histogram()[:128]) / (grey.width * grey.height)
        assert 0.005 < ink < 0.3


def test_where_marks_are_replaced_every_departure_is_a_note() -> None:
    """The source moves C too late, moves A for nothing, and lacks F; the edition's marks are told.

    What both print alike, as the opening and the G, is no departure.
    """
    part = build_part("C4/h C#4/q C#4/q", "F4/h F#4/h", "G4/h G#4/h", "D4/w")
    part = with_marks(
        part,
        [
            diagram("d", Place(0, Fraction(0)), Setting.of_key(0), part),
            letters("c", Place(0, Fraction(3)), [(Letter.C, Position.SHARP)], part),
            letters("g", Place(2, Fraction(2)), [(Letter.G, Position.SHARP)], part),
            letters("a", Place(3, Fraction(0)), [(Letter.A, Position.FLAT)], part),
        ],
    )
    plan = plan_changes(part)
    edition = edit_marks(part, plan, place_marks(part, plan), SourceMarks.REPLACE)
    assert edition.is_planned
    notes = critical_notes(part, edition)
    printed = {
        (change.text, part.printed_bar(change.place.bar), part.printed_beat(change.place))
        for change in plan.changes
    }
    told = " ".join(f"{note.source} {note.edition} {note.reason}" for note in notes)
    late = next(note for note in notes if note.source == "C♯")
    assert (late.bar, late.beat) == ("1", "4")
    assert late.reason.startswith("Mark after the note that needs it.")
    (missing,) = [note for note in notes if note.reason.startswith("Missing change.")]
    (where,) = [place for place in printed if place[0] == "F♯"]
    assert (missing.bar, missing.source) == ("2", "")
    assert missing.edition in ("F♯", f"F♯ in bar {where[1]}, beat {where[2]}")
    (needless,) = [note for note in notes if note.source == "A♭"]
    assert needless.edition == "–"
    same = [place for place in printed if place == ("G♯", "3", "3")]
    assert bool(same) != ("G♯" in told)
    assert [note.number for note in notes] == list(range(1, len(notes) + 1))


def test_a_source_with_glissandi_alone_has_one_note() -> None:
    """Its diagram stays; the report says that the source is not pedalled."""
    part = build_part("C4/h F#4/h", "C4/hgl< C6/hgl>", "F4/h Bb4/h")
    part = with_marks(
        part, [diagram("g", Place(1, Fraction(0)), Setting.parse_pattern("nnb|nsnn"), part)]
    )
    for mode in SourceMarks:
        plan = plan_changes(part)
        edition = edit_marks(part, plan, place_marks(part, plan), mode)
        (note,) = critical_notes(part, edition)
        assert note.source == note.edition == "diagram D♮ C♮ B♭ | E♮ F♯ G♮ A♮"
        assert "but for glissandi" in critical_markdown(part, edition)
