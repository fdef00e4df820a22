"""The user's own defaults, found above the score; scores that are piped in."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from pedalsetter.engrave.command_line import app

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def run(*arguments: str | Path, piped: bytes | None = None) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [str(argument) for argument in arguments], input=piped)


@pytest.fixture
def score(tmp_path: Path) -> Path:
    """A score two folders below that of the options."""
    folder = tmp_path / "orchestra" / "harp"
    folder.mkdir(parents=True)
    return Path(shutil.copy(EXAMPLES / "evening-water.musicxml", folder))


def test_defaults_are_found_above_the_score_and_give_way_to_what_is_said(
    score: Path, tmp_path: Path
) -> None:
    """A style of a folder is relative to the file; a command's own table goes before the rest."""
    (tmp_path / "pedalsetter.toml").write_text(
        'house-style = "ours.toml"\nrespell = "freely"\n[practice]\ndpi = 60\n', "utf-8"
    )
    (tmp_path / "ours.toml").write_text('[marks]\nlanguage = "Klingon"\n', "utf-8")
    styled = run("practice", score, "-o", tmp_path / "p.png")
    said = run("practice", score, "-o", tmp_path / "p.png", "--house-style", "nothing")

    assert (styled.exit_code, "ours.toml" in styled.stderr) == (2, True), styled.output
    assert "'nothing'" in said.stderr
    assert "respelling freely" in run("plan", score, "--no-mends").stdout
    assert "respelling never" in run("plan", score, "--no-mends", "--respell", "never").stdout


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('house-stile = "edition"', "there is no option 'house-stile' to be given a default. "),
        ("[marc]\ndpi = 3", "there is no command 'marc' to be given a default. "),
        ("dpi = ", "the options cannot be read: "),
        ("time-limit = 0", "time-limit: "),
    ],
)
def test_defaults_that_make_no_sense_are_one_line(text: str, told: str, score: Path) -> None:
    """It names the file; a slip is answered with what was likely meant."""
    file = score.with_name("pedalsetter.toml")
    file.write_text(text, "utf-8")
    ran = run("plan", score)

    assert (ran.exit_code, ran.stdout, ran.stderr.count("\n")) == (2, "", 1)
    assert ran.stderr.startswith(f"pedalsetter: {file}: {told}")


@pytest.mark.parametrize("name", ["evening-water.musicxml", "three-times-round.mxl"])
def test_a_score_can_be_piped_in(name: str) -> None:
    """The plan is that of the file, whatever its kind; decisions can be piped out."""
    content = (EXAMPLES / name).read_bytes()
    piped = json.loads(run("plan", "-", "--json", "--no-mends", piped=content).stdout)
    read = json.loads(run("plan", EXAMPLES / name, "--json", "--no-mends").stdout)
    pinned = run("plan", "-", "--pin", "-o", "-", piped=content)

    assert [each["text"] for each in piped["changes"]] == [each["text"] for each in read["changes"]]
    assert pinned.exit_code == 0
    assert "[[change]]" in pinned.stdout
    assert run("plan", "-", piped=b"").stderr == "pedalsetter: piped: the file is empty\n"


@pytest.mark.parametrize(
    ("command", "form", "begins"),
    [
        ("chart", "svg", b"<?xml"),
        ("chart", "pdf", b"%PDF"),
        pytest.param("diagram", "png", b"\x89PNG", marks=pytest.mark.engraving),
    ],
)
def test_a_picture_can_be_piped_out(command: str, form: str, begins: bytes) -> None:
    """The bytes and nothing else; without a form it is asked for, and a score may be piped in."""
    content = (EXAMPLES / "three-times-round.mxl").read_bytes()
    what = "bsn|ssnb" if command == "diagram" else "-"
    printed = run(command, what, "-o", "-", "--as", form, piped=content)

    assert printed.exit_code == 0, printed.output
    assert printed.stdout_bytes.startswith(begins)
    asked = run(command, what, "-o", "-", piped=content)
    assert (asked.exit_code, "--as pdf" in asked.output) == (2, True)


@pytest.mark.engraving
def test_one_result_of_mark_can_be_piped_out() -> None:
    """The pages, or what else is asked for; of several files of a kind none is chosen."""
    content = (EXAMPLES / "three-times-round.mxl").read_bytes()
    pages = run("mark", "-", "-o", "-", piped=content)
    copy = run("mark", "-", "-o", "-", "--as", "mxl", "--no-pdf", "--write-back", piped=content)
    plan = run("mark", "-", "-o", "-", "--as", "json", "--no-pdf", "--write-back", piped=content)
    none = run("mark", "-", "-o", "-", "--as", "mei", "--no-pdf", "--write-back", piped=content)
    split = run("mark", "-", "-o", "-", "--split", piped=content)
    shape = run("glissando", "C7b9", "-o", "-", "--as", "svg")

    assert pages.stdout_bytes.startswith(b"%PDF")
    assert copy.stdout_bytes.startswith(b"PK")
    assert json.loads(plan.stdout)["changes"]
    assert none.stderr == (
        "pedalsetter: piped: no result ends in .mei. There are --as json, --as mxl; or have all "
        "written with -o FOLDER.\n"
    )
    assert (none.exit_code, none.stdout, split.exit_code) == (2, "", 2)
    assert shape.stdout_bytes.startswith(b"<?xml")
