"""Catalogues for tests: small scores, a LilyPond that can misbehave, runs and what they left.

The LilyPond of these tests is a program of a few lines that calls the real one, and keeps what it
made, so that the same page is not engraved a second time in the same test run. It reads the title
out of the source and does what the title says: end the process that asked for it, or never end.
"""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
import textwrap
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from score_snippets import TREBLE_AND_BASS, note
from typer.testing import CliRunner, Result

from pedalsetter.engrave.command_line import app
from pedalsetter.engrave.output.pages.engraver import find_lilypond

__all__ = [
    "Kitchen",
    "catalogue_of",
    "folder_states",
    "journal_lines",
    "kitchen_in",
    "results",
    "small_score",
]

_PROGRAM = """\
#!{python} -SE
import hashlib, os, shutil, signal, subprocess, sys, time
real, kept, log = {real!r}, {kept!r}, {log!r}
if "--version" in sys.argv:
    os.execv(real, [real, "--version"])
source = sys.stdin.buffer.read() if sys.argv[-1] == "-" else open(sys.argv[-1], "rb").read()
if not source:
    sys.exit(1)
with open(log, "a") as stream:
    stream.write(str(os.getpid()) + "\\n")
if b"Ends by SIGSEGV" in source:
    os.kill(os.getppid(), signal.SIGSEGV)
if b"Ends by SIGKILL" in source:
    os.kill(os.getppid(), signal.SIGKILL)
if b"Never ends" in source or b"Ends by" in source:
    time.sleep(600)
if b"Takes a while" in source:
    time.sleep({pause})
place = os.path.join(kept, hashlib.sha256(source).hexdigest())
if not os.path.isdir(place):
    command = [real, *sys.argv[1:]]
    status = subprocess.run(command, input=source).returncode
    if status:
        sys.exit(status)
    beside = place + "." + str(os.getpid())
    os.mkdir(beside)
    for name in ("part.pdf", "part.boxes"):
        shutil.copy(name, beside)
    try:
        os.rename(beside, place)
    except OSError:
        shutil.rmtree(beside)
for name in ("part.pdf", "part.boxes"):
    shutil.copy(os.path.join(place, name), name)
"""


@dataclass(frozen=True, slots=True)
class Kitchen:
    """Where a batch is run: its environment, and the log of the engraver's runs."""

    folder: Path
    environment: dict[str, str]
    log: Path

    def command(self, *arguments: object) -> list[str]:
        """The command line of a batch."""
        program = "from pedalsetter.engrave.command_line import main; main()"
        return [sys.executable, "-c", program, "batch", *map(str, arguments)]

    def run(self, *arguments: object) -> Result:
        """Run a batch to its end, its parent being this process."""
        return CliRunner().invoke(app, ["batch", *map(str, arguments)], env=self.environment)

    def killed_after(self, lines: int, out: Path, *arguments: object) -> int:
        """Run a batch and kill it with signal 9 once its journal has so many scores.

        Returns how many scores the journal has after that.
        """
        process = subprocess.Popen(
            self.command(*arguments),
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        until = time.monotonic() + 120
        while len(journal_lines(out)) < lines or not (out / "journal.jsonl").exists():
            assert process.poll() is None, "the batch ended before it could be killed"
            assert time.monotonic() < until
            time.sleep(0.02)
        process.send_signal(signal.SIGKILL)
        process.wait()
        return len(journal_lines(out))

    def engravings(self) -> int:
        """How often the engraver has been given a source."""
        return len(self.log.read_text().split()) if self.log.exists() else 0

    def still_running(self) -> list[int]:
        """Engravers that have been given a source and still run."""
        pids = [int(pid) for pid in self.log.read_text().split()] if self.log.exists() else []
        return [pid for pid in pids if _is_program(pid, self.folder)]


def kitchen_in(folder: Path, kept: Path, pause: float = 0.4) -> Kitchen:
    """A kitchen in ``folder``; pages that were engraved once are kept in ``kept``."""
    folder.mkdir(parents=True, exist_ok=True)
    kept.mkdir(parents=True, exist_ok=True)
    program, log = folder / "lilypond", folder / "engravings.log"
    program.write_text(
        _PROGRAM.format(
            python=sys.executable,
            real=find_lilypond(),
            kept=str(kept),
            log=str(log),
            pause=pause,
        )
    )
    program.chmod(0o755)
    environment = {**os.environ, "PEDALSETTER_LILYPOND": str(program)}
    return Kitchen(folder, environment, log)


def _is_program(pid: int, folder: Path) -> bool:
    try:
        return str(folder).encode() in Path(f"/proc/{pid}/cmdline").read_bytes()
    except OSError:
        return False


def small_score(title: str) -> bytes:
    """One bar for harp whose notes, four of a scale with one accidental, follow from the title."""
    number = hashlib.sha256(title.encode()).digest()[0]
    sharp = "CDFG"[number % 4]
    notes = "".join(note(name) for name in (f"{sharp}4", f"{sharp}#5", "A4", "E5"))
    return textwrap.dedent(
        f"""\
        <?xml version="1.0" encoding="UTF-8"?>
        <score-partwise version="4.0">
          <work><work-title>{title}</work-title></work>
          <part-list>
            <score-part id="P1"><part-name>Harp</part-name></score-part>
          </part-list>
          <part id="P1">
            <measure number="1">
              <attributes><divisions>96</divisions><key><fifths>0</fifths></key>
                <time><beats>4</beats><beat-type>4</beat-type></time>
                <staves>2</staves>{TREBLE_AND_BASS}</attributes>
              {notes}
            </measure>
          </part>
        </score-partwise>
        """
    ).encode()


def catalogue_of(folder: Path, titles: dict[str, str]) -> Path:
    """A folder of small scores: file name to title."""
    for name, title in titles.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(small_score(title))
    return folder


def journal_lines(out: Path) -> list[dict[str, Any]]:
    """The whole lines of a journal that tell of scores."""
    try:
        content = (out / "journal.jsonl").read_bytes()
    except FileNotFoundError:
        return []
    whole = content[: content.rfind(b"\n") + 1].splitlines()
    return [told for told in map(json.loads, whole) if "score" in told]


def results(out: Path) -> dict[str, bytes]:
    """Every file of a run by its path, but the journal and the lock."""
    return {
        str(path.relative_to(out)): path.read_bytes()
        for path in sorted(out.rglob("*"))
        if path.is_file() and path.name not in ("journal.jsonl", ".lock")
    }


def folder_states(out: Path) -> dict[str, tuple[int, int]]:
    """Each folder that holds a record, with what would change if it were made again."""
    return {
        str(record.parent.relative_to(out)): (record.stat().st_ino, record.stat().st_mtime_ns)
        for record in sorted(out.rglob("record.json"))
        if ".unfinished" not in record.parts
    }
