"""``pedalsetter mark --watch``: the work done again whenever the score is saved.

The plan comes first, from this process; the pages come after, from a second process that stays
warm (everything imported, LilyPond started while it plans). Files are looked at many times a second
rather than by the system's notices: that needs no library, and holds on shared folders and with
programs that save by writing beside and renaming.
"""

from __future__ import annotations

import signal
import sys
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import typer

from pedalsetter.analysis.asking.comparison import compare_plans
from pedalsetter.analysis.errors import PedalsetterError
from pedalsetter.analysis.patience import Stopped, end_search, is_searching
from pedalsetter.engrave.commands.budget import SECONDS, SearchClock
from pedalsetter.engrave.commands.mark_job import MarkJob
from pedalsetter.engrave.output.reports.best_told import best_told
from pedalsetter.engrave.output.reports.comparison_report import comparison_lines
from pedalsetter.engrave.output.reports.report import counts, heading
from pedalsetter.engrave.output.results import PlannedScore

__all__ = ["Watch", "signature", "watch_job"]

_LOOK_SECONDS = 0.04
"""Between two looks at the files."""
_STILL_SECONDS = 0.1
"""A file that has not changed for so long is taken to be saved whole."""
_PATIENCE_SECONDS = 1.5
"""A score that cannot be read is told so only if it stays as it is: it may be half saved."""

Signature = tuple[tuple[int, int, int] | None, ...]


def signature(paths: Sequence[Path]) -> Signature:
    """What tells one state of files from another; None for a file that is not there."""
    found: list[tuple[int, int, int] | None] = []
    for path in paths:
        try:
            state = path.stat()
        except OSError:
            found.append(None)
        else:
            found.append((state.st_mtime_ns, state.st_size, state.st_ino))
    return tuple(found)


def _printed(line: str) -> None:
    # At once, also into a pipe: somebody waits for it.
    typer.echo(line)
    sys.stdout.flush()


class Watch:
    """Decides what is to be done at each look; does not wait and does not print by itself.

    ``paths`` are the files that matter, the score first; ``plan`` plans the score as it is now;
    ``pages`` begins to engrave and returns the job, whose result are lines to say; ``say`` prints a
    line.
    """

    def __init__(
        self,
        paths: Sequence[Path],
        plan: Callable[[], PlannedScore],
        pages: Callable[[], Future[tuple[str, ...]]],
        say: Callable[[str], None],
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._paths = tuple(paths)
        self._plan = plan
        self._pages = pages
        self._say = say
        self._clock = clock
        self._seen: Signature = ()
        self._seen_at = 0.0
        self._done: Signature | None = None
        self._before: PlannedScore | None = None
        self._failure: tuple[float, str] | None = None
        self._job: Future[tuple[str, ...]] | None = None
        self._again = False

    @property
    def at_work(self) -> bool:
        """Whether pages are being engraved."""
        return self._job is not None and not self._job.done()

    def look(self) -> None:
        """Look at the files once, and do what is due."""
        now = self._clock()
        state = signature(self._paths)
        if state != self._seen:
            self._seen, self._seen_at = state, now
        still = now - self._seen_at >= _STILL_SECONDS or self._done is None
        if state != self._done and state[0] is not None and still:
            self._done = state
            self._work(now)
        elif self._failure is not None and now - self._failure[0] >= _PATIENCE_SECONDS:
            self._say(f"{self._failure[1]} Waiting for the next save.")
            self._failure = None
        self._collect()

    def _work(self, now: float) -> None:
        try:
            planned = self._plan()
        except PedalsetterError as error:
            if self._before is None:
                raise
            self._failure = (now, _sentence(str(error)))
            return
        self._failure = None
        self._tell(planned)
        self._before = planned
        if self._job is None:
            self._job = self._pages()
        else:
            self._again = True

    def _tell(self, planned: PlannedScore) -> None:
        if self._before is None:
            self._say(heading(planned.part))
            self._say(counts(planned))
            if not planned.plan.proved_optimal:
                self._say(best_told(planned.plan))
            return
        told = compare_plans((self._before.part, self._before.plan), (planned.part, planned.plan))
        self._say(f"saved: {counts(planned)}")
        if not planned.plan.proved_optimal:
            self._say(f"  {best_told(planned.plan)}")
        for line in comparison_lines(self._before.part, planned.part, told):
            self._say(f"  {line}")

    def _collect(self) -> None:
        """Tell what the pages brought, unless newer ones are wanted already."""
        if self._job is None or not self._job.done():
            return
        job, self._job = self._job, None
        if self._again:
            self._again = False
            self._job = self._pages()
            return
        try:
            lines = job.result()
        except PedalsetterError as error:
            lines = (str(error),)
        for line in lines:
            self._say(line)


def watch_job(job: MarkJob, seconds: int = SECONDS, say: Callable[[str], None] = _printed) -> None:
    """Do ``job`` again whenever one of its files is saved, until the user ends it by Ctrl-C.

    No plan is searched for longer than so many ``seconds``; what is the best by then is taken.

    Raises:
        PedalsetterError: the score cannot be read at the beginning, or the results not be written.
    """
    # A process of its own, not a thread: planning and engraving then go on side by side, and each
    # has its own libraries.
    job.check_place()
    workers = ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn"), initializer=_warm)
    watch = Watch(
        job.watched, lambda: _plan(job, seconds), lambda: workers.submit(_pages, job, seconds), say
    )
    try:
        with _Stop() as stop:
            watch.look()
            say(f"Watching {job.score}. Ctrl-C ends.")
            while not stop.is_set():
                time.sleep(_LOOK_SECONDS)
                watch.look()
    except (KeyboardInterrupt, Stopped):
        pass
    finally:
        rest = " The pages at work are finished first." if watch.at_work else ""
        if sys.exc_info()[0] is None:
            say(f"No longer watching.{rest}")
        workers.shutdown(wait=True, cancel_futures=True)


class _Stop:
    """Ctrl-C as a wish that is granted between two looks; a search, or a second one, is cut short.

    An interruption that is raised wherever the program happens to be can be lost, for instance in
    the middle of collecting garbage.
    """

    def __enter__(self) -> threading.Event:
        self._wish = threading.Event()
        self._before = None
        if threading.current_thread() is threading.main_thread():
            self._before = signal.signal(signal.SIGINT, self._asked)
        return self._wish

    def __exit__(self, *_: object) -> None:
        if self._before is not None:
            signal.signal(signal.SIGINT, self._before)

    def _asked(self, _number: int, _frame: object) -> None:
        if self._wish.is_set() or is_searching():
            self._wish.set()
            raise Stopped
        self._wish.set()


def _plan(job: MarkJob, seconds: int) -> PlannedScore:
    with SearchClock(seconds):
        return job.plan()


def _pages(job: MarkJob, seconds: int) -> tuple[str, ...]:
    """Engrave and write, and return what is to be said of it."""
    with SearchClock(seconds):
        result, written = job.run()
    proof = result.proof
    pages = "1 page" if proof.pages == 1 else f"{proof.pages} pages"
    names = ", ".join(path.name for path in written)
    return (
        *(f"{job.score.name}, {failure}" for failure in proof.failures),
        f"{pages} written to {job.folder}: {names}",
    )


def _warm() -> None:
    """Make the second process ready, and leave Ctrl-C to the first, but for a long search."""
    signal.signal(signal.SIGINT, _cut_short)
    from pedalsetter.engrave.road import load_engraving

    load_engraving()


def _cut_short(_number: int, _frame: object) -> None:
    # The pages at work are finished, with the best plan so far.
    if is_searching():
        end_search()


def _sentence(text: str) -> str:
    return text if text.endswith(".") else f"{text}."
