# ruff: noqa: T201
"""Holds plans of generated parts against the independent exact programme.

    PYTHONPATH=tests python tests/benchmarks/exact_comparison.py [PARTS] [ONSETS] [KIND] [LOG]

KIND is ``counted`` (half to all of ONSETS in each part, all numbers equally likely), ``small``
(one to four bars, ONSETS at most; of 300 parts of up to 24 half have no more than 9) or
``trembling`` (one to three bars with trills and tremolos, whatever ONSETS says) or ``sectioned``
(small ones with sections, whose diagrams tell changes). A third of the
parts have repeats. For each: what the plan costs, what the programme says is the least with
all strings, moves and settings free, and whether the plan calls itself proved. A part that takes
more than two minutes of the processor, or more memory than granted, counts as not told. LOG is a
file that keeps what is done, so that a run can be stopped and taken up again.
"""

from __future__ import annotations

import signal
import sys
from collections import Counter
from pathlib import Path
from time import process_time
from types import FrameType

from exact_foot import TooManyStatesError
from exact_programme import least_cost
from seeded_parts import counted_part, sectioned_part, small_part, trembling_part

from pedalsetter.analysis.planning import Weights, plan_changes

SECONDS = 120


def _too_long(_signal: int, _frame: FrameType | None) -> None:
    raise TimeoutError


def compare(seed: int, onsets: int, kind: str) -> str:
    """One line: the seed, the plan's points, the least, whether proved, the seconds."""
    if kind == "trembling":
        part = trembling_part(seed)
    else:
        kinds = {"counted": counted_part, "small": small_part, "sectioned": sectioned_part}
        part = kinds[kind](seed, onsets)
    plan = plan_changes(part)
    points = int(plan.cost * Weights().change)
    began = process_time()
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        # A plan that costs less than it says would be found out by an answer beyond its price.
        least = str(least_cost(part, Weights(), points))
    except (TimeoutError, TooManyStatesError):
        least = "untold"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    proved = "proved" if plan.proved_optimal else "unproved"
    return f"{kind} {onsets} {seed} {points} {least} {proved} {process_time() - began:.1f}"


def main(parts: int = 300, onsets: int = 24, kind: str = "counted", log: str = "") -> None:
    """Print one line for each part that differs, and the counts."""
    signal.signal(signal.SIGPROF, _too_long)
    file = Path(log) if log else None
    lines = file.read_text().splitlines() if file is not None and file.exists() else []
    done = {tuple(line.split()[:3]): line for line in lines}
    counts: Counter[str] = Counter()
    for seed in range(parts):
        line = done.get((kind, str(onsets), str(seed)))
        if line is None:
            line = compare(seed, onsets, kind)
            if file is not None:
                with file.open("a") as out:
                    out.write(line + "\n")
        _, _, _, points, least, proved, _ = line.split()
        if least == "untold":
            said = "not told in time"
        elif least == points:
            said = "equal"
        else:
            said = "dearer than the least" if int(least) < int(points) else "cheaper than possible"
        counts[f"{said}, {proved}"] += 1
        if said != "equal":
            print(line, flush=True)
    for said, number in sorted(counts.items()):
        print(number, said)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]), *sys.argv[3:])
