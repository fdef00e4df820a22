"""House styles: what a style may say, and how a slip is told."""

from __future__ import annotations

from dataclasses import fields, replace
from importlib import resources
from pathlib import Path

import pytest

from pedalsetter.analysis.errors import HouseStyleError
from pedalsetter.engrave.house_style import (
    HouseStyle,
    house_style_names,
    load_house_style,
    read_house_style,
    style_as_toml,
)
from pedalsetter.engrave.style_options import OPTIONS, Option


def written(folder: Path, text: str) -> Path:
    """A style file with this text."""
    path = folder / "ours.toml"
    path.write_text(text, "utf-8")
    return path


def test_the_default_style_is_whole() -> None:
    """If nothing is said: A4, marks above the staff, changed pedals ringed."""
    style = load_house_style()
    assert (style.name, style.paper_size) == ("final-part", "a4")
    assert (style.letter_place, style.diagram_place) == ("above", "above")
    assert style.ring_changed is True
    assert "final-part" in house_style_names()


def test_every_style_that_comes_with_the_program_can_be_read() -> None:
    """No style is shipped that says something impossible."""
    for name in house_style_names():
        assert load_house_style(name).name == name


def test_a_style_says_only_what_it_wants_otherwise(tmp_path: Path) -> None:
    """What a style leaves out is as in the default."""
    style = read_house_style(
        written(tmp_path, '[paper]\nsize = "letter"\nstaff_size_points = 20\n')
    )
    default = load_house_style()
    assert style.paper_size == "letter"
    assert style.staff_size_points == 20.0
    assert style.name == "ours"
    unlike = {
        field.name
        for field in fields(HouseStyle)
        if getattr(style, field.name) != getattr(default, field.name)
    }
    assert unlike == {"name", "description", "paper_size", "staff_size_points"}


def test_a_style_may_be_given_by_its_path(tmp_path: Path) -> None:
    """A name that ends in .toml is a file of the user's."""
    path = written(tmp_path, "[diagrams]\nring_changed = false\n")
    assert load_house_style(str(path)).ring_changed is False


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "[letters]\nbig = 3\n",
            "ours.toml: there is no option 'letters.big'. The options of letters are place, size, "
            "stand.",
        ),
        (
            "[pedals]\n",
            "ours.toml: there is no table 'pedals'. The tables are paper, marks, letters, "
            "notes, diagrams, page, titles, fonts, and before them may stand name and description.",
        ),
        (
            "marks = 3\n",
            "ours.toml: there is no table 'marks'. The tables are paper, marks, letters, "
            "notes, diagrams, page, titles, fonts, and before them may stand name and description.",
        ),
        (
            "[paper]\nstaff_size_points = 40\n",
            "ours.toml: paper.staff_size_points must be a number from 12 to 26, not 40",
        ),
        (
            "[paper]\nstaff_size_points = nan\n",
            "ours.toml: paper.staff_size_points must be a number from 12 to 26, not nan",
        ),
        (
            '[paper]\nsize = "a7"\n',
            "ours.toml: paper.size must be a4, a3, b4, letter, legal or tabloid, not 'a7'",
        ),
        (
            '[marks]\nlanguage = "Dutch"\n',
            "ours.toml: marks.language must be English, German, French, Italian or Spanish, "
            "not 'Dutch'",
        ),
        (
            "[marks]\nlanguage = 1\n",
            "ours.toml: marks.language must be English, German, French, Italian or Spanish, not 1",
        ),
        (
            '[diagrams]\nring_changed = "yes"\n',
            "ours.toml: diagrams.ring_changed must be true or false, not 'yes'",
        ),
        (
            "[paper]\nstaff_size_points = true\n",
            "ours.toml: paper.staff_size_points must be a number from 12 to 26, not true",
        ),
        (
            "[diagrams]\nafter_rest_bars = 2.5\n",
            "ours.toml: diagrams.after_rest_bars must be a whole number from 0 to 99, not 2.5",
        ),
        (
            "[diagrams]\nafter_changes = [3]\n",
            "ours.toml: diagrams.after_changes must be a whole number from 0 to 99, not a list",
        ),
        (
            "[letters.stand]\nearly = true\n",
            "ours.toml: letters.stand must be planned, at-need, beat-before or barline-before, "
            "not a table",
        ),
        (
            "[page]\nbar_numbers = 1979-05-27\n",
            "ours.toml: page.bar_numbers must be system, every or none, not 1979-05-27",
        ),
        ("name = 3\n", "ours.toml: name must be a text in quotes"),
    ],
)
def test_a_slip_is_told_with_file_and_option(tmp_path: Path, text: str, message: str) -> None:
    """A mistake in a style is never silently ignored; one line names it."""
    with pytest.raises(HouseStyleError) as caught:
        read_house_style(written(tmp_path, text))
    assert str(caught.value) == message


@pytest.mark.parametrize("option", OPTIONS, ids=lambda option: option.name)
def test_every_option_tells_what_may_stand_there(option: Option, tmp_path: Path) -> None:
    """A value of no kind gives one line with the option and all that it may be."""
    path = written(tmp_path, f"[{option.table}]\n{option.key} = [[]]\n")
    with pytest.raises(HouseStyleError) as caught:
        read_house_style(path)
    assert str(caught.value) == f"ours.toml: {option.name} must be {option.values}, not a list"


def test_options_and_fields_are_the_same() -> None:
    """What a style holds can be said in its file, each thing once, and nothing else."""
    named = [field.name for field in fields(HouseStyle)]
    assert named == ["name", "description", *(option.field for option in OPTIONS)]
    assert len({(option.table, option.key) for option in OPTIONS}) == len(OPTIONS)


@pytest.mark.parametrize("name", house_style_names())
def test_a_printed_style_read_again_is_the_same(name: str, tmp_path: Path) -> None:
    """A user can begin a file of their own from any style; every option is in it, explained."""
    style = load_house_style(name)
    text = style_as_toml(style)
    path = tmp_path / f"{name}.toml"
    path.write_text(text, "utf-8")
    assert read_house_style(path) == style
    for option in OPTIONS:
        assert f"# {option.says}\n{option.key} = " in text


def test_the_default_is_as_it_is_printed() -> None:
    """The file of the default style is the very text that ``styles final-part`` prints."""
    file = resources.files("pedalsetter.templates").joinpath("final-part.toml")
    assert file.read_text("utf-8") == style_as_toml(load_house_style())


def test_a_printed_style_holds_any_name(tmp_path: Path) -> None:
    """Quotes, backslashes and line breaks in a name come back as they were."""
    style = replace(load_house_style(), name='a "b" \\ c', description="x\ny\x7f")
    path = tmp_path / "odd.toml"
    path.write_text(style_as_toml(style), "utf-8")
    assert read_house_style(path) == style


def test_a_file_that_is_no_toml_is_told(tmp_path: Path) -> None:
    """Broken TOML gives one line with the place, as the reader of TOML names it."""
    with pytest.raises(HouseStyleError, match=r"^ours\.toml: the house style is no TOML: .*line 1"):
        read_house_style(written(tmp_path, "[paper\n"))


def test_a_style_that_does_not_exist_is_told(tmp_path: Path) -> None:
    """An unknown name lists the known ones; a missing file is named."""
    with pytest.raises(HouseStyleError) as unknown:
        load_house_style("gilded")
    names = ", ".join(house_style_names())
    assert str(unknown.value) == (
        f"there is no house style 'gilded'. Choose from {names}, or give a file ending in .toml."
    )
    with pytest.raises(HouseStyleError) as missing:
        load_house_style(str(tmp_path / "none.toml"))
    assert str(missing.value) == (
        "none.toml: the house style cannot be read: No such file or directory"
    )
