"""Prints a table of the plans of the corpus pieces and of our examples, as Markdown.

Run from the root of the repository: ``python tests/benchmarks/plan_table.py``.

Times are medians of three in one process; the last columns are ratios within this run: planning
beside the time that music21 takes to parse the same file, and per onset.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from statistics import median

import music21

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from corpus_pieces import PIECES  # noqa: E402

from pedalsetter.analysis.part import HarpPart  # noqa: E402
from pedalsetter.analysis.pedal_plan import FindingKind, Severity  # noqa: E402
from pedalsetter.analysis.planning import plan_changes  # noqa: E402
from pedalsetter.analysis.reading import read_part  # noqa: E402

EXAMPLES = (
    "evening-water.musicxml",
    "chromatic-study.musicxml",
    "orchestral-nocturne.musicxml",
    "three-times-round.mxl",
)


def seconds(work: Callable[[], object], times: int = 3) -> float:
    """Median processor seconds of a piece of work."""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return median(taken)


def row(name: str, path: Path, part: HarpPart) -> str:
    """One line of the table."""
    plan = plan_changes(part)
    hard = [one for one in plan.findings if one.severity is not Severity.REMARK]
    kinds = Counter(finding.kind for finding in hard)
    asked_for = {head.id for _, head in part.notes() if abs(head.pitch.alter) < 2}
    respelled = sum(1 for use in plan.respelled if use.note in asked_for)
    silent = sum(1 for use in plan.strings.values() if use.sounding is None)
    onsets = len({(event.onset, event.grace is None) for event in part.events if event.heads})
    planning = seconds(lambda: plan_changes(part))
    parsing = seconds(lambda: music21.converter.parse(path, forceSource=True), 1)
    return (
        f"| {name} | {len(part.bars)} | {onsets} | {len(plan.changes)} "
        f"| {kinds[FindingKind.FOOT_HURRIED]} | {kinds[FindingKind.FOOT_TOO_FAST]} | {silent} "
        f"| {respelled} | {float(plan.cost):.1f} | {'yes' if plan.proved_optimal else 'no'} "
        f"| {planning * 1000:.0f} | {planning * 1000 / max(onsets, 1):.2f} "
        f"| {planning / parsing:.2f} |"
    )


def main() -> None:
    """Print the table."""
    print(  # noqa: T201
        "| piece | bars | onsets | changes | hurried | impossible | silent notes | respelled "
        "| cost | proved | ms | ms an onset | of music21's parse |\n"
        "| --- | --: | --: | --: | --: | --: | --: | --: | --: | --- | --: | --: | --: |"
    )
    for name in EXAMPLES:
        path = ROOT / "examples" / name
        print(row(name, path, read_part(path)), flush=True)  # noqa: T201
    for piece in PIECES:
        part = read_part(piece.path, piece.part)
        print(row(piece.id, piece.path, part), flush=True)  # noqa: T201


if __name__ == "__main__":
    main()
