"""A desk seen from outside: a process that is given one score after another."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from contextlib import suppress

from pedalsetter.analysis.errors import BatchError
from pedalsetter.engrave.batch.record import Ended
from pedalsetter.engrave.batch.serving import GRACE_SECONDS, lost, out_of_time
from pedalsetter.engrave.batch.task import Task

__all__ = ["Desk"]

_OPENING_SECONDS = 120.0
"""More than a slow machine takes to start Python and to load everything."""


_DETAIL = 4000
"""Bytes of what a process said last that are kept."""


class Desk:
    """One process that treats one score at a time; it is started when the first one comes.

    ``kept`` are file handles that it holds open as long as it lives, as of a lock.
    """

    def __init__(self, kept: Sequence[int] = ()) -> None:
        self._kept = tuple(kept)
        self._process: subprocess.Popen[bytes] | None = None
        self._closed = False
        self._opening = threading.Lock()
        self._complaint = tempfile.TemporaryFile()  # noqa: SIM115 (as long as the desk)

    def work(self, task: Task) -> Ended:
        """Treat one score, however that ends.

        Raises:
            BatchError: no process can be started, or the desk is closed.
        """
        process = self._opened()
        # A score whose search a child has ended may take as long again.
        most = task.seconds * (2 if hasattr(os, "fork") else 1)
        patience = most + 3 * GRACE_SECONDS + _OPENING_SECONDS
        # The desk keeps the time limit itself; this one holds if it hangs too.
        impatient = threading.Timer(patience, process.kill)
        impatient.daemon = True
        start = time.perf_counter()
        impatient.start()
        try:
            return Ended.from_data(json.loads(_asked(process, task)))
        except (OSError, ValueError):
            # No answer, or half of one: the desk itself has broken down.
            self._end(process)
            seconds = time.perf_counter() - start
            ended = (
                out_of_time(task)
                if seconds >= patience
                else lost(task, _last_words(process), self._complaints())
            )
            return ended.measured(seconds, 0.0, 0)
        finally:
            impatient.cancel()

    def close(self) -> None:
        """Send the process home; a score at work is given up and leaves nothing behind."""
        with self._opening:
            self._closed = True
            process, self._process = self._process, None
        if process is not None:
            self._end(process)

    def _opened(self) -> subprocess.Popen[bytes]:
        with self._opening:
            if self._closed:
                raise BatchError("the desk is closed")
            if self._process is None or self._process.poll() is not None:
                try:
                    self._process = subprocess.Popen(
                        # -P: nothing is imported from the folder that the user stands in.
                        [sys.executable, "-P", "-m", "pedalsetter.engrave.batch"],
                        stdin=subprocess.PIPE,
                        stdout=subprocess.PIPE,
                        stderr=self._complaint,
                        start_new_session=True,
                        pass_fds=self._kept if os.name == "posix" else (),
                    )
                except OSError as error:
                    raise BatchError(
                        f"no process can be started: {error.strerror or error}",
                        mend="Give fewer --jobs, and go on with --resume.",
                    ) from error
            return self._process

    def _complaints(self) -> str | None:
        """The end of what the process has said besides its answers."""
        size = self._complaint.seek(0, os.SEEK_END)
        self._complaint.seek(max(0, size - _DETAIL))
        return self._complaint.read().decode(errors="replace").strip() or None

    def _end(self, process: subprocess.Popen[bytes]) -> None:
        with suppress(OSError):
            if process.stdin is not None:
                process.stdin.close()
        try:
            process.wait(2 * GRACE_SECONDS)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _asked(process: subprocess.Popen[bytes], task: Task) -> bytes:
    if process.stdin is None or process.stdout is None:
        return b""
    process.stdin.write(task.as_json().encode() + b"\n")
    process.stdin.flush()
    return process.stdout.readline()


def _last_words(process: subprocess.Popen[bytes]) -> str:
    code = process.returncode
    if code is not None and code < 0:
        return f"its desk was ended by signal {-code}"
    return f"its desk ended with status {code}"
