"""What became of the source's own marks, in a line or two for the summary."""

from __future__ import annotations

from pedalsetter.analysis.collation import Collation, is_pedalled
from pedalsetter.analysis.editing import Edition
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.naming.wording import many
from pedalsetter.analysis.part import HarpPart

__all__ = ["edition_lines"]


def edition_lines(part: HarpPart, edition: Edition) -> tuple[str, ...]:
    """One sentence or two; none for a part whose source is not pedalled."""
    if not is_pedalled(part):
        return ()
    source = edition.collation
    owned = f"The source's own marks ({_counted(source)})"
    if edition.mode is SourceMarks.REPLACE:
        faults = _faults(source)
        told = f"{owned} are replaced by the plan's"
        told += f"; they had {faults}, which check lists." if faults else "."
        return (told, "With --source-marks keep or complete they stay.")
    added = sum(mark.editorial for mark in edition.markings.diagrams)
    added += sum(len(mark.added) for mark in edition.markings.changes)
    if edition.mode is SourceMarks.KEEP:
        lines = [f"{owned} stand, and nothing is added."]
    elif added:
        lines = [f"{owned} stand; {many(added, 'addition')} in brackets."]
    else:
        lines = [f"{owned} stand; nothing is missing."]
    faults = _faults(edition.remaining)
    if faults:
        lines.append(f"As printed they have {faults}; check and --critical-report list them.")
    return tuple(lines)


def _counted(collation: Collation) -> str:
    return f"{many(collation.diagrams, 'diagram')}, {many(collation.letters, 'letter')}"


def _faults(collation: Collation) -> str:
    count = sum(entry.is_fault for entry in collation.entries)
    return many(count, "fault") if count else ""
