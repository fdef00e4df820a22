"""Runs every command that writes or prints for programs, and digests all its bytes.

    python tests/output_digest.py [FOLDER]

prints one digest of everything, and a line for each file; the results are left in FOLDER if it is
given. Two Pythons that print the same have made the same bytes.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

from typer.testing import CliRunner

from pedalsetter.engrave.command_line import app

__all__ = ["all_outputs", "digest"]

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
_COMMANDS = (
    "mark three-times-round.mxl -o . --contact-sheet --write-back --critical-report",
    "plan evening-water.musicxml --json",
    "plan chromatic-study.musicxml --json",
    "check evening-water.musicxml --json",
    "check evening-water.musicxml --csv",
    "chart evening-water.musicxml -o chart.svg",
    "chart evening-water.musicxml -o chart.png",
    "practice evening-water.musicxml -o practice.pdf",
    "practice evening-water.musicxml -o practice.svg",
    "diagram bsn|ssnb -o diagram.svg",
    "diagram bsn|ssnb -o diagram.pdf",
    "glissando Cm7 --json",
)


def all_outputs(folder: Path) -> dict[str, bytes]:
    """The bytes of every file, and of what is printed, by name; they are made in ``folder``.

    Raises:
        RuntimeError: a command failed.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for name in ("three-times-round.mxl", "evening-water.musicxml", "chromatic-study.musicxml"):
        shutil.copy(EXAMPLES / name, folder)
    os.chdir(folder)
    outputs = {}
    for number, command in enumerate(_COMMANDS):
        words = command.split()
        ran = CliRunner().invoke(app, words)
        # check ends with 0 too: this score has no marks that could be wrong
        if ran.exit_code != 0:
            raise RuntimeError(f"{command}: {ran.output} {ran.exception}")
        outputs[f"{number} {words[0]}, printed"] = ran.stdout_bytes
    written = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    return {**outputs, **{name: written[name] for name in sorted(written)}}


def digest(outputs: Mapping[str, bytes]) -> str:
    """One SHA-256 of all names and bytes."""
    whole = hashlib.sha256()
    for name, content in outputs.items():
        whole.update(f"{name} {hashlib.sha256(content).hexdigest()}\n".encode())
    return whole.hexdigest()


def main(folder: Path) -> None:
    """Print the digests."""
    outputs = all_outputs(folder)
    sys.stdout.write(f"{digest(outputs)}\n")
    for name, content in outputs.items():
        sys.stdout.write(f"{hashlib.sha256(content).hexdigest()} {len(content)} {name}\n")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        main(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory() as name:
            main(Path(name))
