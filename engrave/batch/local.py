"""The desks of this machine."""

from __future__ import annotations

import os
import queue
import threading
from collections.abc import Iterator, Sequence

from pedalsetter.engrave.batch.desk import Desk
from pedalsetter.engrave.batch.record import Ended
from pedalsetter.engrave.batch.task import Task

__all__ = ["processors", "work_locally"]


def processors() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return os.cpu_count() or 1


def work_locally(tasks: Sequence[Task], jobs: int, kept: Sequence[int] = ()) -> Iterator[Ended]:
    """Treat all tasks at ``jobs`` desks at once, and tell of each as it ends.

    Whoever stops listening (by closing the iterator) ends what is at work. ``kept`` are file
    handles that stay open as long as a desk is there.

    Raises:
        BatchError: a desk cannot be opened.
    """
    waiting: queue.SimpleQueue[Task] = queue.SimpleQueue()
    for task in tasks:
        waiting.put(task)
    ended: queue.SimpleQueue[Ended | Exception] = queue.SimpleQueue()
    desks = [Desk(kept) for _ in range(min(jobs, len(tasks)))]
    stopping = threading.Event()

    def attend(desk: Desk) -> None:
        try:
            while not stopping.is_set():
                ended.put(desk.work(waiting.get_nowait()))
        except queue.Empty:
            pass
        except Exception as error:
            ended.put(error)

    threads = [threading.Thread(target=attend, args=(desk,), daemon=True) for desk in desks]
    for thread in threads:
        thread.start()
    try:
        for _ in tasks:
            told = ended.get()
            if isinstance(told, Exception):
                raise told
            yield told
    finally:
        stopping.set()
        closing = [threading.Thread(target=desk.close) for desk in desks]
        for thread in closing:
            thread.start()
        for thread in (*closing, *threads):
            thread.join()
