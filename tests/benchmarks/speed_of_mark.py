# ruff: noqa: T201
"""How long ``mark`` takes beside plain LilyPond, in one run, for parts of 1, 4 and 20 pages.

    python tests/benchmarks/speed_of_mark.py [RUNS]

The music is examples/evening-water.musicxml, cut for one page and repeated for more. ``mark``
reads, plans, engraves, proves and draws PNG pages; the other is
``lilypond --pdf --png -dresolution=150`` on the same notes without any mark, in the source that our
own writer makes of an empty plan. Whole processes, medians, each turn one of both, so that a busy
machine is busy for both. Processor time counts all processors: it is what a run costs, however many
of them are free.
"""

from __future__ import annotations

import copy
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Container, Mapping
from pathlib import Path

from lxml import etree

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.engraver import find_lilypond
from pedalsetter.engrave.output.pages.lilypond import lilypond_source
from pedalsetter.engrave.output.pages.raster import page_count

SOLO = Path(__file__).resolve().parents[2] / "examples" / "evening-water.musicxml"
BARS = {1: 24, 4: 110, 20: 550}
"""Bars that fill so many pages."""


def score_of(bars: int, folder: Path) -> Path:
    """The piece over and over until it has so many bars."""
    tree = etree.parse(SOLO)
    part = tree.getroot().find("part")
    assert part is not None
    measures = list(part)
    for measure in measures:
        part.remove(measure)
    for index in range(bars):
        measure = copy.deepcopy(measures[index % len(measures)])
        measure.set("number", str(index))
        if index % len(measures) == 0 and index:
            measure.attrib.pop("implicit", None)
        if index != bars - 1:
            for barline in measure.findall("barline"):
                if barline.get("location") == "right":
                    measure.remove(barline)
        part.append(measure)
    path = folder / f"water-{bars}.musicxml"
    tree.write(path, encoding="utf-8", xml_declaration=True)
    return path


def as_installed(folder: Path) -> dict[str, str]:
    """An environment in which bytecode is kept, as it is where pip has installed a package."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPYCACHEPREFIX": str(folder / "bytecode")}


def seconds(
    command: list[str],
    folder: Path,
    environment: Mapping[str, str],
    allowed: Container[int] = (0,),
) -> tuple[float, float]:
    """How long a command takes from its start to its end, and how long processors work for it.

    Raises:
        subprocess.CalledProcessError: it ends with a status that is not ``allowed``.
    """
    start, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    ended = subprocess.run(
        command, cwd=folder, env=environment, check=False, stdout=subprocess.DEVNULL
    )
    if ended.returncode not in allowed:
        ended.check_returncode()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    work = after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
    return time.perf_counter() - start, work


def main(runs: int) -> None:
    """Print the table."""
    print(
        f"medians of {runs} runs, seconds of whole processes: by the clock, and of processor time"
    )
    print(
        "| pages | bars | `mark` | plain LilyPond | ratio | `mark`, work | LilyPond, work | ratio |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for bars in BARS.values():
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            score = score_of(bars, folder)
            empty = lilypond_source(read_part(score), Markings((), ()), load_house_style())
            (folder / "plain.ly").write_text(empty.text, encoding="utf-8")
            command = Path(sys.executable).with_name("pedalsetter")
            ours = [str(command), "mark", str(score), "-o", "out", "--quiet"]
            plain = [find_lilypond(), "-s", "--pdf", "--png", "-dresolution=150", "plain.ly"]
            environment = as_installed(folder)
            seconds(ours, folder, environment)  # once unmeasured, so that all files are at hand
            times = [
                (*seconds(ours, folder, environment), *seconds(plain, folder, environment))
                for _ in range(runs)
            ]
            mark, work, bare, bare_work = (
                statistics.median(column) for column in zip(*times, strict=True)
            )
            pages = page_count(next((folder / "out").glob("*.pdf")).read_bytes())
        print(
            f"| {pages} | {bars} | {mark:.2f} | {bare:.2f} | {mark / bare:.2f} "
            f"| {work:.2f} | {bare_work:.2f} | {work / bare_work:.2f} |",
            flush=True,
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
