# ruff: noqa: T201
"""Holds plans of generated parts against the independent exact solver (OR-tools CP-SAT).

    PYTHONPATH=tests python tests/benchmarks/exact_comparison.py [PARTS] [ONSETS]

For each part, a third of them with repeats: what the plan costs, what the solver says is the least
with all strings, moves and settings free, and whether the plan calls itself proved. The solver is
told that some plan costs no more than ours and looks for a cheaper one.
"""

from __future__ import annotations

import sys
from collections import Counter

from exact_solver import least_points
from seeded_parts import small_part

from pedalsetter.analysis.planning import Weights, plan_changes


def main(parts: int = 300, onsets: int = 24) -> None:
    """Print one line for each part that differs, and the counts."""
    counts: Counter[str] = Counter()
    for seed in range(parts):
        part = small_part(seed, onsets)
        plan = plan_changes(part)
        points = int(plan.cost * Weights().change)
        least = least_points(part, Weights(), known=points)
        if least is None:
            said = "not told by the solver in its time"
        elif least == points:
            said = "equal"
        else:
            said = "dearer"
        counts[said, plan.proved_optimal] += 1
        if said != "equal" or not plan.proved_optimal:
            print(
                f"part {seed}: {points}, solver {least}, proved {plan.proved_optimal}", flush=True
            )
    for (said, proved), number in sorted(counts.items()):
        print(f"{number} {said}, {'proved' if proved else 'not proved'}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
