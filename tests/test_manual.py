"""The README fits one screen a reader, quotes what the program prints, and leads to the rest."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pedalsetter.engrave.command_line import app

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = (ROOT / "README.md", *sorted((ROOT / "examples").rglob("*.md")))


def test_the_readme_is_short() -> None:
    """1,500 words at most, one picture, and a way to every page of the guide."""
    assert len(README.split()) <= 1500
    assert README.count("<img ") + README.count("![") == 1
    guide = (ROOT / "examples" / "guide" / "README.md").read_text(encoding="utf-8")
    linked = set(re.findall(r"\]\(([\w-]+\.md)\)", guide))
    there = {path.name for path in (ROOT / "examples" / "guide").glob("*.md")} - {"README.md"}
    assert linked == there


def anchor(heading: str) -> str:
    """What a heading is called in a link, as common renderers of Markdown have it."""
    plain = re.sub(r"[^\w\- ]", "", heading.lower())
    return plain.strip().replace(" ", "-")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_every_link_leads_somewhere(page: Path) -> None:
    """To a file that is there, and to a heading that it has."""
    text = page.read_text(encoding="utf-8")
    links = re.findall(r"\]\(([^)\s]+)\)", text) + re.findall(r'src="([^"]+)"', text)
    for link in links:
        if link.startswith("http"):
            continue
        name, _, place = link.partition("#")
        target = page if not name else page.parent / name
        assert target.exists(), link
        if place:
            headings = re.findall(r"^#+ (.*)$", target.read_text(encoding="utf-8"), re.MULTILINE)
            assert place in {anchor(one) for one in headings}, link


def quoted() -> list[tuple[str, list[str]]]:
    """Commands in the README with the output that it shows."""
    found = []
    for block in re.findall(r"```console\n(.*?)```", README, re.DOTALL):
        command, *lines = block.splitlines()
        if lines:
            found.append((command.removeprefix("$ "), [line for line in lines if line]))
    return found


@pytest.mark.engraving
@pytest.mark.parametrize(("command", "lines"), quoted(), ids=lambda one: str(one)[:40])
def test_what_the_readme_shows_is_what_is_printed(
    command: str, lines: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Line for line and in this order; lines may be left out."""
    monkeypatch.chdir(tmp_path)
    words = [
        str(ROOT / word) if word.startswith("examples/") else word for word in shlex.split(command)
    ]
    printed = CliRunner().invoke(app, words[1:]).stdout.splitlines()

    assert lines == [line for line in printed if line in lines]
