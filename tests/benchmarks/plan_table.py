"""Prints a table of the plans of the corpus pieces and of our examples, as Markdown.

Run from the root of the repository:

    python tests/benchmarks/plan_table.py [further] [thorough]

``further`` takes thirty other pieces instead, ``thorough`` searches until nothing can be better.
Times are processor times, medians of three in one process (``thorough``: of one). The gap is how
much less the best plan could cost at most, in per cent of the plan that was found.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from corpus_pieces import FURTHER, PIECES  # noqa: E402

from pedalsetter.analysis.part import HarpPart  # noqa: E402
from pedalsetter.analysis.pedal_plan import FindingKind, Severity  # noqa: E402
from pedalsetter.analysis.planning import THOROUGH, USUAL, Effort, plan_changes  # noqa: E402
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


def row(name: str, part: HarpPart, effort: Effort) -> str:
    """One line of the table."""
    plan = plan_changes(part, effort=effort)
    hard = [one for one in plan.findings if one.severity is not Severity.REMARK]
    kinds = Counter(finding.kind for finding in hard)
    asked_for = {head.id for _, head in part.notes() if abs(head.pitch.alter) < 2}
    respelled = sum(1 for use in plan.respelled if use.note in asked_for)
    silent = sum(1 for use in plan.strings.values() if use.sounding is None)
    onsets = len({(event.onset, event.grace is None) for event in part.events if event.heads})
    times = 1 if effort is THOROUGH else 3
    planning = seconds(lambda: plan_changes(part, effort=effort), times)
    gap = "?" if plan.gap is None else f"{float(100 * plan.gap):.1f}"
    return (
        f"| {name} | {len(part.bars)} | {onsets} | {len(plan.changes)} "
        f"| {kinds[FindingKind.FOOT_HURRIED]} | {kinds[FindingKind.FOOT_TOO_FAST]} | {silent} "
        f"| {respelled} | {float(plan.cost):.2f} | {gap} "
        f"| {planning * 1000:.0f} | {planning * 1000 / max(onsets, 1):.2f} |"
    )


def main(*wanted: str) -> None:
    """Print the table."""
    print(  # noqa: T201
        "| piece | bars | onsets | changes | hurried | impossible | silent notes | respelled "
        "| cost | gap, % | ms | ms an onset |\n"
        "| --- | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: |"
    )
    effort = THOROUGH if "thorough" in wanted else USUAL
    further = "further" in wanted
    for name in () if further else EXAMPLES:
        print(row(name, read_part(ROOT / "examples" / name), effort), flush=True)  # noqa: T201
    for piece in FURTHER if further else PIECES:
        part = read_part(piece.path, piece.part)
        print(row(piece.id, part, effort), flush=True)  # noqa: T201


if __name__ == "__main__":
    main(*sys.argv[1:])
