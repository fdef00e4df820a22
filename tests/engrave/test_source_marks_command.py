"""``mark`` on a score with pedal marks of its own: what is printed, written back and reported."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path

import pytest
from browser import dom_of, screenshot_of
from lxml import html
from source_marked import as_sources_own, with_slips
from typer.testing import CliRunner, Result
from written_back import without_inserted

from pedalsetter.engrave import command_line

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SOLO = EXAMPLES / "evening-water.musicxml"


def run(*arguments: str | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(command_line.app, [str(argument) for argument in arguments])


def without_last_line(path: Path) -> bytes:
    """A written copy without the comment at its end, which tells that it is ours."""
    head, found, _ = path.read_bytes().rpartition(b"<!-- Made by Pedalsetter, sha256:")
    assert found
    return head


@dataclass(frozen=True)
class Edition:
    """A score that lacks some letters, and what the command made of it."""

    score: Path
    folder: Path
    result: Result

    def text(self, name: str) -> str:
        """What a file of the results holds."""
        return (self.folder / name).read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def score(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The solo with right marks of its own, of which three stacks of letters are lost."""
    folder = tmp_path_factory.mktemp("source")
    done = run("mark", SOLO, "-o", folder, "--no-png", "--write", "musicxml", "--quiet")
    assert done.exit_code == 0, done.output
    path = folder / "marked.musicxml"
    written = (folder / "evening-water-pedals.musicxml").read_bytes()
    path.write_bytes(with_slips(as_sources_own(written)))
    return path


@pytest.fixture(scope="module")
def completed(score: Path, tmp_path_factory: pytest.TempPathFactory) -> Edition:
    """With ``--source-marks complete`` and everything that can be asked for."""
    folder = tmp_path_factory.mktemp("complete")
    result = run(
        "mark",
        score,
        "-o",
        folder,
        "--source-marks",
        "complete",
        "--critical-report",
        "--write-back",
        "--dpi",
        "100",
    )
    return Edition(score, folder, result)


@pytest.mark.engraving
def test_complete_prints_the_sources_marks_and_brackets_the_rest(completed: Edition) -> None:
    """All letters are there again: those of the source plain, the others in brackets.

    The summary says how many; no mark touches anything, or the exit code would be 3.
    """
    assert completed.result.exit_code == 0, completed.result.output
    assert "4 additions in brackets" in completed.result.stdout
    source = completed.text("marked.ly")
    rows = source[source.index("rowOfLetters = {") :]
    letters = re.findall(r'\\pedalLetters? "c\d+" (".*?")(?= )', rows)
    assert sum("[" in each for each in letters) == 3
    assert sum("[" not in each for each in letters) > 8
    plan = json.loads(completed.text("marked.plan.json"))
    assert [change["text"] for change in plan["changes"] if change["editorial"]] == [
        "C♮",
        "B♭",
        "C♭",
        "F♭",
    ]
    assert {diagram["origin"] for diagram in plan["diagrams"]} == {"source"}
    # What another hand has marked is not held against the best plan.
    assert plan["cost"]["bound"] is None
    assert "better" not in completed.result.stdout


@pytest.mark.engraving
def test_complete_writes_back_the_additions_alone(completed: Edition) -> None:
    """Without what was put in, the copy is the score; what was put in is in brackets."""
    copy = without_last_line(completed.folder / "marked-pedals.musicxml")
    assert without_inserted(copy) == completed.score.read_bytes()
    assert re.findall(r"\[[A-G][♭♮♯]\]", copy.decode()) == ["[C♮]", "[B♭]", "[F♭]", "[C♭]"]
    assert run("check", completed.folder / "marked-pedals.musicxml").exit_code == 0
    assert run("check", completed.score).exit_code == 1


@pytest.mark.engraving
def test_the_report_lists_every_addition(completed: Edition) -> None:
    """Bar, beat, source, edition and reason, in Markdown and in one page of HTML."""
    markdown = completed.text("marked.critical.md")
    rows = [line.split(" | ") for line in markdown.splitlines() if line.startswith("| ")][2:]
    assert [(row[1], row[3], row[4]) for row in rows] == [
        ("15", "–", "\\[C♮\\] in bar 14, beat 3½"),
        ("25", "–", "\\[B♭\\] in bar 24, beat 3"),
        ("35", "–", "\\[C♭\\]"),
        ("36", "–", "\\[F♭\\] in bar 35, beat 2"),
    ]
    page = html.fromstring(completed.text("marked.critical.html"))
    assert len(page.xpath("//tbody/tr")) == len(rows)
    pictures = page.xpath("//td[@class='system']/img/@src")
    assert len(pictures) == 3
    assert all(each.startswith("data:image/png;base64,") for each in pictures)


@pytest.mark.engraving
@pytest.mark.browser
def test_a_browser_shows_the_report_of_the_command(completed: Edition, tmp_path: Path) -> None:
    """Headless Chromium lays the page out: text on the left, engraved systems on the right."""
    page = completed.folder / "marked.critical.html"
    shown = html.fromstring(dom_of(page, tmp_path))
    assert len(shown.xpath("//tbody/tr")) == 4
    grey = screenshot_of(page, tmp_path, 1400, 1000)
    assert grey.size == (1400, 1000)

    def ink(left: int, top: int, right: int, bottom: int) -> int:
        return sum(grey.crop((left, top, right, bottom)).histogram()[:128])

    assert ink(0, 20, 700, 250) > 1000
    # Staff lines and beams: far more ink than any column of text.
    assert ink(760, 300, 1400, 900) > 3 * ink(0, 300, 740, 900) / 2


@pytest.mark.engraving
def test_keep_adds_nothing_and_tells(score: Path, tmp_path: Path) -> None:
    """The copy is the score, byte for byte; what is wrong is told, and strictly an error."""
    done = run(
        "mark",
        score,
        "-o",
        tmp_path,
        "--source-marks",
        "keep",
        "--no-png",
        "--write-back",
        "--strict",
    )
    assert done.exit_code == 1
    assert "stand, and nothing is added" in done.stdout
    assert "4 faults" in done.stdout
    assert without_last_line(tmp_path / "marked-pedals.musicxml") == score.read_bytes()
    assert '"[' not in (tmp_path / "marked.ly").read_text("utf-8").partition("rowOfDiagrams =")[2]


@pytest.mark.engraving
def test_replace_gives_what_the_bare_score_gives(score: Path, tmp_path: Path) -> None:
    """The default: neither page nor copy shows that the score had marks; the summary says so.

    A second run on the copy gives the same bytes, and takes our marks for none of the source's.
    """
    options = ("--no-png", "--write-back")
    bare = run("mark", SOLO, "-o", tmp_path / "bare", *options)
    done = run("mark", score, "-o", tmp_path, *options, "--critical-report")
    assert (bare.exit_code, done.exit_code) == (0, 0)
    assert "are replaced by the plan's; they had 4 faults" in done.stdout
    copy = (tmp_path / "marked-pedals.musicxml").read_bytes()
    assert copy == (tmp_path / "bare" / "evening-water-pedals.musicxml").read_bytes()
    assert (tmp_path / "marked.ly").read_bytes() == (
        tmp_path / "bare" / "evening-water.ly"
    ).read_bytes()
    assert (
        len(re.findall(r"^\| \d", (tmp_path / "marked.critical.md").read_text("utf-8"), re.M)) == 4
    )
    again = run("mark", tmp_path / "marked-pedals.musicxml", "-o", tmp_path, *options)
    assert "own marks" not in again.stdout
    assert (tmp_path / "marked-pedals-pedals.musicxml").read_bytes() == copy


@pytest.mark.engraving
def test_what_is_added_speaks_the_language_of_the_source(score: Path, tmp_path: Path) -> None:
    """Beside letters in French stand letters in French: on the page, in the copy, in the report."""
    names = {"D": "Ré", "C": "Do", "B": "Si", "E": "Mi", "F": "Fa", "G": "Sol", "A": "La"}
    french = tmp_path / "french.musicxml"
    french.write_text(
        re.sub(
            r"(<words[^>]*>)([A-G][♭♮♯](?:\s[A-G][♭♮♯])*)(?=</words>)",
            lambda found: found[1] + re.sub("[A-G]", lambda one: names[one[0]], found[2]),
            score.read_text("utf-8"),
        ),
        "utf-8",
    )
    options = ("--source-marks", "complete", "--critical-report", "--write-back", "--no-png")
    done = run("mark", french, "-o", tmp_path, *options)

    assert done.exit_code == 0, done.output
    copy, page, report = (
        (tmp_path / name).read_text("utf-8")
        for name in ("french-pedals.musicxml", "french.ly", "french.critical.md")
    )
    added = ["[Do♮]", "[Si♭]", "[Fa♭]", "[Do♭]"]
    assert re.findall(r"\[\w+[♭♮♯]\]", copy) == added
    rows = page[page.index("rowOfLetters = {") :]
    assert not re.search(r'"\[?[A-G][♭♮♯]', rows)
    assert '"La♮"' in rows
    assert [
        each for each in added if each.replace("[", "\\[").replace("]", "\\]") in report
    ] == added


def test_another_format_is_refused_before_anything_is_made(tmp_path: Path) -> None:
    """Marks go into the score's own format; one line says so, and no file is left."""
    done = run("mark", SOLO, "-o", tmp_path / "out", "--write", "mei")
    assert done.exit_code == 2
    assert done.stderr == (
        "pedalsetter: evening-water.musicxml: marks are written into the score's own format, "
        "musicxml, and never into mei. Ask for musicxml, or export the score as mei and give "
        "that.\n"
    )
    assert not (tmp_path / "out").exists()
    assert run("mark", SOLO, "--write", "pdf").exit_code == 2
    assert run("mark", SOLO, "--source-marks", "some").exit_code == 2
