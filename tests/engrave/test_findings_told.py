"""Findings as commands tell them: with mends that were tried, and what two harps could share."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from example_scores import CHROMATIC_STUDY
from score_snippets import bars, full_score, note, score
from typer.testing import CliRunner, Result

from pedalsetter.engrave.command_line import app


def run(*words: str) -> Result:
    """What a command prints; it must end well."""
    done = CliRunner().invoke(app, list(words))
    assert done.exit_code == 0, done.output
    return done


@pytest.fixture(scope="module")
def crowded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four bars, in the second of them F♮ and F♯ at once between E and G."""
    chord = note("F4", 4) + "".join(note(name, 4, chord=True) for name in ("E4", "G4", "F#5"))
    plain = note("C5", 4)
    file = tmp_path_factory.mktemp("scores") / "crowded.musicxml"
    file.write_bytes(score(bars(plain, chord, plain, plain)))
    return file


def test_plan_tells_the_mends_below_their_finding(crowded: Path) -> None:
    """Each mend is one line with what it changes."""
    lines = run("plan", str(crowded)).stdout.splitlines()

    place = next(i for i, line in enumerate(lines) if line.startswith("cannot be played, bar 2"))
    assert lines[place + 1] == (
        "    mend: Leave out F♯5 in bar 2, beat 1 (cannot be played: 1 → 0; cost 100.0 → 0.0)."
    )
    assert [line.startswith("    mend: ") for line in lines[place + 1 : place + 5]] == [
        True,
        True,
        True,
        False,
    ]


def test_mends_can_be_left_out(crowded: Path) -> None:
    """--no-mends tells the findings alone."""
    told = run("plan", str(crowded), "--no-mends").stdout

    assert "cannot be played, bar 2" in told
    assert "mend" not in told


def test_check_tells_what_cannot_be_played(crowded: Path) -> None:
    """A score without marks is told of its unplayable bar as well."""
    told = run("check", str(crowded)).stdout
    document = json.loads(run("check", str(crowded), "--json").stdout)

    assert "The source has no pedal marks." in told
    assert "    mend: Leave out F♯5 in bar 2, beat 1" in told
    (finding,) = document["findings"]
    assert finding["code"] == "two-positions"
    assert finding["mends"][0]["edits"][0]["instead"] is None


def test_the_plan_document_has_every_mend_with_its_edits() -> None:
    """What to write instead of which note, and the figures before and after."""
    document = json.loads(run("plan", str(CHROMATIC_STUDY.path), "--json").stdout)

    (low,) = [one for one in document["findings"] if one["code"] == "no-pedal"]
    assert low["mend"] == low["mends"][0]["what"]
    octave = next(one for one in low["mends"] if one["kind"] == "write it in another octave")
    (edit,) = octave["edits"]
    assert (edit["name"], edit["instead"], edit["bar"]) == ("C♯1", "C♯2", "24")
    assert octave["unplayable_after"] == octave["unplayable_before"] - 1
    assert octave["cost_after"] < octave["cost_before"]


def two_harps(second: str) -> bytes:
    """A score with two harps: three notes for the first, one note for the second."""
    chord = note("E4", 4) + note("F4", 4, chord=True) + note("G4", 4, chord=True)
    return full_score([("P1", "Harp 1", bars(chord)), ("P2", "Harp 2", bars(note(second, 4)))])


@pytest.mark.parametrize(("second", "shared"), [("C5", True), ("F#5", False)])
def test_plan_tells_where_one_harp_could_play_both(
    tmp_path: Path, second: str, shared: bool
) -> None:
    """C with E, F and G is one hand's chord; F♯ with them wants a second harp (Berlioz)."""
    file = tmp_path / "two.musicxml"
    file.write_bytes(two_harps(second))

    told = run("plan", str(file), "--part", "1", "--beside", "2").stdout

    assert ("One harp could play both harps' parts from beginning to end." in told) is shared
