"""The critical report: Markdown and a self-contained page, escaped, opened in a browser."""

from __future__ import annotations

import base64
import io
import re
import shutil
import subprocess
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
from pedalsetter.analysis.harp import Letter, Position, Setting
from pedalsetter.analysis.marking import SourceMarks, place_marks
from pedalsetter.analysis.part import DoubtfulWords, HarpPart, Place
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.critical_notes import critical_notes
from pedalsetter.engrave.output.critical_report import critical_html, critical_markdown
from pedalsetter.engrave.output.press import engrave_part
from pedalsetter.engrave.output.raster import pages_to_png

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"


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


def chromium() -> str:
    """The browser; the test fails, and says how to get it, where there is none."""
    names = ("chromium", "chromium-browser", "google-chrome", "chrome")
    found = next(filter(None, map(shutil.which, names)), None)
    if found is None:
        pytest.fail("Chromium is needed to open the report: apt install chromium")
    return found


@pytest.mark.engraving
@pytest.mark.browser
def test_a_browser_shows_the_page(tmp_path: Path) -> None:
    """Headless Chromium lays the page out: text on the left, engraved systems on the right."""
    text, count = engraved_page()
    (tmp_path / "report.html").write_text(text, encoding="utf-8")
    shot = tmp_path / "report.png"
    common = [
        chromium(),
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--hide-scrollbars",
        f"--user-data-dir={tmp_path / 'profile'}",
    ]
    url = (tmp_path / "report.html").as_uri()
    dom = subprocess.run(
        [*common, "--dump-dom", url], capture_output=True, text=True, timeout=120, check=True
    ).stdout
    assert len(html.fromstring(dom).xpath("//tbody/tr")) == count
    subprocess.run(
        [*common, "--window-size=1400,1000", f"--screenshot={shot}", url],
        capture_output=True,
        timeout=120,
        check=True,
    )
    with Image.open(shot) as opened:
        grey = opened.convert("L")
    assert grey.size == (1400, 1000)

    def ink(box: tuple[int, int, int, int]) -> int:
        return sum(grey.crop(box).histogram()[:128])

    left, right = ink((0, 150, 700, 500)), ink((800, 150, 1400, 500))
    assert left > 1000
    # Staff lines and beams: far more ink than any column of text.
    assert right > 3 * left / 2
