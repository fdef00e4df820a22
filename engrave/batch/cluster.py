"""The desks of a Dask cluster: the same work on the workers of an existing scheduler.

Every worker sees the scores and the output folder under the same paths. A worker treats a score at
a desk of its own, so a score that breaks down does not take the worker with it. When a worker is
lost, its scores go to another one; what it had finished lies in its folder and is found there.
"""

from __future__ import annotations

import json
import logging
import threading
from collections.abc import Iterator, Sequence
from importlib.metadata import version
from itertools import islice
from typing import Any

from pedalsetter.analysis.errors import BatchError
from pedalsetter.engrave.batch.desk import Desk
from pedalsetter.engrave.batch.record import Ended
from pedalsetter.engrave.batch.serving import lost
from pedalsetter.engrave.batch.task import Task

__all__ = ["at_a_desk", "program_version", "work_on_cluster"]

_AT_ONCE = 1000
"""Tasks that the scheduler holds at a time: enough for any cluster, little to hold."""

_free: list[Desk] = []
_one_at_a_time = threading.Lock()


def work_on_cluster(
    tasks: Sequence[Task], address: str, patience_seconds: int = 15
) -> Iterator[Ended]:
    """Treat all tasks on the workers of the scheduler at ``address``; tell of each as it ends.

    Raises:
        BatchError: Dask is not installed, no scheduler answers, its workers have another
            Pedalsetter or none, or the scheduler is lost.
    """
    try:
        from distributed import Client, as_completed
    except ImportError as error:
        raise BatchError(
            "--cluster needs Dask, which is not installed",
            mend="Install it with: pip install 'pedalsetter[cluster]'",
        ) from error
    _silence_dask()
    try:
        client = Client(address, timeout=patience_seconds, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise BatchError(
            f"no Dask scheduler answers at {address}",
            mend="Give the address that the scheduler prints, as in tcp://host:8786.",
        ) from error
    try:
        _same_program(client)
        coming = iter(tasks)
        of: dict[str, Task] = {}

        def submitted(task: Task) -> Any:
            future = client.submit(at_a_desk, task.as_json(), pure=False)
            of[future.key] = task
            return future

        first = [submitted(task) for task in islice(coming, _AT_ONCE)]
        under_way = as_completed(first, loop=client.loop)
        for future in under_way:
            yield _answer(future, of.pop(future.key))
            for task in islice(coming, 1):
                under_way.add(submitted(task))
    except OSError as error:  # as Dask's errors of a broken connection are
        raise _scheduler_lost() from error
    finally:
        client.close(timeout=5)


def at_a_desk(line: str) -> str:
    """What a worker runs: treat one task at a free desk of this process."""
    task = Task.from_json(line)
    with _one_at_a_time:
        desk = _free.pop() if _free else Desk()
    try:
        return json.dumps(desk.work(task).as_data())
    finally:
        with _one_at_a_time:
            _free.append(desk)


def program_version() -> str:
    """The version of Pedalsetter that a worker has."""
    return version("pedalsetter")


def _silence_dask() -> None:
    """What Dask logs with a traceback, we tell in one line."""
    for name in ("distributed", *logging.root.manager.loggerDict):
        if name.split(".")[0] in ("distributed", "tornado"):
            logging.getLogger(name).setLevel(logging.CRITICAL)


def _same_program(client: Any) -> None:
    own = program_version()
    try:
        others = client.run(program_version)
    except Exception as error:
        raise BatchError(
            "a worker of the cluster cannot run Pedalsetter",
            mend="Install pedalsetter on every worker.",
        ) from error
    for worker, other in sorted(others.items()):
        if other != own:
            raise BatchError(
                f"the worker {worker} has Pedalsetter {other}, this machine {own}",
                mend="Install the same version everywhere.",
            )


def _answer(future: Any, task: Task) -> Ended:
    if future.status == "finished":
        return Ended.from_data(json.loads(future.result()))
    if future.status == "error":
        error = future.exception()
        if type(error).__name__ == "KilledWorker":
            return lost(task, "every worker that took it was lost")
        return lost(task, f"the worker failed: {type(error).__name__}: {error}")
    raise _scheduler_lost()


def _scheduler_lost() -> BatchError:
    return BatchError("the scheduler was lost", mend="Go on with --resume when it is back.")
