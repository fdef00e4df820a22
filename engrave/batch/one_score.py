"""The work of one score: the road, and its results put in their place by one rename."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import stat
import tempfile
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

from pedalsetter.analysis.decisions.file import decisions_beside
from pedalsetter.analysis.errors import (
    EngravingError,
    OutputError,
    PedalsetterError,
    ScoreError,
)
from pedalsetter.analysis.naming.wording import listed
from pedalsetter.analysis.part import Notice
from pedalsetter.analysis.pedal_plan import Severity
from pedalsetter.analysis.planning import THOROUGH, USUAL
from pedalsetter.engrave.batch.record import Ended, Outcome, Record
from pedalsetter.engrave.batch.task import Task
from pedalsetter.engrave.output.files import write_files
from pedalsetter.engrave.output.own_results import is_untouched
from pedalsetter.engrave.output.reports.notices_told import notice_lines
from pedalsetter.engrave.output.reports.plan_document import findings_that_matter
from pedalsetter.engrave.output.results import EngravedScore
from pedalsetter.engrave.road import decisions_for, files_of, mark_score, proof_beside

__all__ = ["RECORD_FILE", "UNFINISHED", "finished_record", "treat"]

RECORD_FILE = "record.json"
"""The record in the folder of the results: it tells a resumed run whose they are."""

UNFINISHED = ".unfinished"
"""The folder below the output folder in which results become whole."""

_DETAIL = 4000
"""Characters of the engraver's log that are kept."""


def treat(task: Task) -> Ended:
    """Mark one score and put its results into their folder; never raises one of our errors.

    Results that lie there already and are of the same score and treatment are kept.
    """
    identity = task.identity()
    record = finished_record(task.target, identity, task.digest)
    if record is not None:
        return Ended(record)
    try:
        _keep_what_was_edited(task)
    except OutputError as error:
        return Ended(_without_results(task, identity, Outcome.LOST, error))
    try:
        _refuse_what_is_no_file(task)
        treatment = task.treatment
        result = mark_score(
            task.path,
            treatment.part,
            house_style=treatment.house_style,
            dpi=treatment.dpi,
            wanted=treatment.wanted,
            decisions=decisions_for(
                task.path,
                look=treatment.decisions,
                respell=treatment.respell,
                allow=treatment.allow,
            ),
            effort=THOROUGH if treatment.thorough else USUAL,
            source_marks=treatment.source_marks,
            proof_beside=proof_beside(decisions_beside(task.path) if treatment.decisions else None),
        )
        files, notices = files_of(result, task.path, treatment.wanted)
        record = _record_of(task, identity, result, notices, files)
    except PedalsetterError as error:
        failed = _without_results(task, identity, Outcome.FAILED, error)
        return Ended(failed, detail=_engraver_log() if _engraver_failed(error) else None)
    try:
        return Ended(_put_in_place(task, record, files))
    except OutputError as error:
        return Ended(_without_results(task, identity, Outcome.LOST, error))


def _without_results(
    task: Task, identity: str | None, outcome: Outcome, error: PedalsetterError
) -> Record:
    return Record(
        task.score,
        outcome,
        error.exit_code,
        identity=identity,
        treatment=task.digest,
        what=_line_of(error),
    )


def finished_record(target: Path, identity: str | None, digest: str) -> Record | None:
    """The record in a folder of results, if it is of this very score and treatment."""
    record = _record_in(target)
    if record is None or identity is None:
        return None
    return record if (record.identity, record.treatment) == (identity, digest) else None


def _record_in(target: Path) -> Record | None:
    try:
        return Record.from_data(json.loads((target / RECORD_FILE).read_bytes()))
    except (OSError, ValueError):
        return None


def _keep_what_was_edited(task: Task) -> None:
    """Refuse to do a score again whose earlier results somebody has changed or added to.

    Raises:
        OutputError: there are such files.
    """
    earlier = _record_in(task.target)
    if earlier is None or task.force:
        return
    others = sorted(
        path.relative_to(task.target).as_posix()
        for path in task.target.rglob("*")
        if not path.is_dir() and not _as_recorded(path, earlier)
    )
    if others:
        raise OutputError(
            f"{listed(others)} in {task.folder} {'is' if len(others) == 1 else 'are'} not as "
            "Pedalsetter wrote the results there",
            file=Path(task.path).name,
            mend="Move what you want to keep, or give --force to replace it.",
        )


def _as_recorded(path: Path, record: Record) -> bool:
    try:
        content = path.read_bytes()
    except OSError:
        return False
    if path.name == RECORD_FILE:
        return is_untouched(path.name, content)
    return record.files.get(path.name) == hashlib.sha256(content).hexdigest()


def _refuse_what_is_no_file(task: Task) -> None:
    """A pipe or a device would be read for ever."""
    try:
        kind = Path(task.path).stat().st_mode
    except (OSError, ValueError):
        return  # the reader says it better
    if not stat.S_ISREG(kind):
        raise ScoreError("this is no ordinary file", file=Path(task.path).name)


def _record_of(
    task: Task,
    identity: str | None,
    result: EngravedScore,
    notices: Sequence[Notice],
    files: Mapping[str, bytes],
) -> Record:
    planned = result.planned
    grave = Counter(each.severity for each in findings_that_matter(planned.plan.findings))
    findings = grave.total()
    failures = result.proof.failures
    edition = planned.edition
    wrong = bool(findings) or (edition is not None and bool(edition.remaining.wrong))
    code = EngravingError.exit_code if not result.proof.holds else 1 if wrong else 0
    return Record(
        score=task.score,
        outcome=Outcome.DONE,
        exit_code=code,
        folder=task.folder,
        identity=identity,
        treatment=task.digest,
        what="; ".join(str(failure) for failure in failures) or None,
        title=planned.part.title,
        bars=len(planned.part.bars),
        notes=sum(1 for _ in planned.part.notes()),
        changes=len(planned.plan.changes),
        diagrams=len(planned.markings.diagrams),
        findings=findings,
        unplayable=grave[Severity.UNPLAYABLE],
        risky=grave[Severity.RISKY],
        uncomfortable=grave[Severity.UNCOMFORTABLE],
        notices=len(notices),
        read_in_part=notice_lines(notices),
        pages=result.proof.pages,
        files={name: hashlib.sha256(files[name]).hexdigest() for name in sorted(files)},
    )


def _put_in_place(task: Task, record: Record, files: Mapping[str, bytes]) -> Record:
    """Write everything into a private folder, and rename it into its place.

    Raises:
        OutputError: it cannot be written, or the place is taken by something else.
    """
    out, target = Path(task.out), task.target
    try:
        (out / UNFINISHED).mkdir(parents=True, exist_ok=True)
        private = Path(tempfile.mkdtemp(dir=out / UNFINISHED))
        try:
            everything = {**files, RECORD_FILE: record.as_json().encode()}
            for path in write_files(private, everything, Path(task.path)):
                _sync(path)
            umask = os.umask(0)
            os.umask(umask)
            private.chmod(0o777 & ~umask)
            _sync(private)
            target.parent.mkdir(parents=True, exist_ok=True)
            return _renamed(task, record, private)
        finally:
            shutil.rmtree(private, ignore_errors=True)
    except OSError as error:
        raise OutputError(
            f"the results cannot be written: {error.strerror or error}",
            file=Path(task.path).name,
            mend="Make room or choose another folder, and go on with --resume.",
        ) from error


def _renamed(task: Task, record: Record, private: Path) -> Record:
    target = task.target
    for _ in range(2):
        try:
            # Renaming onto a folder that holds something fails, so of two that finish one score
            # the second finds the first one's results and leaves them.
            private.rename(target)
        except OSError:
            if not target.exists():
                raise
            there = finished_record(target, record.identity, task.digest)
            if there is not None:
                return there
            if _record_in(target) is None:
                raise OutputError(
                    f"the folder {task.folder} holds something else",
                    file=Path(task.path).name,
                    mend="Choose another output folder, or clear this one.",
                ) from None
            # Results of an earlier state of the score make room.
            target.rename(Path(tempfile.mkdtemp(dir=private.parent)) / "earlier")
        else:
            _sync(target.parent)
            return record
    raise OutputError(f"the folder {task.folder} is taken again and again")


def _sync(path: Path) -> None:
    """Bring a file or a folder to the disk, so that the journal never knows more than the disk."""
    if os.name != "posix" and path.is_dir():
        return  # only POSIX opens folders
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _engraver_failed(error: PedalsetterError) -> bool:
    return isinstance(error, EngravingError)


def _line_of(error: PedalsetterError) -> str:
    if not _engraver_failed(error) or error.mend is None or tempfile.gettempdir() not in error.mend:
        return str(error)
    # The private folder of the engraver, which the mend names, goes with the process.
    told = type(error)(
        error.what, file=error.file, bar=error.bar, beat=error.beat, staff=error.staff
    )
    return str(told)


def _engraver_log() -> str | None:
    """The end of the engraver's log in the private folder for temporary files."""
    logs = sorted(Path(tempfile.gettempdir()).glob("pedalsetter-*/part.log"))
    if not logs:
        return None
    return logs[-1].read_text("utf-8", errors="replace")[-_DETAIL:] or None
