"""The practice sheet: every setting with its bar. Rings and signs as on the diagrams of a part."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from example_scores import CHROMATIC_STUDY, EVENING_WATER, EXAMPLES, THREE_TIMES_ROUND, Example
from lxml import etree
from part_builder import build_part
from typer.testing import CliRunner

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import Place, Section, SectionReason
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave import command_line
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.raster import page_count
from pedalsetter.engrave.output.pictures.practice_sheet import (
    draw_practice_sheet,
    practice_source,
    stations,
)
from pedalsetter.engrave.output.results import PlannedScore
from pedalsetter.engrave.road import plan_score


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.file)
def test_played_from_the_sheet_alone_the_settings_follow(example: Example) -> None:
    """From one diagram to the next exactly the ringed pedals move, each change of the plan once.

    Only where a repeat or a jump enters a bar, pedals stand otherwise without moving.
    """
    score = plan_score(example.path)
    sheet = stations(score.part, score.plan)

    assert sheet[0].setting == score.plan.movements[0].opening
    for before, after in pairwise(sheet):
        moved = set(before.setting.letters_unlike(after.setting))
        assert moved == set(after.changed) or after.entered
    assert sum(len(one.changed) for one in sheet) == len(score.plan.changes)


def test_rehearsal_marks_are_places_to_begin() -> None:
    """A, B and C have their diagrams in *Evening Water*, boxed, though nothing moves there."""
    score = plan_score(EVENING_WATER.path)
    marks = {
        one.label: score.part.printed_bar(one.place.bar)
        for one in stations(score.part, score.plan)
        if one.boxed
    }

    assert marks == {"A": "17", "B": "27", "C": "43"}


def test_a_second_ending_is_entered_with_its_own_setting() -> None:
    """Bar 9 of *Three Times Round* follows bar 6, not bar 8: C♯ still stands."""
    score = plan_score(THREE_TIMES_ROUND.path)
    (entered,) = [
        one
        for one in stations(score.part, score.plan)
        if score.part.printed_bar(one.place.bar) == "9" and one.entered
    ]

    assert entered.setting[Letter.C].sign == "♯"
    assert entered.changed == ()


@pytest.mark.engraving
def test_the_sheet_is_one_page_of_outlines(tmp_path: Path) -> None:
    """All settings of the densest example fit on one page, in every form, title and all."""
    result = CliRunner().invoke(
        command_line.app,
        ["practice", str(CHROMATIC_STUDY.path), "-o", str(tmp_path / "sheet.pdf"), "-q"],
    )
    score = plan_score(CHROMATIC_STUDY.path)
    picture = draw_practice_sheet(score, load_house_style("final-part"))

    assert (result.exit_code, result.output) == (0, "")
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(picture.pdf)
    assert page_count(picture.pdf) == 1
    for form in ("pdf", "svg", "png", "ly"):
        assert list(picture.files(tmp_path / f"sheet.{form}")) == [f"sheet.{form}"]
    root = etree.fromstring(picture.svg[0])
    assert not root.xpath("//*[local-name()='text']")
    assert picture.source.count('\\pedal-diagram "') == len(stations(score.part, score.plan))
    assert 'title = "The Crooked Stair"' in picture.source


@pytest.mark.engraving
def test_many_settings_run_over_pages_and_are_all_there() -> None:
    """Where not even the smallest diagrams fit on one page, there are several of a good size."""
    bars = ["F4/h F#4/h"] * 150
    part = build_part(*bars, tempo=60)
    plan = plan_changes(part)
    score = PlannedScore(part, plan, place_marks(part, plan))
    picture = draw_practice_sheet(score, load_house_style("final-part"))

    assert len(stations(part, plan)) > 250
    assert len(picture.svg) == page_count(picture.pdf) > 1
    assert picture.source.count('\\pedal-diagram "') == len(stations(part, plan))
    assert list(picture.files(Path("sheet.svg"))) == [
        f"sheet-{page}.svg" for page in range(1, len(picture.svg) + 1)
    ]


@pytest.mark.engraving
def test_text_of_the_score_is_text() -> None:
    """Titles, labels and bar numbers with LilyPond's own signs in them are printed, not run."""
    evil = '" #(exit 3) \\markup { $x %{'
    part = build_part("F4/w", "F#4/w", "F4/w", movements=(2,))
    bars = tuple(replace(bar, number=evil) for bar in part.bars)
    part = replace(
        part,
        title=evil,
        bars=bars,
        sections=(Section(1, (SectionReason.REHEARSAL,), evil),),
        movement_titles=(evil, evil),
    )
    plan = plan_changes(part)
    score = PlannedScore(part, plan, place_marks(part, plan))

    assert page_count(draw_practice_sheet(score, load_house_style("large-print")).pdf) == 1


def test_larger_diagrams_stand_fewer_in_a_row() -> None:
    """The row is as wide as the page: what is larger needs more rows."""
    score = plan_score(CHROMATIC_STUDY.path)
    style = load_house_style("final-part")
    rows = [practice_source(score, style, step).count("\\markup \\override") for step in (4, 0, -4)]

    assert rows == sorted(rows, reverse=True)
    assert rows[0] > rows[2]
    assert re.search(r"\\fontsize #-4 \\pedal-diagram", practice_source(score, style, -4))


def test_a_place_without_change_or_name_is_left_out() -> None:
    """A double bar without a heading is no place that anyone looks for."""
    part = replace(
        build_part("F4/w", "F4/w", "F4/w"),
        sections=(
            Section(1, (SectionReason.DOUBLE_BAR,)),
            Section(2, (SectionReason.HEADING,), "Più mosso"),
        ),
    )
    found = stations(part, plan_changes(part))

    assert [(one.place, one.label) for one in found] == [
        (Place(0, found[0].place.offset), ""),
        (Place(2, found[1].place.offset), "Più mosso"),
    ]
