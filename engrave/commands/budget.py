"""How long a command may take and how much memory it may use, whatever a score asks for.

Limits of the score itself (size, depth, bars, notes) stop most hostile files early; what remains
is stopped here. Memory is limited on Linux, time everywhere.

A search for a plan that is shown is not stopped but ended: when the time is up, or at Ctrl-C, its
best plan so far is taken, and the work goes on with that for as long again, and a minute at least.
Once there is a plan, it is never lost: what is only tried ends first, and the page is made.
"""

from __future__ import annotations

import inspect
import os
import signal
import sys
import threading
import time
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from types import FrameType
from typing import Annotated, Any, get_type_hints

import typer

from pedalsetter.analysis.errors import LimitError
from pedalsetter.analysis.patience import (
    OutOfTime,
    Stopped,
    begin_anew,
    end_search,
    end_trials,
    has_plan,
    is_searching,
    trials_were_left,
    was_ended,
)
from pedalsetter.engrave.commands.shell import Told, score_at_hand

__all__ = ["MEGABYTES", "SECONDS", "Budget", "SearchClock", "SecondsOption", "within_budget"]

SECONDS = 600
"""Default time for a command by the clock; a full evening's harp part takes less than a minute."""
MEGABYTES = 4096
"""Default memory for a command; LilyPond, a process of its own, may use as much again."""

_RINGS_AGAIN = 1
"""Seconds from one ring of the alarm to the next, in case a library's clean-up takes one for its
own."""

_PAUSE = 0.25
"""Of the time limit: what a further search has when the time is up."""

_REST = 60
"""Seconds that the work has at least once there is a plan and the time is up: to make the page."""

SecondsOption = Annotated[
    int,
    typer.Option("--time-limit", min=1, metavar="S", help="Stop after so many seconds."),
]
MemoryOption = Annotated[
    int,
    typer.Option(
        "--memory-limit", min=64, metavar="MB", help="Stop at so many megabytes of memory (Linux)."
    ),
]


class _TimeIsUp(BaseException):
    """Not an Exception, so that no library's ``except Exception`` can swallow it."""


class Budget:
    """Ends what runs inside it when its time or memory is used up, and at Ctrl-C.

    ``file`` is named in messages. That a search was ended early is said at the end, unless
    ``quiet``. Must be entered in the main thread.

    Raises:
        LimitError: when left because of one of the two.
        KeyboardInterrupt: when left because of Ctrl-C.
    """

    def __init__(
        self,
        seconds: int = SECONDS,
        megabytes: int = MEGABYTES,
        *,
        file: str | None = None,
        quiet: bool = False,
    ) -> None:
        self.seconds = seconds
        self.megabytes = megabytes
        self.file = file
        self.quiet = quiet
        self._undo: list[Callable[[], object]] = []
        self._rung = threading.Event()
        self._end: float | None = None
        """When all must be done, once a search was ended because the time was up."""
        self._next = 0.0
        """When a further search may be ended."""

    def __enter__(self) -> Budget:
        begin_anew()
        self._limit_memory()
        self._heed_interruptions()
        self._set_alarm()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, _trace: object
    ) -> None:
        while self._undo:
            self._undo.pop()()
        if isinstance(error, _TimeIsUp):
            raise LimitError(
                f"stopped after {self._told_seconds}",
                file=self.file,
                mend="Allow more with --time-limit.",
            ) from None
        if isinstance(error, Stopped):
            raise KeyboardInterrupt from None
        if isinstance(error, MemoryError):
            raise LimitError(
                f"stopped at {self.megabytes:,} MB of memory",
                file=self.file,
                mend="Allow more with --memory-limit.",
            ) from None
        if not self.quiet and (error is None or isinstance(error, typer.Exit)):
            self._tell()

    def _tell(self) -> None:
        """Say what the clock or the user has cut short."""
        where = "" if self.file is None else f"{self.file}: "
        how = "by Ctrl-C" if self._end is None else f"after {self._told_seconds}"
        if was_ended():
            what = f"the search was ended {how}; this is the best plan so far."
            typer.echo(f"pedalsetter: {where}{what}", err=True)
        if trials_were_left():
            what = f"the time was up {how}; not everything that might help was tried."
            typer.echo(f"pedalsetter: {where}{what}", err=True)

    @property
    def _told_seconds(self) -> str:
        return f"{self.seconds:,} {'second' if self.seconds == 1 else 'seconds'}"

    def _limit_memory(self) -> None:
        if sys.platform != "linux":
            return
        import resource

        old = resource.getrlimit(resource.RLIMIT_AS)
        # What the process holds already (libraries, most of all) is not the score's doing.
        held = int(Path("/proc/self/statm").read_text("ascii").split()[0]) * os.sysconf(
            "SC_PAGE_SIZE"
        )
        allowed = held + self.megabytes * 2**20
        for most in old:
            if most != resource.RLIM_INFINITY:
                allowed = min(allowed, most)
        resource.setrlimit(resource.RLIMIT_AS, (allowed, old[1]))
        self._undo.append(lambda: resource.setrlimit(resource.RLIMIT_AS, old))

    def _set_alarm(self) -> None:
        if hasattr(signal, "setitimer"):
            self._undo.append(_alarm(self.seconds, self._ring))
            return
        import _thread

        over = threading.Event()

        def ring() -> None:
            wait = float(self.seconds)
            while not over.wait(wait):
                # It comes out as a Ctrl-C would.
                self._rung.set()
                _thread.interrupt_main()
                wait = _RINGS_AGAIN

        threading.Thread(target=ring, daemon=True).start()
        self._undo.append(over.set)

    def _ring(self) -> None:
        """The time is up: end the search, or all."""
        now = time.monotonic()
        if self._end is None and (is_searching() or has_plan()):
            self._end, self._next = now + max(self.seconds, _REST), now
        if self._end is None or now >= self._end:
            raise _TimeIsUp
        if now < self._next:
            return
        self._next = now + self.seconds * _PAUSE
        if is_searching():
            end_search(OutOfTime)
        if has_plan():
            end_trials()

    def _heed_interruptions(self) -> None:
        """Let Ctrl-C end a search first, and all the next time."""
        before = signal.getsignal(signal.SIGINT)
        if before is None:
            return  # set by no Python, and not to be set again

        def interrupted(number: int, frame: FrameType | None) -> None:
            if self._rung.is_set():
                self._rung.clear()
                self._ring()
            elif before is signal.default_int_handler:
                if is_searching() and not was_ended():
                    end_search()
                raise Stopped
            elif callable(before):
                before(number, frame)

        signal.signal(signal.SIGINT, interrupted)
        self._undo.append(lambda: signal.signal(signal.SIGINT, before))


class SearchClock:
    """Ends each search inside it that takes longer than so many seconds, and trials after it.

    Only where the system has alarms; elsewhere nothing happens. Must be entered in the main thread.
    """

    def __init__(self, seconds: int) -> None:
        self.seconds = seconds
        self._undo: Callable[[], object] | None = None

    def __enter__(self) -> None:
        begin_anew()
        if hasattr(signal, "setitimer"):
            self._undo = _alarm(self.seconds, self._ring)

    def __exit__(self, *_: object) -> None:
        if self._undo is not None:
            self._undo()

    @staticmethod
    def _ring() -> None:
        if is_searching() and not was_ended():
            end_search(OutOfTime)
        if has_plan():
            end_trials()


def _alarm(seconds: int, ring: Callable[[], None]) -> Callable[[], None]:
    """Have ``ring`` called after so many seconds, and again and again; returns what silences it."""
    before = signal.signal(signal.SIGALRM, lambda _number, _frame: ring())
    signal.setitimer(signal.ITIMER_REAL, seconds, _RINGS_AGAIN)

    def silence() -> None:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)

    return silence


def within_budget(command: Callable[..., None]) -> Callable[..., None]:
    """The command with the options ``--time-limit`` and ``--memory-limit``, and held to them.

    Commands that read no score are returned as they are. One that watches its score is not held,
    but told the limit for its searches.
    """
    signature = inspect.signature(command)
    if "score" not in signature.parameters:
        return command

    tells = "time_limit" in signature.parameters

    @wraps(command)
    def held(time_limit: int, memory_limit: int, **options: Any) -> None:
        if tells:
            options["time_limit"] = time_limit
        if options.get("watch"):
            # It goes on until it is interrupted.
            command(**options)
            return
        with Told(bool(options.get("traceback"))), score_at_hand(options["score"]) as score:
            options["score"] = score
            with Budget(time_limit, memory_limit, file=score.name, quiet=bool(options["quiet"])):
                command(**options)

    options = {
        "time_limit": (SecondsOption, SECONDS),
        "memory_limit": (MemoryOption, MEGABYTES),
    }
    own = [
        inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=kind)
        for name, (kind, default) in options.items()
        if name not in signature.parameters
    ]
    hints = get_type_hints(command, include_extras=True)
    parameters = [
        each.replace(annotation=hints.get(name, each.annotation), kind=each.KEYWORD_ONLY)
        for name, each in signature.parameters.items()
    ]
    del held.__wrapped__
    held.__signature__ = signature.replace(parameters=[*parameters, *own])  # type: ignore[attr-defined]
    held.__annotations__ = {**hints, **{name: kind for name, (kind, _) in options.items()}}
    return held
