# ruff: noqa: T201
"""Holds plans in which feet may cross and move two pedals at once against the exact solver.

    PYTHONPATH=tests python tests/benchmarks/freer_feet_comparison.py [PARTS] [ONSETS]

As ``exact_comparison``, with parts in which several pedals move from chord to chord; also told is
how often the freedoms are used.
"""

from __future__ import annotations

import sys
from collections import Counter

from freer_feet_solver import least_points
from hasty_parts import hasty_part

from pedalsetter.analysis.planning import Weights, plan_changes
from pedalsetter.analysis.planning.weights import CROSSED, TWO_PEDALS


def main(parts: int = 60, onsets: int = 5) -> None:
    """Print one line for each part that differs, and the counts."""
    counts: Counter[tuple[str, bool]] = Counter()
    used: Counter[str] = Counter()
    weights = Weights(crossed=CROSSED, two_pedals=TWO_PEDALS)
    for seed in range(parts):
        part = hasty_part(seed, onsets)
        plan = plan_changes(part, weights=weights)
        used["crossed"] += any(change.crossed for change in plan.changes)
        used["two at once"] += any(change.together for change in plan.changes)
        points = int(plan.cost * weights.change)
        least = least_points(part, weights, known=points)
        if least is None:
            said = "not told by the solver in its time"
        else:
            said = "equal" if least == points else "dearer"
        counts[said, plan.proved_optimal] += 1
        if said != "equal" or not plan.proved_optimal:
            print(
                f"part {seed}: {points}, solver {least}, proved {plan.proved_optimal}", flush=True
            )
    for (said, proved), number in sorted(counts.items()):
        print(f"{number} {said}, {'proved' if proved else 'not proved'}")
    print(", ".join(f"{number} parts with {name}" for name, number in used.items()))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
