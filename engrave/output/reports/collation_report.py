"""A collation for a person at a terminal, for a program (JSON), and for a table (CSV).

The JSON document has a version number; a key is only ever added, and ``version`` rises when one
changes its meaning.
"""

from __future__ import annotations

import csv
import io
import json
from typing import Any

from pedalsetter.analysis.collation import Collation, CollationEntry, MarkSeverity
from pedalsetter.analysis.naming.wording import listed, many
from pedalsetter.analysis.part import DoubtfulWords, HarpPart, Place
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.engrave.output.reports.entries import Selection, verdict
from pedalsetter.engrave.output.reports.plan_document import finding_document, score_document
from pedalsetter.engrave.output.reports.report import (
    console_for_results,
    heading,
    print_findings,
    say,
)

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
    part: HarpPart,
    collation: Collation,
    plan: PedalPlan,
    *,
    tried: bool = False,
    selection: Selection = Selection(),  # noqa: B008
) -> None:
    """Print the verdict, a line for each entry, what was doubtful, and what cannot be played.

    ``tried`` says that suggestions for the findings were tried; ``selection`` what is wanted.
    """
    console = console_for_results()
    say(console, heading(part), style="bold")
    say(console, marks_verdict(part, collation), style="bold")
    say(console, f"The notes: {verdict(part, plan)}")
    if collation.marked:
        say(console, _summary(collation))
    bars = selection.bars
    entries = [one for one in collation.entries if bars is None or one.place.bar in bars]
    for severity in MarkSeverity:
        group = [one for one in entries if one.severity is severity]
        if group:
            say(console, f"{severity.value.capitalize()}:", style="bold")
        for entry in group:
            say(console, _line(part, entry), indent=2)
    for doubt in part.doubtful_words:
        words = " ".join(doubt.text.split())
        place = part.place_of(doubt)
        say(console, f"Doubtful, {part.told_place(place)}: '{words}'. {doubt.why}")
    print_findings(console, part, plan.findings, tried=tried, selection=selection)


def marks_verdict(part: HarpPart, collation: Collation) -> str:
    """One sentence for a musician: whether the marks are right, and where not."""
    if not collation.marked:
        return "The score has no pedal marks."
    faults = [entry for entry in collation.entries if entry.is_fault]
    if not faults:
        return "The marks are right: every note comes out as written."
    bars = listed(part.printed_bar(bar) for bar in sorted({one.place.bar for one in faults}))
    several = "s" if len({one.place.bar for one in faults}) > 1 else ""
    verb = "is" if len(faults) == 1 else "are"
    return f"{many(len(faults), 'fault')} {verb} in the marks: bar{several} {bars}."


def _line(part: HarpPart, entry: CollationEntry) -> str:
    """``bar 15, beat 1, missing change: C♮ is to be added. C5 needs …``."""
    told = f"{part.told_place(entry.place)}, {entry.kind.value}: "
    if entry.source and entry.should:
        told += f"{entry.source}, should be {entry.should}. "
    elif entry.should:
        told += f"{entry.should} is to be added. "
    elif entry.source:
        told += f"{entry.source}. "
    return told + entry.why


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
