"""No command replaces a file of the user's, or one that was edited, unless it is asked to."""

from __future__ import annotations

from pathlib import Path

import pytest
from batch_runs import catalogue_of, journal_lines, kitchen_in
from typer.testing import CliRunner, Result

from pedalsetter.engrave.command_line import app
from pedalsetter.engrave.output.own_results import is_untouched

SCORE = Path(__file__).resolve().parents[2] / "examples" / "three-times-round.mxl"


def run(*arguments: str | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def test_nothing_is_read_where_a_file_is_in_the_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every command that writes refuses in one line, and before it sees that this is no score."""
    score = tmp_path / "sonata.mxl"
    score.write_bytes(b"no score")
    own = tmp_path / "sonata.pdf"
    own.write_bytes(b"%PDF-1.4 the user's own")
    monkeypatch.chdir(tmp_path)

    for command in (
        ("mark", score),
        ("mark", score, "--split"),
        ("mark", score, "--reading-score"),
        ("chart", score, "-o", "chart.svg"),
        ("practice", score, "-o", "sonata.pdf"),
        ("diagram", "bsn|ssnb", "-o", "sonata.pdf"),
    ):
        names = {"--split": "sonata-harp-1.ly", "--reading-score": "sonata-reading-2.png"}
        name = "chart-2.svg" if command[0] == "chart" else names.get(str(command[-1]), own.name)
        (tmp_path / name).write_bytes(own.read_bytes())
        result = run(*command)

        assert (result.exit_code, result.stdout) == (2, ""), result.output
        assert result.stderr == (
            f"pedalsetter: {name} is there already and was not made by Pedalsetter. "
            "Choose another place with -o, or give --force to replace it.\n"
        )
        assert (tmp_path / name).read_bytes() == own.read_bytes()
        if name != own.name:
            (tmp_path / name).unlink()


@pytest.mark.engraving
def test_an_edited_source_outlives_a_second_run(tmp_path: Path) -> None:
    """What the user has changed in the source stays until it is given up; the rest is renewed."""
    source = tmp_path / "three-times-round.ly"
    assert run("mark", SCORE, "-o", tmp_path).exit_code == 0
    assert all(is_untouched(path.name, path.read_bytes()) for path in tmp_path.iterdir())
    source.write_text(source.read_text("utf-8").replace("Three Times", "Four Times"), "utf-8")

    refused = run("mark", SCORE, "-o", tmp_path)
    edited = "Four Times" in source.read_text("utf-8")
    forced = run("mark", SCORE, "-o", tmp_path, "--force")

    assert (refused.exit_code, edited, forced.exit_code) == (2, True, 0)
    assert "three-times-round.ly was edited since it was made" in refused.stderr
    assert "Four Times" not in source.read_text("utf-8")


@pytest.mark.engraving
def test_a_catalogue_keeps_what_was_edited_in_it(tmp_path: Path) -> None:
    """A changed score is not done again over an edited source, nor the table over a stranger's."""
    kitchen = kitchen_in(tmp_path / "kitchen", tmp_path / "kept", 0)
    scores = catalogue_of(tmp_path / "in", {"x.xml": "Once"})
    out = tmp_path / "out"
    out.mkdir()
    (out / "summary.csv").write_text("my own table")
    before = kitchen.run(scores, "-o", out, "--no-png")
    (out / "summary.csv").unlink()
    kitchen.run(scores, "-o", out, "--no-png")
    source = out / "x.xml" / "x.ly"
    source.write_text("edited")
    catalogue_of(tmp_path / "in", {"x.xml": "Twice"})
    kept = kitchen.run(scores, "-o", out, "--no-png", "--resume")
    told = journal_lines(out)[-1]["what"]

    assert before.stderr == (
        f"pedalsetter: {out}: summary.csv is there already, and not as Pedalsetter wrote it. "
        "Move it, or give --force to replace it.\n"
    )
    assert (kept.exit_code, source.read_text()) == (2, "edited")
    assert told == (
        "x.xml: x.ly in x.xml is not as Pedalsetter wrote the results there. "
        "Move what you want to keep, or give --force to replace it."
    )
    forced = kitchen.run(scores, "-o", out, "--no-png", "--resume", "--force")
    assert forced.exit_code == 0
    assert "Twice" in source.read_text()
    (out / "summary.csv").write_text("my notes on it")
    assert kitchen.run(scores, "-o", out, "--no-png", "--resume").exit_code == 2
