"""What a desk does: take a task, have a child of its own treat it, answer how that ended.

The desk has loaded everything once; a child is a copy of it that lives for one score. It may break
down, be killed or be stopped: the desk tells so and takes the next task. A child that still
searches for its plan when its time is up ends the search, and has as long again for the rest. On
systems without ``fork`` the desk treats the score itself, and whoever asked it opens a new one if
it breaks down.
"""

from __future__ import annotations

import ctypes
import faulthandler
import gc
import io
import json
import os
import re
import select
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, NoReturn

from pedalsetter.analysis.errors import EngravingError, PedalsetterError
from pedalsetter.analysis.patience import OutOfTime, end_search, is_searching
from pedalsetter.engrave.batch.one_score import treat
from pedalsetter.engrave.batch.record import Ended, Outcome, Record
from pedalsetter.engrave.batch.task import Task
from pedalsetter.engrave.road import load_engraving

__all__ = ["GRACE_SECONDS", "lost", "out_of_time", "serve"]

GRACE_SECONDS = 3.0
"""How long a child that is told to stop may take to end the engraver and clear its folder."""

_DETAIL = 4000
_MUSICXML = (".musicxml", ".xml", ".mxl")
_SET_DEATH_SIGNAL, _SET_SUBREAPER = 1, 36  # of Linux's prctl


def serve(requests: int, answers: int) -> None:
    """Answer each line read from ``requests`` with one line, until there are no more."""
    load_engraving()
    if hasattr(os, "fork"):
        # What a child leaves behind, should it be killed, falls to the desk, which ends it.
        _prctl(_SET_SUBREAPER, 1)
    for line in _lines(requests):
        task = Task.from_json(line)
        ended = _by_a_child(task, requests) if hasattr(os, "fork") else _by_itself(task)
        if ended is None:
            return
        _write_all(answers, json.dumps(ended.as_data()).encode() + b"\n")


def lost(task: Task, why: str, detail: str | None = None) -> Ended:
    """A score whose process broke down."""
    return _without_results(task, Outcome.LOST, why, detail)


def out_of_time(task: Task) -> Ended:
    """A score that was stopped at its time limit."""
    why = f"it was stopped after {task.seconds} seconds. Give more with --time-limit."
    return _without_results(task, Outcome.OUT_OF_TIME, why, None)


def _without_results(task: Task, outcome: Outcome, why: str, detail: str | None) -> Ended:
    record = Record(
        task.score,
        outcome,
        EngravingError.exit_code,
        identity=task.identity(),
        treatment=task.digest,
        what=f"{Path(task.path).name}: {why}",
    )
    return Ended(record, detail=detail)


def _lines(source: int) -> Iterator[bytes]:
    # Read by the byte count of the system, never ahead into a buffer that a child would copy.
    kept = b""
    while received := os.read(source, 65536):
        *whole, kept = (kept + received).split(b"\n")
        yield from whole


def _write_all(target: int, data: bytes) -> None:
    while data:
        data = data[os.write(target, data) :]


def _by_itself(task: Task) -> Ended:
    start = time.perf_counter()
    before = tempfile.tempdir
    with tempfile.TemporaryDirectory(prefix="pedalsetter-desk-", ignore_cleanup_errors=True) as own:
        # The log of a failed engraving is looked for where no other score has left one.
        tempfile.tempdir = own
        try:
            ended = treat(task)
        except Exception as error:
            ended = lost(task, _told(error), traceback.format_exc()[-_DETAIL:])
        finally:
            tempfile.tempdir = before
    return ended.measured(time.perf_counter() - start, 0.0, 0)


def _by_a_child(task: Task, requests: int) -> Ended | None:
    """How a child ended with the task; None if nobody waits for the answer any more."""
    if not task.path.lower().endswith(_MUSICXML):
        # Imported here, all later children have it.
        import converter21  # noqa: F401
        import music21  # noqa: F401
    gc.collect()
    gc.freeze()  # or the child would copy every page that its collector looks at
    start = time.perf_counter()
    with tempfile.TemporaryDirectory(prefix="pedalsetter-desk-", ignore_cleanup_errors=True) as own:
        hearing, telling = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(hearing)
            _live_for(task, Path(own), telling)
        os.close(telling)
        try:
            said, ending = _listen(child, hearing, requests, start, task.seconds)
        finally:
            os.close(hearing)
        usage, status = _stopped(child) if ending else _ended(child)
        _end_orphans()
        if ending == "nobody waits":
            return None
        ended = out_of_time(task) if ending else _understood(task, said, status, Path(own))
    peak = usage.ru_maxrss * (1 if sys.platform == "darwin" else 1024)
    return ended.measured(time.perf_counter() - start, usage.ru_utime + usage.ru_stime, peak)


def _listen(
    child: int, hearing: int, requests: int, start: float, seconds: int
) -> tuple[bytes, str | None]:
    """What the child says until it has said all, and why it must be stopped, if it must.

    When its time is up it is told so. If it has a search to end it says something, and may go on.
    """
    said = io.BytesIO()
    until, told = start + seconds, False
    watch = select.poll()
    watch.register(hearing, select.POLLIN)
    watch.register(requests, 0)  # its end alone
    while True:
        left = until - time.perf_counter()
        if left <= 0 and told:
            return said.getvalue(), "no time is left"
        if left <= 0:
            told = True
            os.kill(child, signal.SIGUSR1)
            until = time.perf_counter() + GRACE_SECONDS
            continue
        for source, _event in watch.poll(left * 1000):
            if source == requests:
                return said.getvalue(), "nobody waits"
            received = os.read(hearing, 65536)
            if not received:
                # A child that has nothing to end leaves without a word.
                out = told and not said.tell()
                return said.getvalue(), "no time is left" if out else None
            said.write(received)
            if told:
                until = start + 2 * seconds


def _ended(child: int) -> tuple[Any, int]:
    _, status, usage = os.wait4(child, 0)
    return usage, status


def _stopped(child: int) -> tuple[Any, int]:
    """Have the child clear up, and end it if it does not."""
    os.kill(child, signal.SIGTERM)
    until = time.perf_counter() + GRACE_SECONDS
    while time.perf_counter() < until:
        gone, status, usage = os.wait4(child, os.WNOHANG)
        if gone:
            return usage, status
        time.sleep(0.02)
    os.kill(child, signal.SIGKILL)
    return _ended(child)


def _end_orphans() -> None:
    """End what a killed child has left running (Linux tells which those are)."""
    with suppress(OSError):
        for pid in Path(f"/proc/self/task/{os.getpid()}/children").read_text().split():
            os.kill(int(pid), signal.SIGKILL)
            os.waitpid(int(pid), 0)


def _understood(task: Task, said: bytes, status: int, own: Path) -> Ended:
    try:
        return Ended.from_data(json.loads(said))
    except ValueError:
        pass
    with suppress(OSError):
        complaint = (own / "complaint").read_text("utf-8", errors="replace").strip()
        detail = complaint[-_DETAIL:] or None
        if os.WIFEXITED(status) and detail:
            return lost(task, detail.splitlines()[-1], detail)
        return lost(task, _by_signal(status), detail)
    return lost(task, _by_signal(status))


def _by_signal(status: int) -> str:
    if not os.WIFSIGNALED(status):
        return f"its process ended with status {os.waitstatus_to_exitcode(status)}"
    name = signal.Signals(os.WTERMSIG(status)).name
    hint = " (perhaps the machine had no memory left)" if name == "SIGKILL" else ""
    return f"its process was ended by {name}{hint}"


def _live_for(task: Task, own: Path, telling: int) -> NoReturn:
    """The life of a child: one score, an answer, the end."""
    code = 1
    try:
        signal.signal(signal.SIGTERM, _leave)
        signal.signal(signal.SIGUSR1, lambda _signal, _frame: _hurry(telling))
        _prctl(_SET_DEATH_SIGNAL, signal.SIGKILL)
        _stand_apart(own)
        _limit(task.memory_bytes)
        answer = json.dumps(treat(task).as_data()).encode()
        _write_all(telling, answer)
        code = 0
    except MemoryError:
        megabytes = task.memory_bytes >> 20
        sys.stderr.write(
            f"{megabytes} MB of memory do not suffice. Give more with --memory-limit.\n"
        )
    except Exception as error:
        traceback.print_exc()
        sys.stderr.write(f"the program broke down: {_told(error)}\n")
    finally:
        with suppress(Exception):
            sys.stderr.flush()
        os._exit(code)


def _leave(_signal: int, _frame: object) -> None:
    raise SystemExit(1)  # so that the engraver is ended on the way out


def _hurry(telling: int) -> None:
    """The time is up: end the search for the plan, or all."""
    if not is_searching():
        raise SystemExit(1)
    # Before the answer, which it does not disturb.
    os.write(telling, b" ")
    end_search(OutOfTime)


def _stand_apart(own: Path) -> None:
    """A private folder for temporary files; input from nowhere; whatever is said, to a file."""
    tempfile.tempdir = str(own)
    for name in ("TMPDIR", "TEMP", "TMP"):
        os.environ[name] = str(own)
    nothing = os.open(os.devnull, os.O_RDONLY)
    complaint = os.open(own / "complaint", os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    os.dup2(nothing, 0)
    os.dup2(complaint, 1)
    os.dup2(complaint, 2)
    faulthandler.enable(2)


def _limit(memory_bytes: int) -> None:
    if sys.platform in ("win32", "darwin"):
        return  # macOS refuses a limit of address space
    import resource

    most = resource.getrlimit(resource.RLIMIT_AS)[1]
    allowed = memory_bytes if most == resource.RLIM_INFINITY else min(memory_bytes, most)
    # The hard limit stays: the engraver's own limit is set from it.
    resource.setrlimit(resource.RLIMIT_AS, (allowed, most))
    resource.setrlimit(resource.RLIMIT_CORE, (0, resource.getrlimit(resource.RLIMIT_CORE)[1]))


def _prctl(option: int, value: int) -> None:
    if sys.platform == "linux":
        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).prctl(option, value, 0, 0, 0)


def _told(error: BaseException) -> str:
    """An error of the program in one line, the same in every run."""
    if isinstance(error, PedalsetterError):
        return str(error)
    line = " ".join(f"{type(error).__name__}: {error}".split())
    return re.sub(r"0x[0-9a-f]+", "0x…", line)
