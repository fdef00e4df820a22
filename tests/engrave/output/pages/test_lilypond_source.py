"""The LilyPond file that is given to the musician."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from dense_pages import change_mark, diagram
from part_builder import build_part

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.lilypond import lilypond_source
from pedalsetter.engrave.output.pages.page import stylesheet

pytestmark = pytest.mark.engraving

STYLE = load_house_style()
PART = build_part(*["C5/q E5/q G5/q C6/q | C3/h G3/h"] * 3, key=2)
MARKS = Markings((diagram(0, 0, "nsn|nsnn"),), (change_mark(1, 2, "G♯", "D♯"),))


def body(text: str) -> str:
    """What comes after the stylesheet."""
    return text[text.index("#(set-global-staff-size") :]


def test_every_bar_is_a_line_that_ends_with_its_number() -> None:
    """Who edits the file finds bar 2 by its number, in the lanes and in the staves."""
    text = body(lilypond_source(PART, MARKS, STYLE).text)
    for number in (1, 2, 3):
        lines = [line for line in text.splitlines() if line.endswith(f" | % {number}")]
        # diagrams, letters, marks above, time, and for each staff its signs and its voice
        assert len(lines) >= 8


def test_marks_stand_in_variables_of_their_own() -> None:
    """A mark is edited without touching a note."""
    text = body(lilypond_source(PART, MARKS, STYLE).text)
    diagrams = re.search(r"^rowOfDiagrams = \{\n(.*?)^\}", text, re.MULTILINE | re.DOTALL)
    letters = re.search(r"^rowOfLetters = \{\n(.*?)^\}", text, re.MULTILINE | re.DOTALL)
    assert diagrams is not None
    assert letters is not None
    assert diagrams[1].splitlines() == [
        '  s1 \\pedalDiagram "d1" "-v-|-v--" | % 1',
        "  s1 | % 2",
        "  s1 | % 3",
    ]
    assert letters[1].splitlines()[1] == '  s2 s2 \\pedalLetters "c1" "G♯" "D♯" | % 2'
    staves = text[text.index("harpStaves =") :]
    assert "pedalLetter " not in staves


def test_the_file_needs_nothing_but_lilypond(tmp_path: Path) -> None:
    """It includes no other file, names no folder, and holds nothing that writes files."""
    text = lilypond_source(PART, MARKS, STYLE).text
    assert text.startswith('\\version "2.24.0"\n')
    assert "\\include" not in text
    assert str(Path.home()) not in text
    assert "open-output-file" not in text
    assert "boxes:" not in text
    assert engrave(text).pages == 1


def test_with_the_stylesheet_beside_it_the_file_is_short(tmp_path: Path) -> None:
    """The same page comes from the short file and from the one that holds its stylesheet."""
    whole = lilypond_source(PART, MARKS, STYLE).text
    short = lilypond_source(PART, MARKS, STYLE, standalone=False).text
    assert short.count('\\include "pedals.ily"') == 1
    assert short.replace('\\include "pedals.ily"\n', stylesheet()) == whole
    assert engrave(short).pdf == engrave(whole).pdf


def test_the_same_part_gives_the_same_file() -> None:
    """No clock, no chance."""
    assert lilypond_source(PART, MARKS, STYLE).text == lilypond_source(PART, MARKS, STYLE).text


def test_titles_are_printed_and_cannot_break_out() -> None:
    """A title may hold any sign; it stays a title."""
    evil = 'Night" } #(system "touch pwned") %{ \\include'
    part = replace(
        PART,
        title=evil,
        subtitle="for harp",
        composer="N. N.",
        lyricist="Words by N.",
        arranger="Arr. N.",
        rights="© 2020 N. N.",
        part_name="Harp 1",
    )
    text = lilypond_source(part, MARKS, STYLE).text
    assert '  title = "Night\\" } #(system \\"touch pwned\\") %{ \\\\include"\n' in text
    header = text[text.index("\\header {") :].split("\n}", 1)[0]
    for line in (
        '  subtitle = "for harp"',
        '  instrument = "Harp 1"',
        '  composer = "N. N."',
        '  poet = "Words by N."',
        '  arranger = "Arr. N."',
        '  copyright = "© 2020 N. N."',
        "  tagline = ##f",
    ):
        assert line in header.splitlines()
    assert engrave(text).pages == 1


EVERY_NUMBER = "barNumberVisibility = #(lambda (number position) (> number 0))"


@pytest.mark.parametrize(
    ("wish", "line"),
    [
        ({"staff_size_points": 16.0}, "#(set-global-staff-size 16)"),
        ({"paper_size": "letter"}, '  #(set-paper-size "letter")'),
        ({"margin_left_mm": 21.5}, "  left-margin = 21.5\\mm"),
        ({"page_numbers": False}, "  print-page-number = ##f"),
        ({"row_distance_spaces": 5.0}, "        #5"),
        ({"staff_distance_spaces": 1.2}, "        #1.2"),
        ({"diagram_size": 2.5}, "      \\override TextScript.font-size = #2.5"),
        ({"letter_size": -2.0}, "      \\override TextScript.font-size = #-2"),
        ({"bar_numbers": "every"}, f"      {EVERY_NUMBER}"),
    ],
)
def test_each_wish_of_the_house_style_is_in_the_file(wish: dict[str, object], line: str) -> None:
    """Every option has an effect."""
    plain = body(lilypond_source(PART, MARKS, STYLE).text).splitlines()
    wished = body(lilypond_source(PART, MARKS, replace(STYLE, **wish)).text).splitlines()  # type: ignore[arg-type]
    assert line not in plain
    assert line in wished


def test_bar_numbers_and_part_name_can_be_left_out() -> None:
    """A style may do without either."""
    plain = lilypond_source(PART, MARKS, STYLE).text
    bare = lilypond_source(PART, MARKS, replace(STYLE, bar_numbers="none", part_name=False)).text
    assert "\\consists Bar_number_engraver" in body(plain)
    assert "\\consists Bar_number_engraver" not in body(bare)
    assert 'instrument = "Harp"' in plain
    assert "instrument =" not in bare


def test_systems_of_the_source_are_kept_where_wanted() -> None:
    """With the source's systems, a line breaks where the source begins one."""
    bars = tuple(replace(bar, new_system=bar.index == 2) for bar in PART.bars)
    part = replace(PART, bars=bars)
    own, kept = (
        [
            line
            for line in engrave(
                lilypond_source(part, MARKS, STYLE, source_systems=wish).text
            ).boxes.lines
            if line.is_system
        ]
        for wish in (False, True)
    )
    assert (len(own), len(kept)) == (1, 2)


def test_rows_between_the_staves_stand_between_them_in_the_file() -> None:
    """Upper staff, diagrams, letters, lower staff; dynamics keep their distance."""
    text = body(
        lilypond_source(
            PART, MARKS, replace(STYLE, letter_place="between", diagram_place="between")
        ).text
    )
    order = ['Staff = "upper"', "\\rowOfDiagrams", "\\rowOfLetters", 'Staff = "lower"']
    places = [text.index(piece, text.index("harpStaves =")) for piece in order]
    assert places == sorted(places)
    single = replace(PART, staves=1, events=tuple(e for e in PART.events if e.staff == 1))
    below = body(
        lilypond_source(
            single, MARKS, replace(STYLE, letter_place="between", diagram_place="between")
        ).text
    )
    score = below[below.index("\\score {") :]
    assert score.index("\\harpStaves") < score.index("\\rowOfDiagrams")


def test_long_titles_are_broken_into_lines() -> None:
    """No title runs off the paper; a line break of the source stays one."""
    long = "The long and truly remarkable history of a harp that was never once in tune " * 2
    part = replace(PART, title=long, rights="© One\n© Two", composer="Short")
    text = lilypond_source(part, MARKS, STYLE).text
    title = re.search(r"^  title = \\markup \\center-column \{ (.*) \}$", text, re.MULTILINE)
    assert title is not None
    lines = re.findall(r'"([^"]*)"', title[1])
    assert " ".join(lines) == long.strip()
    assert max(map(len, lines)) <= 56
    assert '  copyright = \\markup \\center-column { "© One" "© Two" }\n' in text
    assert '  composer = "Short"\n' in text
    boxes = engrave(text).boxes
    (heading,) = [line for line in boxes.lines if not line.is_system]
    assert heading.box.left >= 0
    assert heading.box.right <= boxes.pages[0].width


def test_a_part_without_marks_is_engraved_too() -> None:
    """Nothing to mark, nothing to prove, still a page."""
    document = lilypond_source(PART, Markings((), ()), STYLE)
    engraving = engrave(document.text)
    assert document.marks == {}
    assert engraving.pages == 1
    assert engraving.boxes.marks == ()
