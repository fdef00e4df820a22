"""What is printed is right on every terminal: data in UTF-8, and no sign turns into a "?"."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SOLO = EXAMPLES / "evening-water.musicxml"

_RUNS = """
import sys
from pedalsetter.engrave.command_line import main
for command in sys.argv[1].split(";"):
    sys.argv[1:] = command.split("|")
    try:
        main()
    except SystemExit as end:
        assert not end.code, (command, end.code)
"""
DATA = (
    f"plan|{SOLO}|--json|--no-mends",
    f"check|{SOLO}|--json|--no-mends",
    f"check|{SOLO}|--csv|--no-mends",
    f"setting|{SOLO}|--at|25|--json",
    "glissando|Cm7|--json",
    "styles|edition",
)
WORDS = (f"plan|{SOLO}|--no-mends", f"setting|{SOLO}|--at|25:2.5", "glissando|Cm7")


def printed(commands: tuple[str, ...], **environment: str) -> bytes:
    """What commands print one after the other, in this environment."""
    # What the tests themselves run in says nothing here.
    usual = {name: value for name, value in os.environ.items() if name not in _TERMINAL}
    done = subprocess.run(
        [sys.executable, "-c", _RUNS, ";".join(commands)],
        env={**usual, **environment},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode("utf-8", "replace")
    return done.stdout


_TERMINAL = ("PYTHONIOENCODING", "LC_ALL", "PYTHONUTF8", "PYTHONCOERCECLOCALE")

NARROW = (
    {"PYTHONIOENCODING": "cp1252"},
    {"PYTHONIOENCODING": "ascii"},
    {"LC_ALL": "C"},
    {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
)


def test_data_is_the_same_in_every_locale() -> None:
    """JSON, CSV and TOML are the same bytes, in UTF-8, on a terminal that has none of the signs."""
    wide = printed(DATA, PYTHONIOENCODING="utf-8")

    assert "D♯ C♯ B♮".encode() in wide
    for environment in NARROW[:1] + NARROW[3:]:
        assert printed(DATA, **environment) == wide


@pytest.mark.parametrize("environment", NARROW, ids=" ".join)
def test_signs_are_spelled_where_a_terminal_lacks_them(environment: dict[str, str]) -> None:
    """A flat is b, a natural nat., a sharp #; nothing becomes a question mark."""
    text = printed(WORDS, **environment).decode(environment.get("PYTHONIOENCODING", "utf-8"))

    assert "?" not in text
    assert "Dnat." in text or "D♮" in text
    assert ("D# C# Bnat." in text) != ("D♯ C♯ B♮" in text)
