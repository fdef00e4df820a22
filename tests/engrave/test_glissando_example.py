"""``pedalsetter glissando``: the order of the answers, the printed tables, and the engraved row."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from lxml import etree
from PIL import Image
from typer.testing import CliRunner, Result

from pedalsetter.analysis.glissandi.glissando import glissando_settings
from pedalsetter.analysis.glissandi.pitch_sets import read_pitch_set
from pedalsetter.analysis.instrument.harp import Setting
from pedalsetter.engrave import command_line
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pictures.glissando_example import glissandi_source

C_MAJOR = Setting.of_key(0)


def run(*arguments: str | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(command_line.app, [str(argument) for argument in arguments])


def test_fewest_moves_come_first() -> None:
    """In each group: least missing, fewest foreign strings, then fewest pedals, then notches."""
    answer = glissando_settings(read_pitch_set("whole tone").pitch_classes, C_MAJOR, nearest=50)

    for group in (answer.exact, answer.inside, answer.nearest):
        keys = [(len(o.missing), len(o.foreign), o.moves, o.notches) for o in group]
        assert keys == sorted(keys)
        for one in group:
            assert one.moves == len(C_MAJOR.letters_unlike(one.setting))
    assert len(answer.nearest) == 50
    assert answer.exact[0].moves == min(one.moves for one in answer.exact)
    assert answer.best == answer.exact


def test_the_start_changes_the_order() -> None:
    """A pedal that stands already costs nothing: from a setting of the answer, it comes first."""
    pitch_classes = read_pitch_set("E major pentatonic").pitch_classes
    for wanted in glissando_settings(pitch_classes).exact:
        first = glissando_settings(pitch_classes, wanted.setting).exact[0]
        assert (first.setting, first.moves, first.notches) == (wanted.setting, 0, 0)


def test_the_tables_for_a_reader() -> None:
    """Three groups, each said to be empty where it is; foreign notes are named."""
    printed = run("glissando", "C7", "--from", "D C B E F G A", "--nearest", "1").stdout

    assert [" ".join(line.split()) for line in printed.splitlines()] == [
        "C7: C E G B♭",
        "from D♮ C♮ B♮ | E♮ F♮ G♮ A♮",
        "",
        "exactly these notes: none",
        "",
        "no foreign note, but not all of them: none",
        "",
        "nearest, with foreign notes (1)",
        "setting moves unisons foreign",
        "D♮ C♮ B♭ | E♮ F♭ G♮ A♯ 3 (B♭ F♭ A♯) B♭ = A♯, E♮ = F♭ D♮",
    ]


def test_a_pedal_over_two_notches_is_told() -> None:
    """From B♭ to B♯ a pedal passes the natural: one pedal, two notches."""
    printed = run("glissando", "C", "pentatonic", "--from", "nnb|nbnn", "--nearest", "0").stdout

    assert "1 (B♯, 2 notches)" in printed


def written(source: str) -> list[list[str]]:
    """The seven notes before each line, as LilyPond names them, foreign ones in parentheses."""
    found = []
    for staff in re.findall(r"accidentalStyle forget (.*?)\\glissando", source):
        notes = re.findall(r"(\\parenthesize )?([a-g][fs]?'*)(?:16|2)", staff)
        found.append([f"({name})" if foreign else name for foreign, name in notes])
    return found


def test_the_row_begins_on_the_root_and_names_all_seven_letters() -> None:
    """Written notes of a glissando name every letter as it is set, for every string sounds.

    Then the line begins, an octave above the root.
    """
    wanted = read_pitch_set("C Eb Gb A")
    answer = glissando_settings(wanted.pitch_classes)
    style = load_house_style("final-part")
    (row,) = written(glissandi_source(wanted, answer.exact, style))
    assert row == ["c'", "ds'", "ef'", "fs'", "gf'", "a'", "bs'", "c''"]

    c7 = read_pitch_set("C7")
    (first,) = written(
        glissandi_source(c7, glissando_settings(c7.pitch_classes, C_MAJOR).best[:1], style)
    )
    assert first == ["c'", "(d')", "e'", "ff'", "g'", "as'", "bf'", "c''"]


def test_a_row_whose_root_stands_on_another_letter() -> None:
    """Where C is sharp and B♯ sounds the root, the row begins on the B string."""
    wanted = read_pitch_set("C7b9")
    with_sharp = [
        one
        for one in glissando_settings(wanted.pitch_classes).exact
        if one.setting.pattern == "bss|nbns"
    ]
    (row,) = written(glissandi_source(wanted, with_sharp, load_house_style("final-part")))

    assert row == ["bs", "cs'", "df'", "e'", "ff'", "g'", "as'", "bs'"]


@pytest.mark.engraving
def test_the_example_is_engraved_in_every_form(tmp_path: Path) -> None:
    """One page, as large as its rows; outlines only in the SVG; the same bytes again."""
    for name in ("g.png", "g.svg", "again.svg", "g.pdf", "g.ly"):
        result = run("glissando", "C7b9", "-o", tmp_path / name, "-q")
        assert result.exit_code == 0, result.output
    root = etree.fromstring((tmp_path / "g.svg").read_bytes())

    assert (tmp_path / "g.svg").read_bytes() == (tmp_path / "again.svg").read_bytes()
    assert not root.xpath("//*[local-name()='text']")
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "again.svg",
        "g.ly",
        "g.pdf",
        "g.png",
        "g.svg",
    ]
    picture = Image.open(tmp_path / "g.png").convert("L")
    ink = picture.point([255 if value < 128 else 0 for value in range(256)]).getbbox()
    assert ink is not None
    # margins of four millimetres at 150 dots an inch are 24 pixels; nothing is cut
    assert min(ink[0], ink[1], picture.width - ink[2], picture.height - ink[3]) >= 20


def test_mistakes_are_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A set that is not understood, a setting before that is not whole, a wrong suffix."""
    monkeypatch.chdir(tmp_path)
    for arguments in (["H7"], ["C7", "--from", "C"], ["C7", "-o", "x.gif"]):
        result = run("glissando", *arguments)
        assert (result.exit_code, result.stdout) == (2, "")
        assert result.stderr.count("\n") == 1
    assert run("glissando").exit_code == 2
