# ruff: noqa: T201
"""How long reading one harp out of a large score takes, and how much memory, beside lxml alone.

    PYTHONPATH=tests python tests/benchmarks/large_scores.py [RUNS]

A score of sixty parts and six hundred bars is made by a rule (tests/large_score.py). "lxml alone"
is ``lxml.etree.parse`` of the file; "the harp alone" is reading a file that holds the same harps
and nothing else, which is the harp's own work. Processes of their own, medians of processor time,
the largest peak of memory.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

from large_score import PARTS, write_large_score

_WORK = {
    "lxml alone": "from lxml import etree; run = lambda: etree.parse(path)",
    "the harp alone": "from pedalsetter.analysis.reading import read_part; "
    "run = lambda: read_part(path, 'Harp 1')",
    "read": "from pedalsetter.analysis.reading import read_part; "
    "run = lambda: read_part(path, 'Harp 1')",
}

_MEASURE = """
import resource, sys, time
path = sys.argv[1]
{work}
start = time.process_time()
kept = run()
print(time.process_time() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def measured(work: str, path: Path, runs: int) -> tuple[float, float]:
    """(median seconds of processor time, peak of memory in MB)."""
    answers = [
        subprocess.run(
            [sys.executable, "-c", _MEASURE.format(work=_WORK[work]), str(path)],
            capture_output=True,
            check=True,
            text=True,
            env=dict(os.environ),
        ).stdout.split()
        for _ in range(runs)
    ]
    seconds = statistics.median(float(seconds) for seconds, _ in answers)
    return seconds, max(int(peak) for _, peak in answers) / 1024


def main(runs: int) -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        score = write_large_score(folder / "score.musicxml")
        harps = write_large_score(folder / "harps.musicxml", parts=2)
        packed = folder / "score.mxl"
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.write(score, "score.musicxml")
        size = score.stat().st_size / 2**20
        bare, bare_peak = measured("lxml alone", score, runs)
        own, own_peak = measured("the harp alone", harps, runs)
        print(f"{PARTS} parts, 600 bars, {size:.0f} MB; medians of {runs} runs\n")
        print("| | seconds | without the harp's own work, of lxml's | peak, MB | allowed, MB |")
        print("| --- | --: | --: | --: | --: |")
        print(f"| lxml alone | {bare:.2f} | 1.00 | {bare_peak:.0f} | |")
        print(f"| the harp alone | {own:.2f} | | {own_peak:.0f} | |")
        for path, kind in ((score, "MusicXML"), (packed, "MXL")):
            seconds, peak = measured("read", path, runs)
            print(
                f"| read, {kind} | {seconds:.2f} | {(seconds - own) / bare:.2f} | {peak:.0f} "
                f"| {4 * size + 300:.0f} |"
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
