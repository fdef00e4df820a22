"""Help is grouped, words can be completed, and a slip is answered with what was likely meant."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pypdfium2
import pytest
from typer.testing import CliRunner, Result

from pedalsetter.engrave.command_line import app

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NOCTURNE = EXAMPLES / "orchestral-nocturne.musicxml"


def run(*arguments: str | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


@pytest.mark.parametrize("command", ["mark", "plan", "chart", "batch"])
def test_help_groups_options_by_what_they_are_about(command: str) -> None:
    """-h is --help, and every option stands under a heading that says what it is about."""
    text = run(command, "-h").stdout

    assert text == run(command, "--help").stdout
    headings = [line for line in text.splitlines() if line.endswith(":") and line[0] != " "]
    assert "What is written or printed:" in headings
    assert "Other options:" not in headings
    for option, heading in (("--part ", "What to read:"), ("--quiet", "Limits and messages:")):
        before = text[: text.index(option)].splitlines()
        assert [line for line in before if line in headings][-1] == heading


def test_options_are_completed() -> None:
    """The shell is told the options of a command that begin so."""
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys; sys.argv[0] = 'pedalsetter'\n"
            "from pedalsetter.engrave.command_line import main; main()",
        ],
        env={
            **os.environ,
            "_PEDALSETTER_COMPLETE": "complete_bash",
            "_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1",
            "COMP_WORDS": "pedalsetter mark --house",
            "COMP_CWORD": "2",
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.split() == ["--house-style"]


def test_what_was_likely_meant_is_named(tmp_path: Path) -> None:
    """A file, a part and a style that are nearly right are answered with the right one."""
    (tmp_path / "sonata.mxl").write_bytes(b"")
    for words, meant in (
        (("plan", tmp_path / "sonatta.mxl"), "sonata.mxl"),
        (("plan", NOCTURNE, "--part", "Flutte"), "Flute"),
        (("mark", NOCTURNE, "-o", tmp_path, "--house-style", "Editon"), "edition"),
    ):
        told = run(*words)
        assert (told.exit_code, told.stderr.count("\n")) == (2, 1)
        assert f" Did you mean '{meant}'?" in told.stderr


@pytest.mark.parametrize("suffix", ["mscz", "sib", "musx", "dorico", "pdf"])
def test_a_program_s_own_format_is_answered_with_how_to_export(suffix: str, tmp_path: Path) -> None:
    """Not that it is no score, but what to do; a score in XML is read whatever its name."""
    file = tmp_path / f"sonata.{suffix}"
    file.write_bytes(b"PK\x03\x04 or whatever")
    told = run("plan", file)

    assert (told.exit_code, told.stderr.count("\n")) == (2, 1)
    assert "xport" in told.stderr
    assert "MusicXML" in told.stderr
    file.write_bytes((EXAMPLES / "evening-water.musicxml").read_bytes())
    assert run("setting", file, "--at", "1").exit_code == 0


def test_a_chart_as_pdf_has_the_pages_of_its_pictures(tmp_path: Path) -> None:
    """On A4 (ISO 216: 210 by 297 mm), the same bytes each time."""
    for name in ("chart.pdf", "again.pdf", "chart.png"):
        assert run("chart", NOCTURNE, "-o", tmp_path / name, "-q").exit_code == 0
    document = pypdfium2.PdfDocument(tmp_path / "chart.pdf")

    assert len(document) == len(list(tmp_path.glob("chart*.png")))
    assert [round(each / 72 * 25.4) for each in document[0].get_size()] == [210, 297]
    assert (tmp_path / "chart.pdf").read_bytes() == (tmp_path / "again.pdf").read_bytes()
