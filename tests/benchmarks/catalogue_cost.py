# ruff: noqa: T201
"""What a catalogue costs: a batch over real parts, told from its own journal.

    PYTHONPATH=tests python tests/benchmarks/catalogue_cost.py [JOBS]

The catalogue is our examples and the pieces of ``corpus_pieces.py`` whose file is a keyboard part
alone. Processor time is that of all processes a score needed, LilyPond included, as the system
counts it; so the core-hours hardly depend on how busy the machine is.
"""

from __future__ import annotations

import json
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from corpus_pieces import PIECES

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PARTS = 100_000
WAYS = {
    "as `mark` does": (),
    "`--no-png`": ("--no-png",),
    "`--no-png --no-mends`": ("--no-png", "--no-mends"),
}


def main(jobs: str) -> None:
    """Print the table."""
    scores = [*EXAMPLES.glob("*.m*x*l"), *(piece.path for piece in PIECES if piece.part is None)]
    print(
        "| options | scores | pages | seconds of processor a score: mean | median | longest | "
        "a page | peak memory, MB | by the clock | core-hours for 100,000 |"
    )
    print("| --- " + "| --: " * 9 + "|")
    with tempfile.TemporaryDirectory() as name:
        catalogue = Path(name, "in")
        catalogue.mkdir()
        for score in scores:
            shutil.copy(score, catalogue / f"{score.parent.name}-{score.name}")
        for told, options in WAYS.items():
            out = Path(name, f"out{len(options)}")
            program = "from pedalsetter.engrave.command_line import main; main()"
            command = [sys.executable, "-c", program, "batch", str(catalogue), "-o", str(out)]
            start = time.perf_counter()
            subprocess.run(
                [*command, "--jobs", jobs, "--quiet", *options], check=False, timeout=3000
            )
            clock = time.perf_counter() - start
            lines = [json.loads(line) for line in (out / "journal.jsonl").open()][1:]
            assert all(line["outcome"] == "done" for line in lines), lines
            work = [line["processor_seconds"] for line in lines]
            pages = sum(line["pages"] for line in lines)
            print(
                f"| {told} | {len(lines)} | {pages} | {statistics.mean(work):.2f} | "
                f"{statistics.median(work):.2f} | {max(work):.2f} | {sum(work) / pages:.2f} | "
                f"{max(line['peak_bytes'] for line in lines) >> 20} | {clock:.0f} | "
                f"{statistics.mean(work) * PARTS / 3600:.0f} |",
                flush=True,
            )


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "2")
