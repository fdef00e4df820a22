"""Decisions on the command line: found beside the score, written, explained, refused."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from pedalsetter.analysis.errors import DecisionsError
from pedalsetter.engrave import command_line
from pedalsetter.engrave.commands.page_options import respell_values

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def run(*arguments: str | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(command_line.app, [str(argument) for argument in arguments])


@pytest.fixture
def score(tmp_path: Path) -> Path:
    """A score in a folder of its own."""
    return Path(shutil.copy(EXAMPLES / "evening-water.musicxml", tmp_path))


def document(*arguments: str | Path) -> dict[str, object]:
    """The plan as JSON."""
    result = run("plan", *arguments, "--json", "--no-mends")
    assert result.exit_code == 0, result.output
    found: dict[str, object] = json.loads(result.stdout)
    return found


def test_pin_writes_the_plan_beside_the_score_and_it_is_found_there(score: Path) -> None:
    """The next plan takes it, is the same, and says that all of it holds."""
    before = document(score)
    assert before["decisions"] == []
    result = run("plan", score, "--pin")
    file = score.with_name("evening-water.pedals.toml")

    assert (result.exit_code, result.stdout) == (0, f"Written: {file}\n")
    after = document(score)
    where = ("bar", "beat", "text")
    one, other = (
        [[change[key] for key in where] for change in plan["changes"]]  # type: ignore[attr-defined]
        for plan in (before, after)
    )
    assert one == other
    decisions = after["decisions"]
    assert isinstance(decisions, list)
    assert len(decisions) == 1 + len(one) + len(before["respelled"])  # type: ignore[arg-type]
    assert all(entry["held"] and entry["why_not"] == "" for entry in decisions)
    assert "Decisions (evening-water.pedals.toml): " in run("plan", score, "--no-mends").stdout
    assert document(score, "--no-decisions")["decisions"] == []


def test_pin_never_overwrites_unless_it_is_told_to(score: Path, tmp_path: Path) -> None:
    """The musician's own file is left alone."""
    own = score.with_name("evening-water.pedals.toml")
    own.write_text('respell = "never"\n', encoding="utf-8")

    result = run("plan", score, "--pin")
    assert result.exit_code == 2
    assert result.stderr == (
        f"pedalsetter: {own}: the file is there already. "
        "Give --force to replace it, or another name with -o.\n"
    )
    assert own.read_text(encoding="utf-8") == 'respell = "never"\n'
    elsewhere = tmp_path / "today.toml"
    assert run("plan", score, "--pin", "-o", elsewhere, "--quiet").stdout == ""
    assert "[[change]]" in elsewhere.read_text(encoding="utf-8")
    assert run("plan", score, "--pin", "--force").exit_code == 0
    assert "[[change]]" in own.read_text(encoding="utf-8")


def test_what_cannot_hold_is_in_the_plan_and_fails_a_strict_run(score: Path) -> None:
    """With its reason, in words and in the document."""
    decisions = score.with_name("mine.toml")
    decisions.write_text('change = [{ at = "99:1", pedal = "F♯" }]', encoding="utf-8")

    entry = document(score, "--decisions", decisions)["decisions"]
    assert entry == [
        {
            "decision": "change F♯ in bar 99, beat 1",
            "held": False,
            "why_not": "there is no bar 99. Its bars go from 0 to 54",
        }
    ]
    result = run("plan", score, "--decisions", decisions, "--strict")
    assert result.exit_code == 1
    told = " ".join(result.stdout.split())
    assert "The decision 'change F♯ in bar 99, beat 1' cannot hold: there is no bar 99." in told
    assert "Decisions (mine.toml): 0 hold, 1 cannot hold." in told


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (
            ("--respell", "often"),
            "there is no way to respell that is called 'often'. Choose never,",
        ),
        (
            ("--allow", "both"),
            "there is nothing to allow that is called 'both'. Choose crossing or two-pedals.",
        ),
        (("--decisions", "gone.toml"), "gone.toml: there is no such file"),
    ],
)
@pytest.mark.parametrize("command", ["plan", "check", "mark"])
def test_wrong_use_is_one_line(
    command: str, arguments: tuple[str, str], line: str, score: Path
) -> None:
    """The three commands that plan take the same options and tell the same mistakes."""
    result = run(command, score, *arguments)

    assert result.exit_code == 2
    assert result.stderr.startswith(f"pedalsetter: {line}")
    assert result.stderr.count("\n") == 1


def test_options_that_exclude_each_other(score: Path) -> None:
    """Decisions from a file and none at all; two kinds of output at once."""
    for arguments in (
        ("--decisions", "x.toml", "--no-decisions"),
        ("--pin", "--json"),
        ("--force",),
    ):
        assert run("plan", score, *arguments).exit_code == 2


def test_a_broken_file_beside_the_score_is_told(score: Path) -> None:
    """It is not passed over in silence."""
    own = score.with_name("evening-water.pedals.toml")
    own.write_text("[[change]]\npedal = 3\n", encoding="utf-8")
    result = run("plan", score)

    assert result.exit_code == 2
    assert result.stderr.startswith("pedalsetter: evening-water.pedals.toml: [[change]], key 'pe")


def test_why_explains_a_bar(score: Path) -> None:
    """Need, freedom, foot and choice of each change; an unknown bar is told."""
    result = run("plan", score, "--why", "15")

    assert result.exit_code == 0
    assert "C♮ (from C♯), left foot, in bar 14, beat 3½" in result.stdout
    assert result.stdout.count("  needed ") == result.stdout.count("  elsewhere ") == 3
    missing = run("plan", score, "--why", "99")
    assert missing.exit_code == 2
    assert "there is no bar 99" in missing.stderr


def test_respell_on_the_command_line_goes_before_the_file(tmp_path: Path) -> None:
    """A quick look at another policy needs no edit."""
    study = Path(shutil.copy(EXAMPLES / "chromatic-study.musicxml", tmp_path))
    own = study.with_name("chromatic-study.pedals.toml")
    own.write_text('respell = "never"\n', encoding="utf-8")
    counts = [
        len(document(study, *option)["respelled"])  # type: ignore[arg-type]
        for option in ((), ("--respell", "when-needed"), ("--respell", "freely"))
    ]

    assert counts[0] == 0 < counts[1] < counts[2]
    assert "respelling never." in run("plan", study, "--no-mends").stdout


def test_what_the_feet_may_do_is_an_option(tmp_path: Path) -> None:
    """``--allow`` is told with the decisions, and each change tells what the foot does with it."""
    study = Path(shutil.copy(EXAMPLES / "chromatic-study.musicxml", tmp_path))
    never = ("--respell", "never", "--no-mends")
    strict, free = (document(study, *never, *option) for option in ((), ("--allow", "two-pedals")))
    assert {change["together"] for change in strict["changes"]} == {None}  # type: ignore[attr-defined]
    pairs = [change for change in free["changes"] if change["together"]]  # type: ignore[attr-defined]
    assert pairs
    assert not any(change["crossed"] for change in pairs)
    assert free["cost"]["total"] < strict["cost"]["total"]  # type: ignore[index]
    told = run("plan", study, *never, "--allow", "two-pedals").stdout
    assert "respelling never, two pedals at once allowed." in told
    assert f"{pairs[0]['foot']}, with {pairs[0]['together']}" in told
    why = run("plan", study, *never, "--allow", "two-pedals", "--why", pairs[0]["bar"]).stdout
    assert f"{pairs[0]['foot']} foot, with {pairs[0]['together']}, in bar" in why


def test_a_decision_for_a_bar_that_is_not_there_has_no_place(score: Path, tmp_path: Path) -> None:
    """It is told as one of the decisions, and not as something in the first bar."""
    file = tmp_path / "mine.toml"
    file.write_text('[[change]]\nat = "200:1"\npedal = "F#"\n', encoding="utf-8")
    printed = run("plan", score, "--decisions", file, "--no-mends").stdout
    (finding,) = (
        each
        for each in document(score, "--decisions", file)["findings"]  # type: ignore[attr-defined]
        if each["code"] == "decision"
    )

    assert printed.splitlines()[1] == (
        "Playable. 20 changes, none hurried. 1 decision cannot hold."
    )
    assert "the decisions: The decision 'change F♯ in bar 200, beat 1' cannot hold" in printed
    assert "bar" not in finding


@pytest.mark.parametrize(
    ("given", "message"),
    [
        (
            "sometimes",
            "there is no way to respell that is called 'sometimes'. Choose never, when-needed, "
            "freely, named, rewritten, as-written.",
        ),
        ("never,freely", "--respell says both never and freely. Choose one of never, "),
        ("named,rewritten", "--respell says both named and rewritten. Choose one of named, "),
    ],
)
def test_respell_says_one_thing_of_the_plan_and_one_of_the_page(given: str, message: str) -> None:
    """Two words of one kind, or one of none, are one line."""
    with pytest.raises(DecisionsError) as caught:
        respell_values(given)
    assert str(caught.value).startswith(message)


def test_respell_takes_either_or_both() -> None:
    """What is not said stays with the decisions, or with the house style."""
    assert respell_values(None) == (None, None)
    assert respell_values("freely") == ("freely", None)
    assert respell_values("rewritten") == (None, "rewritten")
    assert respell_values("as-written, never") == ("never", "as-written")
