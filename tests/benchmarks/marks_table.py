# ruff: noqa: T201
"""Counts the marks that a harpist would have written otherwise, in the corpus and our examples.

    PYTHONPATH=tests python tests/benchmarks/marks_table.py

A diagram is *contradicted* if a letter moves one of its pedals within the bar that follows it, and
*repeated* if it shows the setting of the diagram before it with no change between them. A letter
stands *at its note* where it could have stood earlier if its foot and its strings were free for
three quarters of a second before.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

from corpus_pieces import PIECES
from example_scores import EXAMPLES

from pedalsetter.analysis.marks.marking import Markings, place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part

_FREE = Fraction(3, 4)


def counts(part: HarpPart, plan: PedalPlan, marks: Markings) -> Counter[str]:
    """The marks of one part by kind."""
    found: Counter[str] = Counter(diagrams=len(marks.diagrams), letters=0)
    before = None
    for diagram in marks.diagrams:
        begin = part.bars[diagram.place.bar].start + diagram.place.offset
        within = [
            change
            for mark in marks.changes
            for change in mark.changes
            if mark.place > diagram.place
            and part.bars[mark.place.bar].start + mark.place.offset
            < begin + part.bars[diagram.place.bar].length
        ]
        found["contradicted"] += bool(within)
        if before is not None and before.setting == diagram.setting:
            moved = any(before.place < one.place <= diagram.place for one in plan.changes)
            found["repeated"] += not moved
        before = diagram
    for mark in marks.changes:
        for change in mark.changes:
            found["letters"] += 1
            free = change.seconds_free is None or change.seconds_free >= _FREE
            foot = change.seconds_since_same_foot
            idle = foot is None or foot >= _FREE
            found["at their note"] += change.needed == change.place and free and idle
    return found


def main() -> None:
    """Print the table."""
    columns = ("diagrams", "contradicted", "repeated", "letters", "at their note")
    print(f"| | {' | '.join(columns)} |")
    print("| --- |" + " --: |" * len(columns))
    total: Counter[str] = Counter()
    for piece in PIECES:
        part = read_part(piece.path, piece.part)
        plan = plan_changes(part)
        total += counts(part, plan, place_marks(part, plan))
    print(f"| {len(PIECES)} pieces | {' | '.join(str(total[one]) for one in columns)} |")
    for example in EXAMPLES:
        part = read_part(example.path)
        plan = plan_changes(part)
        found = counts(part, plan, place_marks(part, plan))
        print(f"| {example.file} | {' | '.join(str(found[one]) for one in columns)} |", flush=True)


if __name__ == "__main__":
    main()
