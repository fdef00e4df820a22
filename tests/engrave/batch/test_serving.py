"""What a desk tells of a score that breaks the program, and how it ends when nobody waits."""

from __future__ import annotations

import errno
import json
import shutil
import subprocess
import sys
from contextlib import nullcontext
from pathlib import Path

import pytest
from batch_runs import small_score

from pedalsetter.analysis.errors import BatchError
from pedalsetter.engrave.batch.cluster import work_on_cluster
from pedalsetter.engrave.batch.desk import Desk
from pedalsetter.engrave.batch.lock import only_run
from pedalsetter.engrave.batch.record import Ended, Outcome
from pedalsetter.engrave.batch.task import Task, Treatment

_BROKEN = """
import sys
from pedalsetter.engrave.batch import serving
def treat(task):
    {body}
serving.treat = treat
serving.serve(0, 1)
"""


_WITHOUT_FORK = """
import os
del os.fork
from pedalsetter.engrave.batch.serving import serve
serve(0, 1)
"""


def task_for(folder: Path, **more: int) -> Task:
    """A task for a small score."""
    path = folder / "x.xml"
    path.write_bytes(small_score("Plain"))
    treatment = Treatment()
    return Task(
        "x.xml", str(path), str(folder / "out"), "x.xml", treatment, treatment.digest(), **more
    )


def broken_desk(task: Task, body: str) -> Ended:
    """What a desk answers whose work on a score is ``body``."""
    with subprocess.Popen(
        [sys.executable, "-c", _BROKEN.format(body=body)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as desk:
        assert desk.stdin is not None
        assert desk.stdout is not None
        desk.stdin.write(task.as_json().encode() + b"\n")
        desk.stdin.flush()
        answer = desk.stdout.readline()
        desk.stdin.close()
    return Ended.from_data(json.loads(answer))


def test_an_error_of_the_program_is_one_line_and_the_rest_lies_in_the_journal(
    tmp_path: Path,
) -> None:
    """No traceback is shown, none is lost; an address in memory is never part of the line."""
    ended = broken_desk(task_for(tmp_path), "raise ValueError(f'no {object()!r}')")

    assert ended.record.outcome is Outcome.LOST
    assert ended.record.what == (
        "x.xml: the program broke down: ValueError: no <object object at 0x…>"
    )
    assert "Traceback (most recent call last)" in (ended.detail or "")


def test_too_little_memory_is_told(tmp_path: Path) -> None:
    """A score that asks for more than it may have loses itself alone."""
    task = task_for(tmp_path, memory_bytes=1 << 30)
    ended = broken_desk(task, "return bytearray(1 << 31)")

    assert ended.record.outcome is Outcome.LOST
    assert ended.record.what == (
        "x.xml: 1024 MB of memory do not suffice. Give more with --memory-limit."
    )


def test_a_process_that_leaves_without_a_word(tmp_path: Path) -> None:
    """Whatever ends a process, its score is told of."""
    ended = broken_desk(task_for(tmp_path), "import os; os._exit(7)")

    assert ended.record.what == "x.xml: its process ended with status 7"


def test_a_desk_that_cannot_open_says_why(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As where an installation is broken: the journal tells what Python said."""
    (tmp_path / "lxml.py").write_text("raise ImportError('half an installation')")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    desk = Desk()
    ended = desk.work(task_for(tmp_path))
    desk.close()

    assert ended.record.what == "x.xml: its desk ended with status 1"
    assert "half an installation" in (ended.detail or "")


@pytest.mark.engraving
def test_a_desk_that_is_killed_is_opened_again(tmp_path: Path) -> None:
    """The next score finds a new process."""
    desk = Desk()
    first = desk.work(task_for(tmp_path))
    process = desk._process
    assert process is not None
    process.kill()
    process.wait()
    second = desk.work(task_for(tmp_path))
    desk.close()

    assert first.record.outcome is Outcome.DONE
    # The results of the very same score lie there and are kept.
    assert second.record == first.record
    with pytest.raises(BatchError, match="the desk is closed"):
        desk.work(task_for(tmp_path))


def test_one_run_at_a_time(tmp_path: Path) -> None:
    """A second run in the same folder is told to wait."""
    with (
        only_run(tmp_path),
        pytest.raises(BatchError, match="another run is at work in"),
        only_run(tmp_path, 0.2),
    ):
        pass


class _LocksOfWindows:
    """What ``msvcrt`` does with a lock that another process may hold."""

    LK_NBLCK = 2

    def __init__(self, trouble: int | None) -> None:
        self.trouble = trouble

    def locking(self, _handle: int, _mode: int, _bytes: int) -> None:
        if self.trouble is not None:
            raise OSError(self.trouble, "as Windows says")


@pytest.mark.parametrize(
    ("trouble", "begins"), [(None, True), (errno.EACCES, False), (errno.EINVAL, True)]
)
def test_one_run_at_a_time_on_windows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, trouble: int | None, begins: bool
) -> None:
    """A lock that is held is waited for; where the disk knows none, the run begins.

    Source: documentation of Python's ``msvcrt.locking`` (OSError) and of ``_locking`` (EACCES: the
    file is locked already).
    """
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setitem(sys.modules, "msvcrt", _LocksOfWindows(trouble))
    expected = nullcontext() if begins else pytest.raises(BatchError, match="another run is at")
    with expected, only_run(tmp_path, 0.2):
        assert (tmp_path / ".lock").exists()


@pytest.mark.engraving
def test_a_desk_of_a_system_without_fork(tmp_path: Path) -> None:
    """Where a process cannot be copied, the desk treats the score itself, with the same results."""
    task = task_for(tmp_path)
    command = [sys.executable, "-c", _WITHOUT_FORK]
    asked = task.as_json().encode() + b"\n"
    answers = subprocess.run(command, input=asked * 2, capture_output=True, check=True).stdout
    first, again = (Ended.from_data(json.loads(line)) for line in answers.splitlines())
    assert first.record.outcome is Outcome.DONE
    assert first.record == again.record
    assert (task.target / "x.pdf").is_file()
    shutil.rmtree(task.target)
    desk = Desk()
    try:
        assert desk.work(task).record == first.record
    finally:
        desk.close()


def test_a_cluster_that_is_not_there_is_one_line(tmp_path: Path) -> None:
    """An address where nobody listens, and one that is none."""
    for address in ("tcp://127.0.0.1:9", "nonsense://x"):
        with pytest.raises(BatchError, match=f"no Dask scheduler answers at {address}"):
            list(work_on_cluster([task_for(tmp_path)], address, 1))


def test_without_dask_the_mend_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The extra is named."""
    monkeypatch.setitem(sys.modules, "distributed", None)

    with pytest.raises(BatchError) as caught:
        list(work_on_cluster([task_for(tmp_path)], "tcp://127.0.0.1:9"))
    assert str(caught.value) == (
        "--cluster needs Dask, which is not installed. Install it with: pip install "
        "'pedalsetter[cluster]'"
    )
