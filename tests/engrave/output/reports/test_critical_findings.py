"""The critical report tells what cannot be played, with the mends that help, in both its forms."""

from __future__ import annotations

from lxml import html
from part_builder import build_part

from pedalsetter.analysis.editing import Edition, edit_marks
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.findings import with_all_findings, with_mends
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.output.reports.critical_report import critical_html, critical_markdown

HEADING = "What cannot be played, or is hard"


def edition(part: HarpPart) -> Edition:
    """An edition with marks of its own, its findings mended."""
    plan = with_mends(part, with_all_findings(part, plan_changes(part)))
    return edit_marks(part, plan, place_marks(part, plan), SourceMarks.REPLACE)


def test_what_cannot_be_played_stands_in_both_forms_with_its_mends() -> None:
    """F and F♯ with E and G: one finding, and what was tried and helps."""
    part = build_part("C5/w", "E4+F4+G4+F#5/w")

    text = critical_markdown(part, edition(part))
    page = html.fromstring(critical_html(part, edition(part)))

    lines = text.split(f"## {HEADING}\n\n")[1].splitlines()
    assert lines[0].startswith("* Cannot be played, bar 2, beat 1: ")
    assert lines[1].startswith("    * Write F5 for F♯5 ")
    assert lines[2].startswith("    * Leave out ")
    (items,) = page.xpath(f"//h2[text()='{HEADING}']/following-sibling::ul")
    assert len(items.xpath("./li")) == 1
    assert len(items.xpath("./li/ul/li")) == len(lines) - 1 == 3


def test_a_part_without_trouble_has_no_such_heading() -> None:
    """Nothing is said where nothing is hard."""
    part = build_part("C4/w")

    assert HEADING not in critical_markdown(part, edition(part))
    assert HEADING not in critical_html(part, edition(part))
