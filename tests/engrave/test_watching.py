"""Watching a score: the plan at each save, pages after it, and patience with half-saved files."""

from __future__ import annotations

import os
import queue
import signal
import subprocess
import sys
import threading
from concurrent.futures import Future
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from example_scores import EVENING_WATER
from part_builder import build_part

from pedalsetter.analysis.errors import EngravingError, ScoreError
from pedalsetter.analysis.findings import with_all_findings
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.commands.watching import Watch, signature
from pedalsetter.engrave.output.results import PlannedScore

PLAYABLE = ("C4/w", "G4+A4/w")
STUCK = ("C4/w", "G4+Ab4+A4/w")
"""G, A♭ and A at once: the only three notes that no setting sounds together."""


def planned(*bars: str) -> PlannedScore:
    """A planned part of these bars."""
    part = build_part(*bars, tempo=60)
    plan = with_all_findings(part, plan_changes(part))
    return PlannedScore(part, plan, place_marks(part, plan))


class Desk:
    """A score on disk, a clock that is set by hand, and what has been said."""

    def __init__(self, folder: Path) -> None:
        self.score = folder / "sonata.musicxml"
        self.decisions = folder / "sonata.pedals.toml"
        self.said: list[str] = []
        self.jobs: list[Future[tuple[str, ...]]] = []
        self.now = 0.0
        self.stamp = 1_000_000_000
        self.answer: PlannedScore | ScoreError = planned(*PLAYABLE)
        self.save()
        self.watch = Watch(
            (self.score, self.decisions), self._plan, self._pages, self.said.append, self._clock
        )

    def _plan(self) -> PlannedScore:
        if isinstance(self.answer, ScoreError):
            raise self.answer
        return self.answer

    def _pages(self) -> Future[tuple[str, ...]]:
        self.jobs.append(Future())
        return self.jobs[-1]

    def _clock(self) -> float:
        return self.now

    def save(self, path: Path | None = None) -> None:
        """Write the file anew, at a later time of its own."""
        target = path or self.score
        target.write_text("saved", "utf-8")
        self.stamp += 1
        os.utime(target, ns=(self.stamp, self.stamp))

    def pass_time(self, seconds: float) -> list[str]:
        """Let time pass, a look every twentieth of a second; return what is said meanwhile."""
        before = len(self.said)
        for _ in range(round(seconds * 20)):
            self.now += 0.05
            self.watch.look()
        return self.said[before:]


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """A desk at which the first plan has been told and its pages are done."""
    desk = Desk(tmp_path)
    desk.watch.look()
    assert desk.said == [
        "built.musicxml: Built, Pedalsetter tests",
        "2 bars, 3 notes, 0 changes, 1 diagram, findings: none.",
    ]
    desk.jobs[-1].set_result(("1 page written",))
    assert desk.pass_time(0.1) == ["1 page written"]
    return desk


def test_nothing_is_said_while_nothing_is_saved(desk: Desk) -> None:
    """An hour without a save is silent and starts no engraving."""
    assert desk.pass_time(60) == []
    assert len(desk.jobs) == 1


def test_a_save_is_answered_by_what_became_worse_and_better(desk: Desk) -> None:
    """The plan is told at once, the pages when they are done."""
    desk.answer = planned(*STUCK)
    desk.save()
    said = desk.pass_time(0.3)

    assert said[0] == (
        "saved: 2 bars, 4 notes, 0 changes, 1 diagram, findings: 1 cannot be played."
    )
    assert len(said) == 2
    assert said[1].startswith("  worse, new: cannot be played, bar 2, beat 1: ")
    desk.jobs[-1].set_result(("1 page written",))
    assert desk.pass_time(0.1) == ["1 page written"]

    desk.answer = planned(*PLAYABLE)
    desk.save()
    assert desk.pass_time(0.3)[1].startswith("  better, gone: cannot be played, bar 2, beat 1: ")


def test_saved_changes_are_counted(desk: Desk) -> None:
    """More pedals move: worse; fewer: better; the same music: neither."""
    desk.answer = planned("F4/w", "F#4/w")
    desk.save()
    assert desk.pass_time(0.3) == [
        "saved: 2 bars, 2 notes, 1 change, 1 diagram, findings: none.",
        "  worse: 1 change more, 1 in all",
    ]
    desk.answer = planned("F4/w", "Gb4/w")
    desk.save()
    still = "saved: 2 bars, 2 notes, 0 changes, 1 diagram, findings: none."
    assert desk.pass_time(0.3) == [still, "  better: 1 change saved, 0 remain"]
    desk.save()
    assert desk.pass_time(0.3) == [still, "  nothing better, nothing worse"]


def test_a_plan_that_may_not_be_the_best_says_so(desk: Desk) -> None:
    """How far it may be from the best, in whole per cent; a proved one needs no word."""
    known = planned("F4/w", "F#4/w")
    plan = replace(known.plan, proved_optimal=False, bound=known.plan.cost * Fraction(39, 40))
    desk.answer = replace(known, plan=plan)
    desk.save()
    assert desk.pass_time(0.3) == [
        "saved: 2 bars, 2 notes, 1 change, 1 diagram, findings: none.",
        "  No plan is more than 3 % better.",
        "  worse: 1 change more, 1 in all",
    ]


def test_a_half_saved_score_is_waited_for(desk: Desk) -> None:
    """A score that cannot be read for a moment, because it is being written, is no error."""
    desk.answer = ScoreError("the XML is broken", file="sonata.musicxml")
    desk.save()
    assert desk.pass_time(1.0) == []
    desk.answer = planned(*STUCK)
    desk.save()

    assert desk.pass_time(0.3)[0].startswith("saved: 2 bars, ")


def test_a_score_that_stays_broken_is_told_once(desk: Desk) -> None:
    """One line, and the watch goes on; what is better or worse is against the last good state."""
    desk.answer = ScoreError("the XML is broken", file="sonata.musicxml")
    desk.save()
    assert desk.pass_time(10.0) == [
        "sonata.musicxml: the XML is broken. Waiting for the next save."
    ]
    desk.answer = planned(*STUCK)
    desk.save()
    assert desk.pass_time(0.3)[1].startswith("  worse, new: ")


def test_a_file_that_is_still_growing_is_left_alone(desk: Desk) -> None:
    """Written piece by piece, a large score is read once, when it is whole."""
    desk.answer = planned(*STUCK)
    for _ in range(20):
        desk.save()
        assert desk.pass_time(0.05) == []
    assert desk.pass_time(0.3)[0].startswith("saved: 2 bars, ")


def test_a_score_that_is_gone_comes_back(desk: Desk) -> None:
    """Programs that save by renaming take the file away for a moment."""
    desk.score.unlink()
    assert desk.pass_time(5.0) == []
    desk.save()
    assert desk.pass_time(0.3)[0].startswith("saved: 2 bars, ")


def test_decisions_are_watched_too(desk: Desk) -> None:
    """A file of decisions that appears or changes is a reason to plan anew."""
    desk.save(desk.decisions)
    assert desk.pass_time(0.3)[0].startswith("saved:")
    desk.decisions.unlink()
    assert desk.pass_time(0.3)[0].startswith("saved:")


def test_pages_that_are_out_of_date_are_not_told(desk: Desk) -> None:
    """Saved again while pages are engraved: they are engraved once more, and told once."""
    for _ in range(3):
        desk.save()
        desk.pass_time(0.3)
    assert len(desk.jobs) == 2
    desk.jobs[-1].set_result(("old pages",))
    assert desk.pass_time(0.2) == []
    assert len(desk.jobs) == 3
    desk.jobs[-1].set_result(("new pages",))
    assert desk.pass_time(0.2) == ["new pages"]


def test_a_failed_engraving_is_one_line(desk: Desk) -> None:
    """The engraver's error is told, and the watch goes on."""
    desk.save()
    desk.pass_time(0.3)
    desk.jobs[-1].set_exception(EngravingError("LilyPond failed", mend="Its log lies there."))
    assert desk.pass_time(0.2) == ["LilyPond failed. Its log lies there."]
    desk.save()
    assert desk.pass_time(0.3)


def test_a_score_that_cannot_be_read_at_first_is_an_error(tmp_path: Path) -> None:
    """There is nothing to compare with, so the command ends as without ``--watch``."""
    desk = Desk(tmp_path)
    desk.answer = ScoreError("the XML is broken")
    with pytest.raises(ScoreError):
        desk.watch.look()


def test_the_signature_sees_time_size_and_identity(tmp_path: Path) -> None:
    """Saved by renaming, a file is another one though it has the old time and size."""
    score, other = tmp_path / "a", tmp_path / "b"
    assert signature((score,)) == (None,)
    for path in (score, other):
        path.write_text("one")
        os.utime(path, ns=(1, 1))
    first = signature((score,))
    other.replace(score)
    assert signature((score,)) != first
    second = signature((score,))
    score.write_text("longer")
    os.utime(score, ns=(1, 1))
    assert signature((score,)) != second


@pytest.mark.engraving
@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is sent as a POSIX signal")
def test_the_command_watches_until_ctrl_c(tmp_path: Path) -> None:
    """Plan, pages, a save that is answered, and a clear end with 0."""
    score = tmp_path / "sonata.musicxml"
    text = EVENING_WATER.path.read_text("utf-8")
    score.write_text(text, "utf-8")
    process = subprocess.Popen(
        [
            *(sys.executable, "-c", "from pedalsetter.engrave.command_line import main; main()"),
            *("mark", "sonata.musicxml", "--watch", "--no-png", "-o", "out"),
        ],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONUTF8": "1"},
    )
    lines: queue.Queue[str] = queue.Queue()
    assert process.stdout is not None
    reader = threading.Thread(
        target=lambda: [lines.put(line) for line in process.stdout or ()], daemon=True
    )
    reader.start()

    def wait_for(beginning: str) -> str:
        while True:
            line = lines.get(timeout=120).rstrip("\n")
            if line.startswith(beginning):
                return line

    try:
        assert wait_for("sonata.musicxml: ").endswith("Evening Water, Pedalsetter examples")
        assert " 20 changes, " in wait_for("55 bars, ")
        wait_for("Watching sonata.musicxml. Ctrl-C ends.")
        assert "sonata.pdf" in wait_for("2 pages written to out: ")
        begin = text.index('<measure number="20"')
        altered = text[begin:].replace("<octave>", "<alter>1</alter><octave>", 1)
        score.write_text(text[:begin] + altered, "utf-8")
        wait_for("saved: 55 bars, ")
        assert wait_for("  worse")
        process.send_signal(signal.SIGINT)
        wait_for("No longer watching.")
        assert process.wait(timeout=120) == 0
    finally:
        process.kill()
        process.wait()
    assert (tmp_path / "out" / "sonata.pdf").is_file()
