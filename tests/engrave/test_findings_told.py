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

    assert lines[1] == "1 place cannot be played as written: bar 2."
    place = lines.index("Cannot be played:") + 1
    assert lines[place].startswith("  bar 2, beat 1: ")
    assert lines[place + 1] == (
        "    suggestion: Write F5 for F♯5 in bar 2, beat 1, as in F4: probably a misprint (one "
        "impossible thing less)."
    )
    assert lines[place + 2] == (
        "    suggestion: Leave out F♯5 in bar 2, beat 1 (one impossible thing less)."
    )
    assert not lines[place + 3].startswith("    ")


def test_mends_can_be_left_out(crowded: Path) -> None:
    """--no-mends tells the findings alone."""
    told = run("plan", str(crowded), "--no-mends").stdout

    assert "  bar 2, beat 1: F♯ cannot sound" in told
    assert "uggestion" not in told


def test_check_tells_what_cannot_be_played(crowded: Path) -> None:
    """A score without marks is told of its unplayable bar as well."""
    told = run("check", str(crowded)).stdout
    document = json.loads(run("check", str(crowded), "--json").stdout)

    assert told.splitlines()[1] == "The score has no pedal marks."
    assert "    suggestion: Leave out F♯5 in bar 2, beat 1" in told
    (finding,) = document["findings"]
    assert finding["code"] == "two-positions"
    assert [one["edits"][0]["instead"] for one in finding["mends"][:2]] == ["F5", None]


def test_mark_tries_mends_as_plan_does(tmp_path: Path) -> None:
    """For a player who needs three seconds a move both tell the same mends, and what they save."""
    chord = note("F4", 4) + "".join(note(name, 4, chord=True) for name in ("E4", "G4", "F#5"))
    file = tmp_path / "slow.musicxml"
    file.write_bytes(score(bars(note("C4", 2) + note("C#4", 2), chord, note("C4", 4))))
    file.with_name("slow.pedals.toml").write_text(
        'respell = "never"\n[times]\ncomfortable = 4\nleast = 3\n'
    )
    planned = json.loads(run("plan", str(file), "--json").stdout)
    run("mark", str(file), "-o", str(tmp_path / "out"), "--no-png")
    marked = json.loads((tmp_path / "out" / "slow.plan.json").read_text(encoding="utf-8"))

    assert planned["findings"] == marked["findings"]
    (thin,) = [
        mend
        for finding in planned["findings"]
        for mend in finding["mends"]
        if mend["what"].startswith("Leave out F♯5")
    ]
    assert thin["cost_before"] - thin["cost_after"] == 100
    # Two moves of one foot within three seconds of what they wait for.
    assert thin["cost_after"] > 20


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


def test_mark_divides_an_impossible_part_between_two_harps(crowded: Path, tmp_path: Path) -> None:
    """Both harps get their pages, and the summary tells what moved and that two suffice."""
    told = run("mark", str(crowded), "--split", "-o", str(tmp_path), "--no-png").stdout

    assert told.startswith("1 of 7 notes goes to the second harp: bar 2.\nTwo harps can play it.\n")
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        f"crowded-harp-{number}.{suffix}"
        for number in (1, 2)
        for suffix in ("ly", "pdf", "plan.json")
    ]
    plans = [
        json.loads((tmp_path / f"crowded-harp-{number}.plan.json").read_text(encoding="utf-8"))
        for number in (1, 2)
    ]
    assert [plan["score"]["part"] for plan in plans] == ["Harp 1", "Harp 2"]
    assert [plan["score"]["notes"] for plan in plans] == [6, 1]
    assert not [
        one for plan in plans for one in plan["findings"] if one["severity"] == "cannot be played"
    ]


def test_what_one_harp_can_play_is_not_divided(tmp_path: Path) -> None:
    """Then the part is engraved as ever, and that is said."""
    file = tmp_path / "easy.musicxml"
    file.write_bytes(score(bars(note("C4", 4))))

    told = run("mark", str(file), "--split", "-o", str(tmp_path / "out"), "--no-png").stdout

    assert "No note goes to a second harp.\nOne harp can play it.\n" in told
    assert (tmp_path / "out" / "easy.pdf").is_file()


def test_options_about_the_one_part_do_not_go_with_two(crowded: Path) -> None:
    """A copy of the score cannot have two harps' marks in one part."""
    done = CliRunner().invoke(app, ["mark", str(crowded), "--split", "--write-back"])

    assert done.exit_code == 2
    assert "--split goes with none of" in done.output


def test_a_misprint_is_said_where_all_can_be_played(tmp_path: Path) -> None:
    """D♭ against D in another octave, amid C and D: a remark alone, and yet it is printed."""
    clash = note("Db4", 1) + note("D6", 1, chord=True)
    around = "".join(note(name, 1) for name in ("D4", "C5", "A4", "C5"))
    file = tmp_path / "slip.musicxml"
    middle = note("D4", 1) + clash + note("D5", 1) + note("F5", 1)
    file.write_bytes(score(bars(around, middle, around)))
    lines = run("plan", str(file)).stdout.splitlines()
    place = lines.index("Probably a misprint:")
    assert lines[1].startswith("Playable.")
    assert lines[place + 1] == "  Write D4 for D♭4 in bar 2, beat 2, as in D6 (fewer changes)."
