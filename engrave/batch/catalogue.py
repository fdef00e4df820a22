"""A whole catalogue: what is left to do, the doing, and the journal of it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from pedalsetter.analysis.errors import BatchError, ScoreError
from pedalsetter.engrave.batch.flat import FLAT
from pedalsetter.engrave.batch.folders import result_folders
from pedalsetter.engrave.batch.journal import JOURNAL, Journal
from pedalsetter.engrave.batch.lock import LOCK
from pedalsetter.engrave.batch.one_score import RECORD_FILE, UNFINISHED
from pedalsetter.engrave.batch.record import Ended, Outcome, Record
from pedalsetter.engrave.batch.scores import CatalogueScore
from pedalsetter.engrave.batch.summary import SUMMARY
from pedalsetter.engrave.batch.task import Task, Treatment

__all__ = ["Work", "run_catalogue", "tasks_of"]

Work = Callable[[Sequence[Task]], Iterator[Ended]]
"""What treats tasks: the desks of this machine, or those of a cluster."""


def tasks_of(
    scores: Sequence[CatalogueScore],
    out: Path,
    treatment: Treatment,
    seconds: int = 600,
    memory_bytes: int = 4 << 30,
    *,
    force: bool = False,
) -> tuple[Task, ...]:
    """One task for each score, in order, each with a folder of its own below ``out``.

    Raises:
        BatchError: a folder would lie where a file is, as if ``out`` is where the scores are.
    """
    digest = treatment.digest()
    found = [score for score in scores if score.trouble is None]
    folders = result_folders(
        [score.name for score in found], (JOURNAL, LOCK, SUMMARY, UNFINISHED, FLAT)
    )
    tasks = tuple(
        Task(
            score=score.name,
            path=str(score.path),
            out=str(out.absolute()),
            folder=folders[score.name],
            treatment=treatment,
            digest=digest,
            seconds=seconds,
            memory_bytes=memory_bytes,
            force=force,
        )
        for score in found
    )
    for task in tasks:
        if task.target.is_file():
            raise BatchError(
                f"the results of {task.score} would lie where a file is",
                mend="Choose another folder with -o.",
            )
    return tasks


def run_catalogue(
    scores: Sequence[CatalogueScore],
    tasks: Sequence[Task],
    journal: Journal,
    work: Work,
    progress: Callable[[Record], None] = lambda _record: None,
) -> tuple[Record, ...]:
    """Do what the journal does not know as done, and write down how it ends.

    ``progress`` is told of every score, those that were done before first. Returns a record for
    each score in the order of their names, whatever the order in which they ended.

    Raises:
        BatchError: the desks cannot be opened, or their cluster is lost.
        OutputError: the journal cannot be written.
    """
    out = journal.path.parent
    shutil.rmtree(out / UNFINISHED, ignore_errors=True)
    for score in scores:
        if score.trouble is not None:
            _tell(journal, progress, _troubled(score))
    left = []
    for task in tasks:
        if _is_done(task, journal.records.get(task.score)):
            progress(journal.records[task.score])
        else:
            left.append(task)
    if left:
        for ended in work(left):
            journal.write(ended)
            progress(ended.record)
    shutil.rmtree(out / UNFINISHED, ignore_errors=True)
    return tuple(journal.records[score.name] for score in scores)


def _tell(journal: Journal, progress: Callable[[Record], None], record: Record) -> None:
    if journal.records.get(record.score) != record:
        journal.write(Ended(record))
    progress(record)


def _troubled(score: CatalogueScore) -> Record:
    what = f"{score.name}: {score.trouble}"
    return Record(score.name, Outcome.FAILED, ScoreError.exit_code, what=what)


def _is_done(task: Task, record: Record | None) -> bool:
    """Whether another try would only find the same again: the very file has ended finally."""
    if record is None or not record.final or record.identity != task.identity():
        return False
    if record.outcome is Outcome.FAILED:
        return True
    return record.folder == task.folder and (task.target / RECORD_FILE).is_file()
