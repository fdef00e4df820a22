"""The proof for the harpist: one file, whose decisions plan the part as the harpist wants it."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from browser import Tab, screenshot_of
from lxml import html
from typer.testing import CliRunner

from pedalsetter.engrave.command_line import app

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
pytestmark = pytest.mark.engraving


def run(*words: str | Path) -> str:
    """What a command prints; it must end well."""
    done = CliRunner().invoke(app, [str(word) for word in words])
    assert done.exit_code == 0, done.output
    return done.stdout


def proof_of(score: Path, *options: str | Path) -> Path:
    """The proof of a score, in its own folder."""
    run("mark", score, "-o", score.parent, "--proof", "--no-png", "-q", *options)
    return score.with_name(f"{score.stem}.proof.html")


def data_of(page: Path) -> dict[str, Any]:
    """What the page knows."""
    text = page.read_text("utf-8")
    (found,) = re.findall(r'id="proof-data">(.*?)</script>', text, re.DOTALL)
    data: dict[str, Any] = json.loads(found)
    return data


def places(score: Path, *options: str | Path) -> dict[str, str]:
    """Where each change of the plan stands, by what it is needed for."""
    plan = json.loads(run("plan", score, "--json", "--no-mends", *options))
    return {
        f"{change['text']} for {change['needed']['bar']}": f"{change['bar']}:{change['beat']}"
        for change in plan["changes"]
    }


@pytest.fixture(scope="module")
def score(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A score whose title and parts would be markup, if they were not data."""
    folder = tmp_path_factory.mktemp("proof")
    path = Path(shutil.copy(EXAMPLES / "evening-water.musicxml", folder))
    text = path.read_text("utf-8")
    assert "Evening Water" in text
    evil = "&lt;/script&gt;&lt;b id='evil'&gt;@DATA@"
    path.write_text(text.replace("Evening Water", f"Evening Water{evil}"), "utf-8")
    return path


@pytest.fixture(scope="module")
def page(score: Path) -> Path:
    """Its first proof."""
    return proof_of(score)


def test_a_string_that_is_named_can_be_decided_otherwise(score: Path) -> None:
    """B♭♭ on the A string: each note of the chord offers its strings, and what that would write."""
    (mark, *_) = [one for one in data_of(proof_of(score))["marks"] if one["text"] == "=A♮"]
    assert (mark["changes"], mark["diagram"]) == ([], None)
    assert {note["legend"].split(" in ")[0] for note in mark["notes"]} <= {"B♭♭1", "B♭♭2", "B♭♭4"}
    (note, *_) = mark["notes"]
    assert [option["label"] for option in note["options"]] == ["as planned", "on the A♮ string"]
    assert 'note = "B♭♭' in note["options"][1]["toml"]


def test_the_page_is_one_file_with_a_target_for_every_mark(score: Path, page: Path) -> None:
    """Nothing is fetched; every diagram and stack of letters is a button that says what it is."""
    text = page.read_text("utf-8")
    tree = html.fromstring(text)
    plan = json.loads(score.with_name(f"{score.stem}.plan.json").read_text("utf-8"))
    buttons = tree.xpath("//button[contains(@class, 'mark')]")
    labels = [button.get("aria-label") for button in buttons]

    assert not re.findall(r"""(?:src|href)=["'](?!data:)""", text)
    assert "default-src 'none'" in text
    assert not tree.xpath("//*[@id='evil']")
    assert [label for label in labels if "diagram" in label] == [
        f"bar {one['bar']}, beat {one['beat']}: diagram {one['setting']}"
        for one in plan["diagrams"]
    ]
    told = " ".join(labels)
    shown_by_diagrams = {(one["bar"], one["beat"]) for one in plan["diagrams"]}
    for change in plan["changes"]:
        if (change["bar"], change["beat"]) not in shown_by_diagrams:
            assert f"bar {change['bar']}, beat {change['beat']}: " in told
    assert data_of(page)["since"] is None


def test_every_choice_is_a_decision_that_can_be_read(page: Path) -> None:
    """Each place, note, foot and diagram that is offered is a table of the file of decisions."""
    from pedalsetter.analysis.decisions.file import parse_decisions

    marks = data_of(page)["marks"]
    offered = [
        option["toml"]
        for mark in marks
        for change in mark["changes"]
        for group in (change["places"], change["feet"], *(n["options"] for n in change["notes"]))
        for option in group
        if option["toml"] is not None
    ]
    offered += [one["toml"] for mark in marks for one in mark["diagram"] or () if one["toml"]]

    assert len(offered) > 100
    for toml in offered:
        assert len(parse_decisions(toml).pins) == 1


def test_what_was_decided_and_what_changed_is_shown_in_the_next_proof(tmp_path: Path) -> None:
    """A mark moved by decision bears a sign and is listed; one plan gives one page again."""
    score = Path(shutil.copy(EXAMPLES / "evening-water.musicxml", tmp_path))
    first = data_of(proof_of(score))
    mark = next(one for one in first["marks"] if one["text"] == "D♮")
    moved = mark["changes"][0]["places"][2]
    decisions = score.with_name("evening-water.pedals.toml")
    decisions.write_text(f'respell = "when-needed"\n\n{moved["toml"]}\n', "utf-8")
    second = proof_of(score)
    bytes_then = second.read_bytes()
    data = data_of(second)

    where = moved["told"].removeprefix("D♮ moves to ")
    assert data["since"] == [f"no longer: D♮, {mark['where']}", f"new: D♮, {where}"]
    (now,) = (one for one in data["marks"] if one["text"] == "D♮")
    assert now["decided"]
    assert f'aria-label="{where}: D♮, decided, new since the last proof"' in bytes_then.decode()
    assert data["given"]["top"] == 'respell = "when-needed"\n\n'
    assert moved["toml"] in data["given"]["rest"]
    assert proof_of(score).read_bytes() == bytes_then


def test_a_proof_of_a_catalogue_knows_the_decisions_too(tmp_path: Path) -> None:
    """What was decided before comes back with what is decided now."""
    scores = tmp_path / "in"
    scores.mkdir()
    shutil.copy(EXAMPLES / "three-times-round.mxl", scores)
    (scores / "three-times-round.pedals.toml").write_text('respell = "never"\n', "utf-8")
    run("batch", scores, "-o", tmp_path / "out", "--proof", "--no-png", "-q")
    folder = tmp_path / "out" / "three-times-round.mxl"

    assert data_of(folder / "three-times-round.proof.html")["given"]["top"] == 'respell = "never"\n'


@pytest.mark.browser
def test_a_harpist_moves_strikes_out_and_remarks_and_the_plan_follows(
    score: Path, page: Path, tmp_path: Path
) -> None:
    """In real Chromium: by mouse and by keyboard; what comes back plans the same places."""
    before = places(score)
    mark = '#pages .mark[aria-label^="bar 13, beat 1: D♮"]'
    with Tab(page, tmp_path) as tab:
        tab.click(f"document.querySelector('{mark}')")
        heading = tab.value("document.querySelector('#panel h2').textContent")
        why = tab.value("document.querySelector('#panel dl').textContent")
        # Another place, by the mouse.
        choice = "document.querySelector('#panel fieldset').querySelectorAll('label')[4]"
        tab.click(f"{choice}.querySelector('input')")
        chosen = tab.value(f"{choice}.textContent")
        tab.press("Escape")
        focused = tab.value("document.activeElement.getAttribute('aria-label')")
        # A diagram is struck out, by the keyboard alone.
        diagram = tab.value(
            "(() => { const all = [...document.querySelectorAll('#pages .mark')]"
            ".filter(e => e.getAttribute('aria-label').includes('diagram'));"
            "all[1].focus(); return all[1].getAttribute('aria-label') })()"
        )
        tab.press("Enter")
        assert tab.value("document.activeElement.id") == "panel"
        tab.value(
            "[...document.querySelectorAll('#panel fieldset')].pop().querySelectorAll('input')[1]"
            ".focus()"
        )
        tab.press(" ")
        # And a remark, with what would break a comment.
        tab.value("[...document.querySelectorAll('#panel input[type=text]')].pop().focus()")
        tab.type('too "late" \\ here')
        tab.press("Enter")
        text = tab.value("document.getElementById('text').value")
        count = tab.value("document.getElementById('count').textContent")
        evil = tab.value("document.getElementById('evil') === null")

    returned = tmp_path / "returned.toml"
    returned.write_text(text, "utf-8")
    after = places(score, "--decisions", returned)
    run("mark", score, "-o", tmp_path / "out", "--no-png", "-q", "--decisions", returned)
    plan = json.loads((tmp_path / "out" / "evening-water.plan.json").read_text("utf-8"))

    assert heading == "bar 13, beat 1: D♮"
    assert "in bar 13, beat 2 by D3" in why
    assert focused.startswith("bar 13, beat 1: D♮")
    assert count == "3 decisions."
    assert evil
    assert chosen.startswith(" in bar 13, beat 2 ")
    assert before["D♮ for 13"] == "13:1"
    assert after["D♮ for 13"] == "13:2"
    assert "# remark, " in text
    assert 'too "late" \\ here' in text
    struck = diagram.partition(", beat")[0].removeprefix("bar ")
    assert struck not in {one["bar"] for one in plan["diagrams"]}
    assert all(one["held"] for one in plan["decisions"])


@pytest.mark.browser
def test_what_is_decided_anew_takes_the_place_of_what_was_decided(tmp_path: Path) -> None:
    """The file that comes back has the change once, the new way, and all the rest as it was."""
    score = Path(shutil.copy(EXAMPLES / "evening-water.musicxml", tmp_path))
    decisions = score.with_name("evening-water.pedals.toml")
    decisions.write_text(
        'respell = "when-needed"\n\n# so in the concert\n[[change]]\nat = "13:1½"\n'
        'pedal = "D♮"\nneeded = { at = "13:2" }\n\n[[diagram]]\nat = "17:1"\nwanted = true\n',
        "utf-8",
    )
    page = proof_of(score)
    with Tab(page, tmp_path) as tab:
        tab.click("document.querySelector('#pages .mark[aria-label*=\"D♮, decided\"]')")
        label = "[...document.querySelectorAll('#panel label')]"
        tab.click(f"{label}.find(e => e.textContent.includes('free again'))")
        freed = tab.value("document.getElementById('text').value")
        place = f"{label}.find(e => e.textContent.startsWith('Or any other')).firstElementChild"
        tab.click(place)
        tab.type("13:soon")
        tab.press("Enter")
        invalid = tab.value(f"{place}.getAttribute('aria-invalid')")
        tab.value(f"{place}.value = ''")
        tab.type("13:2")
        tab.press("Enter")
        text = tab.value("document.getElementById('text').value")
    decisions.write_text(text, "utf-8")
    plan = json.loads(run("plan", score, "--json", "--no-mends"))

    assert "[[change]]" not in freed
    assert "wanted = true" in freed
    assert invalid == "true"
    assert text.count("[[change]]") == 1
    assert "wanted = true" in text
    assert text.index('respell = "when-needed"') < text.index("[[change]]")
    assert [one["held"] for one in plan["decisions"]] == [True, True]
    assert "13:2" in places(score)["D♮ for 13"]


@pytest.mark.browser
def test_a_harpist_decides_a_foot_a_setting_and_a_string(
    score: Path, page: Path, tmp_path: Path
) -> None:
    """Each is chosen or typed in Chromium, and the plan that follows honours it."""
    label = "[...document.querySelectorAll('#panel label')]"
    with Tab(page, tmp_path) as tab:

        def choose(mark: str, words: str) -> None:
            tab.click(f"document.querySelector('#pages .mark[aria-label^=\"{mark}\"]')")
            tab.click(f"{label}.find(e => e.textContent.includes('{words}')).firstElementChild")

        choose("bar 24, beat 3: B♭", "the right foot")
        choose("bar 36, beat 3: G♯ C♯", "on the A♭ string")
        choose("bar 35, beat 3: A♮", "Pedals that must stand so here")
        tab.type("B♮")
        tab.press("Enter")
        count = tab.value("document.getElementById('count').textContent")
        text = tab.value("document.getElementById('text').value")

    returned = tmp_path / "returned.toml"
    returned.write_text(text, "utf-8")
    before = json.loads(run("plan", score, "--json", "--no-mends"))
    plan = json.loads(run("plan", score, "--json", "--no-mends", "--decisions", returned))
    (b_flat,) = (one for one in plan["changes"] if one["text"] == "B♭")

    assert count == "3 decisions."
    assert [one["held"] for one in plan["decisions"]] == [True, True, True]
    assert b_flat["foot"] == "right"
    assert "B♮ for 37" in places(score)
    assert not places(score)["B♮ for 37"].startswith("35:")
    assert any(one["text"] == "B♮" and one["bar"] in ("34", "35") for one in plan["changes"])
    assert len(plan["respelled"]) > len(before["respelled"])


@pytest.mark.browser
def test_the_page_serves_a_tablet_and_needs_no_colour(page: Path, tmp_path: Path) -> None:
    """On a narrow screen nothing runs past the edge; there is no colour in it at all."""
    style = page.read_text("utf-8").partition("<style>")[2].partition("</style>")[0]
    colours = re.findall(r"#([0-9a-f]{6}|[0-9a-f]{3})\b", style)
    with Tab(page, tmp_path, 820, 1180) as tab:
        overflow = tab.value("document.documentElement.scrollWidth - innerWidth")

    assert overflow <= 0
    assert colours
    assert all(len(set(colour)) == 1 for colour in colours)
    assert screenshot_of(page, tmp_path, 820, 1180).getextrema()[0] < 60
