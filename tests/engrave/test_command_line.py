"""The command: what it writes, what it prints, and how it ends."""

from __future__ import annotations

import json
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image
from typer.testing import CliRunner, Result

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.analysis.planning.search import COMPILED
from pedalsetter.engrave import command_line
from pedalsetter.engrave.output.pages import engraver

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples"
SOLO = EXAMPLES / "evening-water.musicxml"
STUDY = EXAMPLES / "chromatic-study.musicxml"


def run(*arguments: str | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(command_line.app, [str(argument) for argument in arguments])


@pytest.mark.engraving
def test_mark_writes_page_picture_source_and_plan(tmp_path: Path) -> None:
    """One command gives the PDF, a PNG a page, the source and the plan, named after the score."""
    result = run("mark", SOLO, "-o", tmp_path / "out")

    assert result.exit_code == 0, result.output
    names = sorted(path.name for path in (tmp_path / "out").iterdir())
    pages = [name for name in names if name.endswith(".png")]
    assert pages == [f"evening-water-{n}.png" for n in range(1, len(pages) + 1)]
    assert len(pages) >= 2
    assert set(names) - set(pages) == {
        "evening-water.ly",
        "evening-water.pdf",
        "evening-water.plan.json",
    }
    assert (tmp_path / "out" / "evening-water.pdf").read_bytes().startswith(b"%PDF")
    assert "55 bars" in result.stdout
    assert result.stdout.splitlines()[1] == "Playable. 20 changes, none hurried."
    assert "overlaps" not in result.stdout
    assert "the harpist decides" in result.stdout


@pytest.mark.engraving
def test_same_score_same_bytes(tmp_path: Path) -> None:
    """Two runs give the same bytes in every file."""
    for folder in ("one", "two"):
        assert run("mark", SOLO, "-o", tmp_path / folder, "--quiet").exit_code == 0

    one = {path.name: path.read_bytes() for path in (tmp_path / "one").iterdir()}
    two = {path.name: path.read_bytes() for path in (tmp_path / "two").iterdir()}
    assert one == two


@pytest.mark.engraving
def test_quiet_prints_nothing_and_no_png_draws_none(tmp_path: Path) -> None:
    """In a script only the files matter."""
    result = run("mark", SOLO, "-o", tmp_path, "--quiet", "--no-png")

    assert (result.exit_code, result.output) == (0, "")
    assert not list(tmp_path.glob("*.png"))


@pytest.mark.engraving
def test_the_plan_file_is_what_plan_prints(tmp_path: Path) -> None:
    """``plan --json`` and ``STEM.plan.json`` are one document."""
    run("mark", STUDY, "-o", tmp_path, "--no-png")
    printed = run("plan", STUDY, "--json")

    assert printed.stdout == (tmp_path / "chromatic-study.plan.json").read_text(encoding="utf-8")


def test_the_plan_document_says_all_that_the_guide_promises() -> None:
    """Every key that the guide lists is there, and nothing that it does not list."""
    document = json.loads(run("plan", SOLO, "--json").stdout)
    table = (ROOT / "examples" / "guide" / "plan-document.md").read_text(encoding="utf-8")
    listed = {
        key
        for row in re.findall(r"^\| (`.*?) \|", table, re.MULTILINE)
        for key in re.findall(r"`(\w+)`", row)
    }

    assert set(document) == listed
    assert (document["format"], document["version"]) == ("pedalsetter plan", 1)
    assert document["opening"][0]["setting"] == "D♯ C♯ B♮ | E♮ F♯ G♯ A♮"
    assert {"bar", "beat", "bar_index", "offset_quarters"} <= set(document["changes"][0])


def test_plan_prints_every_change_and_every_finding() -> None:
    """The table on a terminal has a row for each change of the document, findings below."""
    document = json.loads(run("plan", STUDY, "--json").stdout)
    printed = run("plan", STUDY).stdout

    rows = re.findall(
        r"^ *\S+ +\S+ +[A-G][♭♮♯] +[A-G][♭♮♯] +(?:left|right) ", printed, re.MULTILINE
    )
    assert len(rows) == len(document["changes"])
    graver = [f for f in document["findings"] if f["severity"] != "remark"]
    assert graver
    unwrapped = " ".join(printed.split())
    for finding in graver:
        # What belongs to the run of bars 9 and 10, or is not the gravest of its bar, is counted.
        if finding["bar"] in ("5", "13", "20", "22", "24") and finding["severity"][0] == "c":
            assert " ".join(finding["what"].split()) in unwrapped


@pytest.mark.engraving
def test_flags_in_the_pictures_are_the_numbers_of_the_summary(tmp_path: Path) -> None:
    """Every graver finding has a number; the pages carry flags in the margin, and only then."""
    plain = run("mark", STUDY, "-o", tmp_path / "plain")
    flagged = run("mark", STUDY, "-o", tmp_path / "flagged", "--flags")

    plan = json.loads((tmp_path / "plain" / "chromatic-study.plan.json").read_text("utf-8"))
    graver = sum(finding["severity"] != "remark" for finding in plan["findings"])
    numbers = re.findall(r"\[(\d+)\]", flagged.stdout)
    assert graver > 5
    assert sorted(int(number) for number in numbers) == list(range(1, graver + 1))
    assert not re.search(r"\[\d+\]", plain.stdout)
    margin = {
        folder: Image.open(tmp_path / folder / "chromatic-study-1.png").crop((1165, 0, 1240, 1754))
        for folder in ("plain", "flagged")
    }
    assert margin["plain"].convert("L").getextrema() == (255, 255)
    assert margin["flagged"].convert("L").getextrema()[0] < 128


@pytest.mark.engraving
def test_preview_shows_the_systems_with_marks_alone(tmp_path: Path) -> None:
    """One picture for each system that holds a mark, none of whole pages."""
    result = run("mark", SOLO, "-o", tmp_path, "--preview", "--quiet")

    assert result.exit_code == 0, result.output
    pictures = sorted(path.name for path in tmp_path.glob("*.png"))
    assert pictures
    assert pictures == sorted(f"evening-water-system-{n}.png" for n in range(1, len(pictures) + 1))
    for name in pictures:
        width, height = Image.open(tmp_path / name).size
        assert width > 2 * height


@pytest.mark.engraving
def test_contact_sheet_and_stylesheet_beside_the_source(tmp_path: Path) -> None:
    """All pages on one small picture; the source includes ``pedals.ily`` and compiles with it."""
    result = run(
        "mark", SOLO, "-o", tmp_path, "--no-png", "--contact-sheet", "--no-standalone", "--quiet"
    )

    assert result.exit_code == 0, result.output
    assert {path.name for path in tmp_path.iterdir()} == {
        "evening-water.ly",
        "evening-water.pdf",
        "evening-water.plan.json",
        "evening-water-pages.png",
        "pedals.ily",
    }
    assert '\\include "pedals.ily"' in (tmp_path / "evening-water.ly").read_text("utf-8")
    subprocess.run(
        [engraver.find_lilypond(), "-s", "-o", "again", "evening-water.ly"],
        cwd=tmp_path,
        check=True,
        timeout=120,
    )
    assert (tmp_path / "again.pdf").exists()


@pytest.mark.engraving
def test_breaks_of_the_score_are_kept_where_wanted(tmp_path: Path) -> None:
    """With ``--keep-breaks`` a system begins where the score begins one."""
    score = tmp_path / "broken.musicxml"
    opened = re.sub(
        r'(<measure number="3"[^>]*>)',
        r'\1<print new-system="yes"/>',
        SOLO.read_text("utf-8"),
        count=1,
    )
    score.write_text(opened, encoding="utf-8")
    for options in ((), ("--keep-breaks",)):
        done = run("mark", score, "-o", tmp_path, "--no-png", "--quiet", *options)
        assert done.exit_code == 0, done.output
        source = (tmp_path / "broken.ly").read_text("utf-8")
        assert (re.search(r"^ *\\break .*\| % 3$", source, re.MULTILINE) is not None) is bool(
            options
        )


def test_strict_tells_of_findings_by_its_exit_code() -> None:
    """1 where something cannot be played and the user asked to be told, 0 where nothing is."""
    assert run("plan", STUDY).exit_code == 0
    assert run("plan", STUDY, "--strict").exit_code == 1
    assert run("plan", SOLO, "--strict").exit_code == 0


def test_check_holds_the_marks_of_a_score_against_its_notes(tmp_path: Path) -> None:
    """A part marked by us has nothing wrong; with one letter falsified, check says so and where."""
    run("mark", SOLO, "-o", tmp_path, "--no-png", "--write-back", "--quiet")
    marked = tmp_path / "evening-water-pedals.musicxml"
    clean = run("check", marked)
    text = marked.read_text(encoding="utf-8")
    falsified = tmp_path / "false.musicxml"
    falsified.write_text(text.replace(">D♮<", ">D♭<", 1), encoding="utf-8")
    told = run("check", falsified, "--json")

    assert clean.exit_code == 0, clean.output
    assert ">D♮<" in text
    assert told.exit_code == 1
    assert any(entry["bar"] == "13" for entry in json.loads(told.stdout)["entries"])
    assert run("check", falsified, "--csv").stdout.count("\n") > 1


def test_marks_go_into_no_format_that_cannot_hold_them(tmp_path: Path) -> None:
    """A tune in ABC is engraved, but not written back; one line says so, and no file is left."""
    tune = tmp_path / "tune.abc"
    tune.write_text("X:1\nT:Tune\nM:4/4\nL:1/4\nK:C\nCDEF|GABc|\n", encoding="utf-8")
    result = run("mark", tune, "-o", tmp_path / "out", "--write-back")

    assert result.exit_code == 2
    assert result.stderr == (
        "pedalsetter: tune.abc: marks cannot be written into a file of the format abc. "
        "Export the score as MusicXML or MEI and give that.\n"
    )
    assert not (tmp_path / "out").exists()


def test_a_missing_file_is_one_line_and_exit_2(tmp_path: Path) -> None:
    """A user's mistake gets one line on stderr, no traceback, nothing on stdout, no folder."""
    result = run("mark", tmp_path / "missing.musicxml", "-o", tmp_path / "out")

    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr == f"pedalsetter: {tmp_path / 'missing.musicxml'}: there is no such file\n"
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("command", ["mark", "plan", "check", "setting --at 1", "chart -o a.svg"])
def test_a_folder_is_no_score(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The folder in which one stands is told to be one; nothing is written into it."""
    monkeypatch.chdir(tmp_path)
    name, *options = command.split()
    result = run(name, ".", *options)

    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == (
        "pedalsetter: .: this is a folder, not a score. "
        "Name a score in it, or mark all of them with batch.\n"
    )
    assert not list(tmp_path.iterdir())


def test_an_unknown_part_lists_the_parts() -> None:
    """Asking for a part that is not there shows which there are."""
    result = run("plan", EXAMPLES / "orchestral-nocturne.musicxml", "--part", "celesta")

    assert result.exit_code == 2
    assert result.stderr.count("\n") == 1
    assert "Harp" in result.stderr
    assert "--part" in result.stderr


def test_a_missing_engraver_is_exit_3(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Without LilyPond the run ends with 3 and says how to get it, and leaves no file."""

    def missing(*_: object) -> str:
        raise EngravingError("LilyPond was not found", mend="Install it.")

    monkeypatch.setattr(engraver, "find_lilypond", missing)
    result = run("mark", SOLO, "-o", tmp_path / "out")

    assert result.exit_code == 3
    assert result.stderr == "pedalsetter: LilyPond was not found. Install it.\n"
    assert not (tmp_path / "out").exists()


def test_wrong_use_is_exit_2() -> None:
    """An option that does not exist, or a resolution that makes no sense."""
    assert run("mark", SOLO, "--loud").exit_code == 2
    assert run("mark", SOLO, "--dpi", "3").exit_code == 2


def test_help_tells_every_command_in_one_whole_line() -> None:
    """Each file of a command stands in --help, in a line that is not cut, and can be called."""
    listed = run("--help").stdout.split("Commands:\n")[1].split("\n\n")[0].splitlines()
    names = [line.split()[0] for line in listed]
    folder = ROOT / "engrave" / "commands"

    assert {name for name in names if not (folder / f"{name}.py").is_file()} == set()
    assert "mark" in names
    assert "batch" in names
    assert all(line.endswith(".") and not line.endswith("...") for line in listed)
    for name in names:
        assert run(name, "--help").stdout.startswith(f"Usage: pedalsetter {name} ")


def test_a_command_waits_for_no_other() -> None:
    """The file of a command is imported when it is called: --help and plan know nothing of mark."""
    script = (
        "import sys; sys.argv = ['pedalsetter', *sys.argv[1:]];"
        "from pedalsetter.engrave.command_line import main\n"
        "try: main()\n"
        "except SystemExit as end: assert end.code == 0\n"
        "start = 'pedalsetter.engrave.commands.'\n"
        "print(sorted(m.removeprefix(start) for m in sys.modules if m.startswith(start)))"
    )
    for words, loaded in (
        (["--help"], "['shell']"),
        (["plan", "--help"], "['budget', 'plan', 'shell']"),
    ):
        done = subprocess.run(
            [sys.executable, "-c", script, *words], capture_output=True, text=True, check=True
        )
        assert done.stdout.splitlines()[-1] == loaded


def test_help_and_version_wait_for_no_library() -> None:
    """Asking for help imports neither music21 nor abjad nor lxml."""
    script = (
        "import sys; sys.argv = ['pedalsetter', '--version'];"
        "from pedalsetter.engrave.command_line import main\n"
        "try: main()\n"
        "except SystemExit as end: assert end.code == 0\n"
        "print([m for m in ('music21', 'abjad', 'lxml', 'rich', 'PIL') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )

    pattern = r"pedalsetter \d+\.\d+\.\d+ \(search (compiled|interpreted)\)\n\[\]\n"
    told = re.fullmatch(pattern, done.stdout)
    assert told
    assert (told[1] == "compiled") == COMPILED


@pytest.mark.engraving
def test_the_example_in_the_readme_runs(tmp_path: Path) -> None:
    """The README's first command names an example that exists and gives pages."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    block = readme.split("<!-- example command -->")[1].split("```")[1]
    command = shlex.split(block.removeprefix("sh").strip().split("&&")[-1])

    assert command[:2] == [".venv/bin/pedalsetter", "mark"]
    result = run("mark", ROOT / command[2], command[3], tmp_path / command[4])
    assert result.exit_code == 0, result.output
    assert list((tmp_path / command[4]).glob("*.pdf"))
