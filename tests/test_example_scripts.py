"""The scripts in ``examples/`` run as they stand, and say what is true of their scores."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from example_scores import CHROMATIC_STUDY, EVENING_WATER
from lxml import etree

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"


def run(script: str, *arguments: str, folder: Path) -> str:
    """What a script prints, run in a folder of its own."""
    done = subprocess.run(
        [sys.executable, str(EXAMPLES / script), *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONUTF8": "1"},
        check=True,
    )
    assert done.stderr == ""
    return done.stdout


def test_the_three_scripts_are_there() -> None:
    """Each has a test below."""
    assert sorted(path.name for path in EXAMPLES.glob("*.py")) == [
        "draw_a_chart.py",
        "plan_a_part.py",
        "what_if_respelled.py",
    ]


def test_plan_a_part(tmp_path: Path) -> None:
    """*Evening Water* opens in E major, and stands in A♭ major at its middle, bar 27."""
    printed = run("plan_a_part.py", folder=tmp_path).splitlines()

    assert printed[0] == "Evening Water: 55 bars, 20 changes"
    assert printed[1] == "opening: D♯ C♯ B♮ | E♮ F♯ G♯ A♮"
    assert "bar 27, beat 1: D♭ C♮ B♭ | E♭ F♮ G♮ A♭" in printed
    assert printed[2] == "bar 13, beat 1: D♮, left foot"


def test_what_if_a_bar_is_respelled(tmp_path: Path) -> None:
    """Bar 14 is playable because C♯ goes to the D♭ string: spelled so, nothing changes."""
    printed = run(
        "what_if_respelled.py", str(CHROMATIC_STUDY.path), "14", folder=tmp_path
    ).splitlines()

    first = re.fullmatch(
        r"bar 14 with flats: (\d+) changes become (\d+), "
        r"(\d+) findings that cannot be played become (\d+)",
        printed[0],
    )
    assert first
    assert first[1] == first[2]
    assert first[3] == first[4]


@pytest.mark.engraving
def test_draw_a_chart(tmp_path: Path) -> None:
    """It names the files that it writes, and each is a drawing."""
    printed = run("draw_a_chart.py", str(EVENING_WATER.path), str(tmp_path), folder=tmp_path)

    assert printed.split() == ["chart.svg", "opening.svg"]
    for name in printed.split():
        root = etree.fromstring((tmp_path / name).read_bytes())
        assert etree.QName(root).localname == "svg"
