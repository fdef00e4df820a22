"""How a catalogue came out: a table for the eye and one for a spreadsheet, without any time."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pedalsetter.analysis.errors import OutputError
from pedalsetter.engrave.batch.record import Outcome, Record

__all__ = ["SUMMARY", "check_summary", "exit_code", "print_summary", "summary_csv", "summary_json"]

SUMMARY = "summary.csv"
"""Its name in the output folder."""

_SHOWN = 20
"""Scores that went wrong and are listed on the terminal; the others stand in the file."""

_COLUMNS = (
    "score",
    "outcome",
    "exit code",
    "folder",
    "title",
    "bars",
    "notes",
    "changes",
    "diagrams",
    "findings",
    "cannot be played",
    "risky",
    "uncomfortable",
    "notices",
    "pages",
    "what",
)


def summary_csv(records: Sequence[Record]) -> bytes:
    """One line a score, in the order given; UTF-8 with a mark, as spreadsheets want it."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for record in records:
        writer.writerow(
            [
                _cell(record.score),
                record.outcome.value,
                record.exit_code,
                _cell(record.folder or ""),
                _cell(record.title or ""),
                record.bars,
                record.notes,
                record.changes,
                record.diagrams,
                record.findings,
                record.unplayable,
                record.risky,
                record.uncomfortable,
                record.notices,
                record.pages,
                _cell(record.what or ""),
            ]
        )
    return text.getvalue().encode("utf-8-sig", "backslashreplace")


def check_summary(out: Path, digest: str | None, *, force: bool) -> None:
    """Refuse before the work to replace a summary that is not as we wrote it.

    ``digest`` is its SHA-256 by the journal of an earlier run, None without one.

    Raises:
        OutputError: there is such a file, and not ``force``.
    """
    path = out / SUMMARY
    if force or not path.exists():
        return
    if path.is_file() and hashlib.sha256(path.read_bytes()).hexdigest() == digest:
        return
    raise OutputError(
        f"{SUMMARY} is there already, and not as Pedalsetter wrote it",
        file=str(out),
        mend="Move it, or give --force to replace it.",
    )


def summary_json(records: Sequence[Record]) -> str:
    """The records as one JSON document, in the order given."""
    data = {
        "format": "pedalsetter batch",
        "version": 1,
        "scores": [record.as_data() for record in records],
    }
    # Names of files may hold bytes that are no text; only ASCII can carry them.
    return json.dumps(data, indent=2) + "\n"


def print_summary(console: Console, records: Sequence[Record]) -> None:
    """Print how many ended how, and what went wrong with which."""
    table = Table("outcome", box=None)
    for head in ("scores", *_COUNTED):
        table.add_column(head, justify="right")
    groups = [
        (outcome.value, [record for record in records if record.outcome is outcome])
        for outcome in Outcome
    ]
    for name, group in (*groups, ("all", list(records))):
        if group or name == "all":
            table.add_row(name, *_counts(group))
    console.print(table)
    wrong = [record for record in records if record.what is not None]
    for record in wrong[:_SHOWN]:
        console.print(
            Text(f"{_printable(record.score)} ({record.outcome.value}): ")
            + Text(_printable(record.what or ""))
        )
    if len(wrong) > _SHOWN:
        console.print(Text(f"and {len(wrong) - _SHOWN} more, in {SUMMARY}"))


def exit_code(records: Sequence[Record], strict: bool) -> int:
    """The highest exit code of all scores; findings count only if ``strict``."""
    return max(
        (record.exit_code for record in records if strict or record.exit_code != 1), default=0
    )


_COUNTED = {
    "bars": "bars",
    "changes": "changes",
    "cannot be played": "unplayable",
    "risky": "risky",
    "uncomfortable": "uncomfortable",
    "pages": "pages",
}
"""Columns of the table on the terminal, and what is counted in them."""


def _counts(records: Sequence[Record]) -> tuple[str, ...]:
    return (
        str(len(records)),
        *(str(sum(getattr(record, name) for record in records)) for name in _COUNTED.values()),
    )


def _cell(text: str) -> str:
    """Text as a spreadsheet must take it: never as a formula, on one line."""
    shown = _printable(text)
    return f"'{shown}" if shown.startswith(("=", "+", "-", "@")) else shown


def _printable(text: str) -> str:
    """The text without what would steer a terminal; bytes that are no text are shown as such."""
    told = text.encode("utf-8", "backslashreplace").decode()
    return "".join(sign if sign.isprintable() else "�" for sign in told)
