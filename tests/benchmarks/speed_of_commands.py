# ruff: noqa: T201
"""How long the commands take that do not engrave, beside music21's bare parse, in one run.

    python tests/benchmarks/speed_of_commands.py [RUNS]

``plan`` and ``check`` read parts of 1, 4 and 20 pages (those of speed_of_mark.py); beside them
stands Python that starts, imports music21 and parses the same file, and nothing more. ``--help``
and ``--version`` stand beside Python that does nothing. Whole processes, medians, each turn one of
all, so that a busy machine is busy for all.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

from speed_of_mark import BARS, as_installed, score_of, seconds

PEDALSETTER = str(Path(sys.executable).with_name("pedalsetter"))
PARSE = "import sys; from music21 import converter; converter.parse(sys.argv[1], forceSource=True)"
NOTHING = [sys.executable, "-c", "pass"]


def medians(
    commands: Mapping[str, list[str]], runs: int, folder: Path
) -> dict[str, tuple[float, float]]:
    """Seconds by the clock and of processor time of each command, run in turns."""
    times: dict[str, list[tuple[float, float]]] = {name: [] for name in commands}
    environment = as_installed(folder)
    for run in range(runs + 1):
        for name, command in commands.items():
            # ``check`` ends with 1 where a mark is missing, as it is in a part without marks.
            taken = seconds(command, folder, environment, allowed=(0, 1))
            if run:  # the first is not measured: all files are at hand after it
                times[name].append(taken)
    return {
        name: (
            statistics.median(clock for clock, _ in each),
            statistics.median(work for _, work in each),
        )
        for name, each in times.items()
    }


def reading_table(runs: int) -> None:
    """``plan`` and ``check`` beside the bare parse."""
    print("| bars | command | by the clock | ratio | processor time | ratio |")
    print("| --: | --- | --: | --: | --: | --: |")
    for bars in BARS.values():
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            score = str(score_of(bars, folder))
            commands = {
                "music21's bare parse": [sys.executable, "-c", PARSE, score],
                "`plan`": [PEDALSETTER, "plan", score],
                "`check`": [PEDALSETTER, "check", score],
            }
            _rows(medians(commands, runs, folder), str(bars))


def starting_table(runs: int) -> None:
    """``--help`` and ``--version`` beside Python that does nothing."""
    print("| command | by the clock | ratio | processor time | ratio |")
    print("| --- | --: | --: | --: | --: |")
    commands = {
        "`python -c pass`": NOTHING,
        "`--version`": [PEDALSETTER, "--version"],
        "`--help`": [PEDALSETTER, "--help"],
        "`mark --help`": [PEDALSETTER, "mark", "--help"],
    }
    with tempfile.TemporaryDirectory() as name:
        _rows(medians(commands, runs, Path(name)), None)


def _rows(figures: Mapping[str, tuple[float, float]], head: str | None) -> None:
    (base_clock, base_work), *_ = figures.values()
    for name, (clock, work) in figures.items():
        first = f"| {head} " if head is not None else ""
        print(
            f"{first}| {name} | {clock:.2f} | {clock / base_clock:.2f} "
            f"| {work:.2f} | {work / base_work:.2f} |",
            flush=True,
        )


def main(runs: int) -> None:
    """Print both tables."""
    print(f"medians of {runs} runs, seconds of whole processes\n")
    reading_table(runs)
    print()
    starting_table(4 * runs + 1)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
