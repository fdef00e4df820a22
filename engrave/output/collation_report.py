"""A collation for a person at a terminal, for a program (JSON), and for a table (CSV).

The JSON document has a version number; a key is only ever added, and ``version`` rises when one
changes its meaning.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from typing import Any

from rich.table import Table
from rich.text import Text

from pedalsetter.analysis.collation import Collation, CollationEntry, MarkSeverity
from pedalsetter.analysis.part import DoubtfulWords, HarpPart, Place
from pedalsetter.analysis.pedal_plan import Finding, PedalPlan
from pedalsetter.analysis.wording import many
from pedalsetter.engrave.output.plan_document import finding_document, score_document
from pedalsetter.engrave.output.report import console_for_results, heading, print_findings

__all__ = [
    "COLLATION_DOCUMENT_VERSION",
    "collation_csv",
    "collation_document",
    "collation_json",
    "print_collation",
]

COLLATION_DOCUMENT_VERSION = 1

_COLUMNS = (
    "bar",
    "beat",
    "bar_index",
    "offset_quarters",
    "staff",
    "severity",
    "kind",
    "letters",
    "stands",
    "should",
    "why",
)


def collation_json(part: HarpPart, plan: PedalPlan, collation: Collation) -> str:
    """The document as text: UTF-8 characters kept, two spaces of indent, newline at the end."""
    document = collation_document(part, plan, collation)
    return json.dumps(document, ensure_ascii=False, indent=2) + "\n"


def collation_document(part: HarpPart, plan: PedalPlan, collation: Collation) -> dict[str, Any]:
    """The document as plain data, keys in a fixed order."""
    return {
        "format": "pedalsetter collation",
        "version": COLLATION_DOCUMENT_VERSION,
        "score": score_document(part),
        "marked": collation.marked,
        "wrong": collation.wrong,
        "diagrams": collation.diagrams,
        "letters": collation.letters,
        "language": collation.language,
        "changes_made": collation.made,
        "changes_missing": collation.missing,
        "changes_planned": len(plan.changes),
        "counts": {kind.value: count for kind, count in collation.counts().items()},
        "entries": [_entry(part, entry) for entry in collation.entries],
        "doubtful": [_doubt(part, doubt) for doubt in part.doubtful_words],
        "findings": [finding_document(part, finding) for finding in plan.findings],
    }


def collation_csv(part: HarpPart, collation: Collation) -> str:
    """One line an entry under a line of headings; commas, and quotes where a field needs them."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for entry in collation.entries:
        row = _entry(part, entry)
        row["letters"] = " ".join(row["letters"])
        writer.writerow("" if row[name] is None else row[name] for name in _COLUMNS)
    return buffer.getvalue()


def print_collation(
    part: HarpPart, collation: Collation, findings: Sequence[Finding] = (), *, tried: bool = False
) -> None:
    """Print a table of all entries, what was doubtful, the counts, and what cannot be played.

    ``tried`` says that mends of the findings were tried.
    """
    console = console_for_results()
    console.print(Text(heading(part), style="bold"))
    if not collation.marked:
        console.print(Text("The source has no pedal marks."))
    else:
        console.print(Text(_summary(collation)))
    if collation.entries:
        console.print(_table(part, collation))
    for doubt in part.doubtful_words:
        words = " ".join(doubt.text.split())
        place = part.place_of(doubt)
        console.print(Text(f"Doubtful, {part.told_place(place)}: '{words}'. {doubt.why}"))
    if collation.marked and not collation.entries:
        console.print(Text("Every note comes out as written, and every mark is needed."))
    print_findings(console, part, findings, tried=tried)


def _summary(collation: Collation) -> str:
    counted = {
        severity: sum(entry.severity is severity for entry in collation.entries)
        for severity in MarkSeverity
    }
    told = ", ".join(f"{count} {each.value}" for each, count in counted.items() if count)
    language = f" in {collation.language}" if collation.language else ""
    return (
        f"The source has {many(collation.diagrams, 'diagram')} and "
        f"{many(collation.letters, 'letter')}{language}; entries: {told or 'none'}."
    )


def _table(part: HarpPart, collation: Collation) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("bar", justify="right", no_wrap=True)
    for column in ("beat", "severity"):
        table.add_column(column, no_wrap=True)
    for column in ("what", "stands", "should stand", "why"):
        table.add_column(column)
    for entry in collation.entries:
        table.add_row(
            Text(part.printed_bar(entry.place.bar)),
            Text(part.printed_beat(entry.place)),
            Text(entry.severity.value),
            Text(entry.kind.value),
            Text(entry.source or "–"),
            Text(entry.should or "–"),
            Text(entry.why),
        )
    return table


def _entry(part: HarpPart, entry: CollationEntry) -> dict[str, Any]:
    return {
        "kind": entry.kind.value,
        "severity": entry.severity.value,
        **_place(part, entry.place),
        "staff": entry.staff,
        "letters": [letter.value for letter in entry.letters],
        "stands": entry.source,
        "should": entry.should,
        "why": entry.why,
        "marks": list(entry.marks),
        "notes": list(entry.notes),
    }


def _doubt(part: HarpPart, doubt: DoubtfulWords) -> dict[str, Any]:
    place = part.place_of(doubt)
    return {"text": doubt.text, **_place(part, place), "staff": doubt.staff, "why": doubt.why}


def _place(part: HarpPart, place: Place) -> dict[str, Any]:
    return {
        "bar": part.printed_bar(place.bar),
        "beat": part.printed_beat(place),
        "bar_index": place.bar,
        "offset_quarters": str(place.offset),
    }
