"""A run as a person sees it: the bar on a terminal, and what an interruption leaves."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from inspect import signature
from pathlib import Path

import pytest
from batch_runs import catalogue_of, folder_states, journal_lines, kitchen_in

from pedalsetter.engrave.commands.batch import batch
from pedalsetter.engrave.commands.mark import mark

pytestmark = pytest.mark.engraving


def test_the_bar_counts_on_a_terminal(tmp_path: Path) -> None:
    """Scores are counted while they are done; results stay clean of it on their own way."""
    kitchen = kitchen_in(tmp_path / "kitchen", tmp_path / "kept")
    scores = catalogue_of(tmp_path / "in", {"x.xml": "One"})
    (scores / "broken.xml").write_text("<score-partwise>")
    ours, theirs = os.openpty()
    process = subprocess.Popen(
        kitchen.command(scores, "-o", tmp_path / "out", "--no-png"),
        env={**kitchen.environment, "TERM": "xterm", "COLUMNS": "100", "NO_COLOR": "1"},
        stdout=subprocess.PIPE,
        stderr=theirs,
    )
    os.close(theirs)
    shown = b""
    try:
        while received := os.read(ours, 65536):
            shown += received
    except OSError:
        pass  # Linux tells the end of a terminal so
    os.close(ours)
    printed = process.communicate(timeout=60)[0].decode()

    assert process.returncode == 2
    assert b"0/2" in shown
    assert b"2/2" in shown
    assert b"1 with trouble" in shown
    assert "\x1b" not in printed
    assert "broken.xml (failed): broken.xml: " in printed


def test_an_interruption_ends_all_and_can_be_gone_on_from(tmp_path: Path) -> None:
    """Control-C: exit code 130 as shells have it, no traceback, no engraver left, nothing lost."""
    kitchen = kitchen_in(tmp_path / "kitchen", tmp_path / "kept", pause=1)
    # Enough that the interruption comes in time on a busy machine.
    names = {f"{number}.xml": f"Takes a while, {number}" for number in range(6)}
    scores, out = catalogue_of(tmp_path / "in", names), tmp_path / "out"
    process = subprocess.Popen(
        kitchen.command(scores, "-o", out, "--jobs", 1),
        env=kitchen.environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        # A shell's jobs in the background, which the tests may be, ignore interruptions.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    until = time.monotonic() + 120
    while not journal_lines(out) and time.monotonic() < until:
        time.sleep(0.02)
    process.send_signal(signal.SIGINT)
    printed, complained = process.communicate(timeout=60)

    assert (process.returncode, printed, complained) == (130, "", "")
    assert kitchen.still_running() == []
    before = folder_states(out)
    assert 1 <= len(before) < len(names)
    again = kitchen.run(scores, "-o", out, "--jobs", 1, "--resume")
    assert again.exit_code == 0, again.output
    assert sorted(line["score"] for line in journal_lines(out)) == sorted(names)
    assert folder_states(out).items() >= before.items()


def test_batch_offers_what_mark_offers() -> None:
    """An option that ``mark`` has, ``batch`` has too, but for what concerns one score alone."""
    own = {"score", "folder", "decisions", "split", "reading_score", "cue", "watch"}
    own |= {"pdf", "open_pdf", "bars", "only", "verbose", "hide_empty", "form"}

    assert set(signature(mark).parameters) - set(signature(batch).parameters) <= own
