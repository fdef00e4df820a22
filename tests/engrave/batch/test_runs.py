"""Whole runs over catalogues: nothing is lost, done twice or left in halves."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest
from batch_runs import (
    Kitchen,
    catalogue_of,
    folder_states,
    journal_lines,
    kitchen_in,
    results,
)
from score_snippets import note

pytestmark = pytest.mark.engraving

NAMES = ("a/one.xml", "a/two.xml", "b/one.xml", "b/one.musicxml", "c/three.xml", "four.xml")
"""Scores of a catalogue in which one name stands in several folders and with several suffixes."""


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where engraved pages are kept for all tests of this file."""
    return tmp_path_factory.mktemp("kept")


@pytest.fixture
def kitchen(tmp_path: Path, kept: Path) -> Kitchen:
    """A place to run batches in."""
    return kitchen_in(tmp_path / "kitchen", kept)


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six scores that take the engraver a moment each."""
    folder = tmp_path_factory.mktemp("catalogue")
    return catalogue_of(folder, {name: f"Takes a while, {name}" for name in NAMES})


@pytest.fixture(scope="module")
def uninterrupted(
    tmp_path_factory: pytest.TempPathFactory, kept: Path, catalogue: Path
) -> dict[str, bytes]:
    """What a run with one job leaves, undisturbed."""
    out = tmp_path_factory.mktemp("uninterrupted") / "out"
    ran = kitchen_in(out.parent / "kitchen", kept, 0).run(catalogue, "-o", out, "--jobs", 1)

    assert (ran.exit_code, ran.stderr) == (0, "")
    return results(out)


def whole(out: Path) -> bool:
    """Whether every folder of results holds exactly the files that its record names."""
    for path in out.rglob("record.json"):
        if ".unfinished" in path.parts:
            continue
        named = json.loads(path.read_bytes())["files"]
        there = {
            file.name: hashlib.sha256(file.read_bytes()).hexdigest()
            for file in path.parent.iterdir()
            if file != path
        }
        if named != there:
            return False
    return True


def test_every_score_has_its_folder(uninterrupted: dict[str, bytes]) -> None:
    """One name in two folders, or with two suffixes, is two scores; each keeps its own results."""
    pages = {path for path in uninterrupted if path.endswith(".pdf")}

    assert pages == {f"{name}/{Path(name).stem}.pdf" for name in NAMES}
    assert len({uninterrupted[path] for path in pages}) == len(NAMES)


@pytest.mark.parametrize("jobs", [2, 3])
def test_the_number_of_jobs_changes_no_byte(
    jobs: int, kitchen: Kitchen, tmp_path: Path, catalogue: Path, uninterrupted: dict[str, bytes]
) -> None:
    """Results and summary are the same whatever worked side by side."""
    ran = kitchen.run(catalogue, "-o", tmp_path / "out", "--jobs", jobs)

    assert ran.exit_code == 0, ran.stderr
    assert results(tmp_path / "out") == uninterrupted


def test_killed_at_several_moments_and_gone_on_with(
    kitchen: Kitchen, tmp_path: Path, catalogue: Path, uninterrupted: dict[str, bytes]
) -> None:
    """Signal 9 leaves whole folders and whole lines; going on does the rest, and only the rest."""
    out = tmp_path / "out"
    for lines in (0, 1, 3, 4):
        before = folder_states(out)
        kitchen.killed_after(lines, out, catalogue, "-o", out, "--jobs", 2, "--resume")

        assert whole(out)
        assert folder_states(out).items() >= before.items(), "a finished score was made again"
    before = folder_states(out)
    assert 4 <= len(before) < len(NAMES), "the last kill came too late to show anything"
    ran = kitchen.run(catalogue, "-o", out, "--jobs", 2, "--resume")

    assert ran.exit_code == 0, ran.stderr
    assert results(out) == uninterrupted
    assert folder_states(out).items() >= before.items()
    assert sorted(line["score"] for line in journal_lines(out)) == sorted(NAMES)
    assert not (out / ".unfinished").exists()
    assert kitchen.still_running() == []


def test_a_torn_line_and_a_missing_one_cost_no_work(
    kitchen: Kitchen, tmp_path: Path, catalogue: Path, uninterrupted: dict[str, bytes]
) -> None:
    """Killed between a score's rename and its line, or within the line: the folder tells itself."""
    out = tmp_path / "out"
    kitchen.run(catalogue, "-o", out)
    before, engraved = folder_states(out), kitchen.engravings()
    journal = out / "journal.jsonl"
    lines = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(b"".join(lines[:-2]) + lines[-2][:40])
    (out / "summary.csv").unlink()
    ran = kitchen.run(catalogue, "-o", out, "--resume")

    assert ran.exit_code == 0, ran.stderr
    assert (folder_states(out), kitchen.engravings()) == (before, engraved)
    assert results(out) == uninterrupted
    assert sorted(line["score"] for line in journal_lines(out)) == sorted(NAMES)


def test_a_changed_score_is_done_again_and_the_others_not(kitchen: Kitchen, tmp_path: Path) -> None:
    """Going on looks at what the files hold, not at when they were written."""
    scores = catalogue_of(tmp_path / "in", {"x.xml": "Before", "y.xml": "Same"})
    out = tmp_path / "out"
    kitchen.run(scores, "-o", out)
    before = folder_states(out)
    catalogue_of(scores, {"x.xml": "After", "y.xml": "Same"})
    (scores / "y.pedals.toml").write_text("")
    kitchen.run(scores, "-o", out, "--resume")
    after = folder_states(out)

    assert before["x.xml"] != after["x.xml"]
    assert b"After" in (out / "x.xml" / "x.ly").read_bytes()
    assert before["y.xml"] != after["y.xml"], "its decisions have come"
    assert whole(out)


def test_one_bad_score_never_stops_the_others(kitchen: Kitchen, tmp_path: Path) -> None:
    """A crash, a kill, a score without end and one that is no score each cost themselves alone."""
    scores = catalogue_of(
        tmp_path / "in",
        {
            "crash.xml": "Ends by SIGSEGV",
            "endless.xml": "Never ends",
            "good.xml": "Good",
            "killed.xml": "Ends by SIGKILL",
            "last.xml": "Last",
        },
    )
    (scores / "broken.xml").write_text("<score-partwise>")
    (scores / "nowhere.xml").symlink_to(tmp_path / "gone.xml")
    out = tmp_path / "out"
    ran = kitchen.run(scores, "-o", out, "--jobs", 2, "--time-limit", 15)

    told = {line["score"]: (line["outcome"], line["exit_code"]) for line in journal_lines(out)}
    assert told == {
        "broken.xml": ("failed", 2),
        "crash.xml": ("lost", 3),
        "endless.xml": ("out of time", 3),
        "good.xml": ("done", 0),
        "killed.xml": ("lost", 3),
        "last.xml": ("done", 0),
        "nowhere.xml": ("failed", 2),
    }
    what = {line["score"]: line["what"] for line in journal_lines(out)}
    assert what["crash.xml"] == "crash.xml: its process was ended by SIGSEGV"
    assert what["killed.xml"] == (
        "killed.xml: its process was ended by SIGKILL (perhaps the machine had no memory left)"
    )
    assert what["endless.xml"] == (
        "endless.xml: it was stopped after 15 seconds. Give more with --time-limit."
    )
    assert what["nowhere.xml"].endswith("there is no such file")
    assert ran.exit_code == 3
    assert "Traceback" not in ran.stdout + ran.stderr
    assert sorted(folder_states(out)) == ["good.xml", "last.xml"]
    assert kitchen.still_running() == [], "an engraver was left behind"

    # What was lost is tried again when the run is gone on with; what was refused is not.
    catalogue_of(scores, {"crash.xml": "Good now", "endless.xml": "Ends now"})
    again = kitchen.run(scores, "-o", out, "--resume")
    later = [line["score"] for line in journal_lines(out)[7:]]
    assert sorted(later) == ["crash.xml", "endless.xml", "killed.xml"]
    assert again.exit_code == 3
    assert sorted(folder_states(out)) == ["crash.xml", "endless.xml", "good.xml", "last.xml"]


def test_an_error_of_the_engraver_names_no_path_of_a_private_folder(
    tmp_path: Path, kept: Path
) -> None:
    """The summary is the same in every run, so the log goes into the journal."""
    kitchen = kitchen_in(tmp_path / "kitchen", kept)
    program = kitchen.folder / "lilypond"
    program.write_text(
        program.read_text().replace(
            'if b"Ends by SIGSEGV"',
            "print('part.ly:3:1: error: no such font'); sys.exit(1)\nif b\"Ends by SIGSEGV\"",
        )
    )
    scores = catalogue_of(tmp_path / "in", {"x.xml": "Fails"})
    ran = kitchen.run(scores, "-o", tmp_path / "out")
    (line,) = journal_lines(tmp_path / "out")

    assert ran.exit_code == 3
    assert (line["outcome"], line["exit_code"]) == ("failed", 3)
    assert line["what"] == "LilyPond failed: no such font (line 3 of its source)"
    assert "error: no such font" in line["detail"]


def test_a_second_run_in_the_same_folder_waits_or_says_so(kitchen: Kitchen, tmp_path: Path) -> None:
    """What lies in the output folder already is never overwritten unasked."""
    scores = catalogue_of(tmp_path / "in", {"x.xml": "Once"})
    out = tmp_path / "out"
    kitchen.run(scores, "-o", out)
    ran = kitchen.run(scores, "-o", out)
    other = kitchen.run(
        *(scores, "-o", out, "--resume", "--dpi", 100, "--flags", "--allow", "crossing"),
    )

    assert (ran.exit_code, other.exit_code) == (2, 2)
    assert ran.stderr == (
        f"pedalsetter: {out} holds the journal of an earlier run. Go on with it by --resume, or "
        "choose another folder with -o.\n"
    )
    assert (
        "made with other options: allow was none, is crossing, dpi was 150, is 100, "
        "flags was no, is yes. " in other.stderr
    )


def test_a_folder_of_somebody_else_is_left_alone(kitchen: Kitchen, tmp_path: Path) -> None:
    """Where a folder of that name holds other things, the score is lost and they are kept."""
    scores = catalogue_of(tmp_path / "in", {"x.xml": "Once"})
    own = tmp_path / "out" / "x.xml" / "letter.txt"
    own.parent.mkdir(parents=True)
    own.write_text("mine")
    ran = kitchen.run(scores, "-o", tmp_path / "out")
    (line,) = journal_lines(tmp_path / "out")

    assert ran.exit_code == 2
    assert line["what"] == (
        "x.xml: the folder x.xml holds something else. Choose another output folder, or clear "
        "this one."
    )
    assert [path.name for path in own.parent.iterdir()] == ["letter.txt"]


def test_options_go_through_to_every_score(kitchen: Kitchen, tmp_path: Path) -> None:
    """What can be wanted of one score can be wanted of a catalogue."""
    scores = catalogue_of(tmp_path / "in", {"x.xml": "Wanted"})
    ran = kitchen.run(
        *(scores, "-o", tmp_path / "out", "--no-png", "--write-back", "--no-standalone"),
        *("--house-style", "large-print", "--contact-sheet"),
    )

    assert ran.exit_code == 0, ran.stderr
    assert {path.name for path in (tmp_path / "out" / "x.xml").iterdir()} == {
        "pedals.ily",
        "record.json",
        "x-pages.png",
        "x-pedals.musicxml",
        "x.ly",
        "x.pdf",
        "x.plan.json",
    }


def test_strict_counts_findings(kitchen: Kitchen, tmp_path: Path) -> None:
    """``--strict`` ends with 1 where a score has findings; without it that is no failure.

    Seven strings an octave cannot sound eight pitches at once.
    """
    scores = catalogue_of(tmp_path / "in", {"x.xml": "Strict"})
    content = (scores / "x.xml").read_text()
    pitches = ("C4", "C#4", "D4", "D#4", "E4", "F4", "F#4", "G4")
    cluster = "".join(note(name, 4, chord=name != "C4") for name in pitches)
    (scores / "x.xml").write_text(
        content.replace("</measure>", f'</measure><measure number="2">{cluster}</measure>')
    )
    plain = kitchen.run(scores, "-o", tmp_path / "out", "--no-png")
    strict = kitchen.run(scores, "-o", tmp_path / "out", "--resume", "--no-png", "--strict")
    (line,) = journal_lines(tmp_path / "out")

    assert line["findings"] > 0
    assert (plain.exit_code, strict.exit_code) == (0, 1)


def test_all_pages_lie_in_one_folder_and_nothing_is_passed_over_in_silence(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    """--flat gathers pages and copies under names that tell scores apart; --json lists the scores.

    Files that only another program reads are counted, and what cannot be played has a column.
    """
    titles = {"a/x.xml": "One", "a/x.musicxml": "Two", "b/y.xml": "Three"}
    scores = catalogue_of(tmp_path / "in", titles)
    (scores / "b" / "old.sib").write_bytes(b"")
    (scores / "b" / "new.mscz").write_bytes(b"")
    out = tmp_path / "out"
    ran = kitchen.run(scores, "-o", out, "--flat", "--write-back", "--no-png")
    again = kitchen.run(
        *(scores, "-o", out, "--flat", "--write-back", "--no-png", "--resume", "--json")
    )

    assert (ran.exit_code, again.exit_code) == (0, 0), ran.output
    assert {path.name for path in (out / "all").iterdir()} == {
        "a-x.xml.pdf",
        "a-x.xml-pedals.musicxml",
        "a-x.musicxml.pdf",
        "a-x.musicxml-pedals.musicxml",
        "b-y.pdf",
        "b-y-pedals.musicxml",
    }
    assert "Not read: 1 .mscz file. " in ran.stdout
    assert "Not read: 1 .sib file. " in ran.stdout
    assert "cannot be played" in ran.stdout.splitlines()[0]
    assert "cannot be played,risky" in (out / "summary.csv").read_text("utf-8")
    assert [each["score"] for each in json.loads(again.stdout)["scores"]] == sorted(titles)
