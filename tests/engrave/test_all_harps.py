"""Every harp of a score at once, each with files and decisions of its own."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from score_snippets import bars, full_score, note
from typer.testing import CliRunner, Result

from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.command_line import app


def run(*words: str | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [str(word) for word in words])


@pytest.fixture
def score(tmp_path: Path) -> Path:
    """A flute, a harp on one part, and a harp on two parts of one staff each."""
    file = tmp_path / "in" / "symphony.musicxml"
    file.parent.mkdir()
    file.write_bytes(
        full_score(
            [
                ("P1", "Flute", bars(note("C5", 4), note("D5", 4))),
                ("P2", "Harp 1", bars(note("C5", 4), note("C#5", 4))),
                ("P3", "Harp 2 RH", bars(note("F5", 4), note("G#5", 4))),
                ("P4", "Harp 2 LH", bars(note("F3", 4), note("G#3", 4))),
            ]
        )
    )
    return file


@pytest.mark.engraving
def test_each_harp_has_its_own_files_and_decisions(score: Path, tmp_path: Path) -> None:
    """Two harps, the second one of two halves; what one has decided is nothing to the other."""
    score.with_name("symphony-harp-1.pedals.toml").write_text(
        '[[opening]]\npedals = "A♭"\n', "utf-8"
    )
    done = run("mark", score, "-o", tmp_path / "out", "--no-png", "--part", "all")

    assert done.exit_code == 0, done.output
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        f"symphony-harp-{number}.{end}" for number in (1, 2) for end in ("ly", "pdf", "plan.json")
    ]
    first, second = (
        json.loads((tmp_path / "out" / f"symphony-harp-{n}.plan.json").read_text("utf-8"))
        for n in (1, 2)
    )
    assert [change["text"] for change in first["changes"]] == ["C♯"]
    assert "G♯" in second["opening"][0]["setting"]
    assert (len(first["decisions"]), len(second["decisions"])) == (1, 0)
    assert "A♭" in first["opening"][0]["setting"]
    assert "\nHarp 1\n" in done.stdout


def test_a_copy_alone_needs_no_pages_of_any_harp(score: Path, tmp_path: Path) -> None:
    """--no-pdf goes with all harps too; --split and the like do not."""
    done = run("mark", score, "-o", tmp_path, "--part", "all", "--no-pdf", "--write-back")
    refused = run("mark", score, "-o", tmp_path, "--part", "all", "--split")

    assert done.exit_code == 0, done.output
    assert sorted(path.name for path in tmp_path.glob("*.musicxml")) == [
        "symphony-harp-1-pedals.musicxml",
        "symphony-harp-2-pedals.musicxml",
    ]
    assert refused.exit_code == 2


def test_two_harps_of_one_name_are_numbered(tmp_path: Path) -> None:
    """Both parts are called Harp in the score; on their pages they are Harp 1 and Harp 2."""
    file = tmp_path / "duo.musicxml"
    file.write_bytes(
        full_score(
            [
                ("P1", "Harp", bars(note("C5", 4), note("D5", 4))),
                ("P2", "Flute", bars(note("C5", 4), note("D5", 4))),
                ("P3", "Harp", bars(note("F5", 4), note("G5", 4))),
            ]
        )
    )
    names = [read_part(file, number).part_name for number in ("1", "2", "3")]
    assert names == ["Harp 1", "Flute", "Harp 2"]
