"""What is found in twenty keyboard pieces of music21's corpus, and how long trying mends takes.

    python tests/benchmarks/findings_table.py [--all]

Prints a row a piece; with ``--all`` every finding that is graver than a remark below it. The
judgement by hand that stands beside the figures in ``tests/RESULTS.md`` was made from that list and
from the scores.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from corpus_pieces import PIECES, CorpusPiece

from pedalsetter.analysis.findings import with_all_findings, with_mends
from pedalsetter.analysis.pedal_plan import Severity
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part

_LEFT_OUT = ("dichterliebe_no2", "demos/", "theoryExercises/")
"""The same song twice, and exercises."""


def judged_pieces() -> list[CorpusPiece]:
    """Nineteen pieces with a keyboard part, and one chorale."""
    keyboard = [one for one in PIECES[:23] if not any(name in one.name for name in _LEFT_OUT)]
    return [*keyboard, next(one for one in PIECES if one.id == "bach/bwv277")]


def rows() -> Iterator[str]:
    """The lines of the table."""
    yield "| piece | cannot be played | risky | uncomfortable | with mends | plan s | mends s |"
    yield "| --- | --: | --: | --: | --: | --: | --: |"
    for piece in judged_pieces():
        part = read_part(piece.path, piece.part)
        begin = process_time()
        plan = with_all_findings(part, plan_changes(part))
        planned = process_time()
        plan = with_mends(part, plan)
        mended = process_time()
        grave = [one for one in plan.findings if one.severity is not Severity.REMARK]
        count = Counter(one.severity for one in grave)
        figures = " | ".join(str(count[severity]) for severity in list(Severity)[:3])
        helped = sum(bool(one.mends) for one in grave)
        times = f"{planned - begin:.2f} | {mended - planned:.2f}"
        yield f"| {piece.id} | {figures} | {helped} | {times} |"
        if "--all" in sys.argv:
            for one in grave:
                yield f"    {one.severity.value}, {part.told_place(one.place)}: {one.what}"


def main() -> None:
    """Print the table."""
    for row in rows():
        print(row, flush=True)  # noqa: T201


if __name__ == "__main__":
    main()
