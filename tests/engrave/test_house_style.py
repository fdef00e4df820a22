"""House styles: what a style may say, and how a slip is told."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest

from pedalsetter.analysis.errors import HouseStyleError
from pedalsetter.engrave.house_style import (
    HouseStyle,
    house_style_names,
    load_house_style,
    read_house_style,
)


def written(folder: Path, text: str) -> Path:
    """A style file with this text."""
    path = folder / "ours.toml"
    path.write_text(text, "utf-8")
    return path


def test_the_default_style_is_whole() -> None:
    """If nothing is said: A4, marks above the staff, changed pedals ringed."""
    style = load_house_style()
    assert (style.name, style.paper_size, style.place) == ("final-part", "a4", "above")
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
    assert unlike == {"name", "paper_size", "staff_size_points"}


def test_a_style_may_be_given_by_its_path(tmp_path: Path) -> None:
    """A name that ends in .toml is a file of the user's."""
    path = written(tmp_path, "[marks]\nring_changed = false\n")
    assert load_house_style(str(path)).ring_changed is False


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "[marks]\nsize = 3\n",
            "ours.toml: there is no option 'marks.size'. The options of marks are place, "
            "ring_changed, diagram_size, letter_size, row_distance_spaces, staff_distance_spaces.",
        ),
        (
            "[pedals]\n",
            "ours.toml: there is no table 'pedals'. The tables are marks, page, paper.",
        ),
        (
            "[paper]\nstaff_size_points = 40\n",
            "ours.toml: paper.staff_size_points must lie from 12 to 26, not 40",
        ),
        (
            '[paper]\nsize = "a7"\n',
            "ours.toml: paper.size cannot be 'a7'. Choose from a4, a3, b4, letter, legal, tabloid.",
        ),
        (
            '[marks]\nring_changed = "yes"\n',
            "ours.toml: marks.ring_changed must be true or false, not 'yes'",
        ),
        (
            "[paper]\nstaff_size_points = true\n",
            "ours.toml: paper.staff_size_points must be a number, not True",
        ),
    ],
)
def test_a_slip_is_told_with_file_and_option(tmp_path: Path, text: str, message: str) -> None:
    """A mistake in a style is never silently ignored; one line names it."""
    with pytest.raises(HouseStyleError) as caught:
        read_house_style(written(tmp_path, text))
    assert str(caught.value) == message


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
