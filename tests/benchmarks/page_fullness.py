# ruff: noqa: T201
"""How full the pages are: examples, the pieces of ``corpus_pieces.py``, thirty parts by chance.

    PYTHONPATH=tests python tests/benchmarks/page_fullness.py [FIRST [LAST [FOLDER]]]

FIRST and LAST are places in the list of all, from 0, for a run in slices. A row tells the fullness
of each page (100 % is filled by the systems at their natural distance), by how much the page that
is stretched most is stretched, the last one aside, and how many right-hand pages end where a hand
is free. With a folder, the PDF of each is written into it. The sums of all rows in a file of such
rows are printed by ``--sum FILE``.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path

from corpus_pieces import PIECES
from long_parts import long_part

from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning import QUICK, plan_changes
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.layout.page_fill import LAST_FULL, LEAST_FULL, measured_fill
from pedalsetter.engrave.output.pages.press import engrave_part

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def parts(first: int, last: int) -> Iterator[tuple[str, HarpPart]]:
    """Name and part of those of the list that are asked for."""
    readings = [(path.stem, path, None) for path in sorted(EXAMPLES.glob("*.m*x*l"))]
    readings += [(piece.id, piece.path, piece.part) for piece in PIECES]
    for name, path, wanted in readings[first:last]:
        yield name, read_part(path, wanted)
    for seed in range(max(0, first - len(readings)), max(0, min(30, last - len(readings)))):
        yield f"by chance {seed}", long_part(seed)


def main(first: int, last: int, folder: Path | None) -> None:
    """Print the rows."""
    style = load_house_style()
    for name, part in parts(first, last):
        done = engrave_part(part, place_marks(part, plan_changes(part, effort=QUICK)), style)
        fill = measured_fill(part, done.placement.boxes)
        stretch = max((page.stretch for page in fill[:-1]), default=0)
        turns = [page.turn for page in fill if page.turn is not None]
        shares = " ".join(f"{page.fullness:.0%}" for page in fill).replace("%", "")
        print(
            f"| {name} | {len(fill)} | {shares} | {100 * stretch:.0f} "
            f"| {sum(turns)} of {len(turns)} | {done.engravings} | {len(done.proof.failures)} |",
            flush=True,
        )
        if folder is not None:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / f"{name.replace('/', '-')}.pdf").write_bytes(done.engraving.pdf)


def summed(file: Path) -> None:
    """Print what the rows of a file come to."""
    rows = [re.split(r" *\| *", line)[1:-1] for line in file.read_text("utf-8").splitlines()]
    rows = [row for row in rows if row[1:] and row[1].isdecimal()]
    fullness = [[int(share) for share in row[2].split()] for row in rows]
    inner = [share for shares in fullness for share in shares[:-1]]
    lasts = [shares[-1] for shares in fullness if shares[1:]]
    turns = [row[4].split(" of ") for row in rows]
    loose = sum(share < round(100 * LEAST_FULL) for share in inner)
    thin = sum(share < round(100 * LAST_FULL) for share in lasts)
    print(
        f"{len(rows)} parts, {sum(map(len, fullness))} pages. Of {len(inner)} pages that are not "
        f"the last, {loose} are less than {100 * LEAST_FULL:.0f} % full; the emptiest is "
        f"{min(inner)} % full, the most stretched by {max(int(row[3]) for row in rows)} %. "
        f"Of {len(lasts)} last pages {thin} are less than {100 * LAST_FULL:.0f} % full. "
        f"A hand is free at {sum(int(turn[0]) for turn in turns)} of "
        f"{sum(int(turn[1]) for turn in turns)} turns. "
        f"{sum(int(row[5]) for row in rows)} engravings, "
        f"{sum(int(row[6]) for row in rows)} failures of the proof."
    )


if __name__ == "__main__":
    if sys.argv[1:2] == ["--sum"]:
        summed(Path(sys.argv[2]))
    else:
        main(
            int(sys.argv[1]) if len(sys.argv) > 1 else 0,
            int(sys.argv[2]) if len(sys.argv) > 2 else 999,
            Path(sys.argv[3]) if len(sys.argv) > 3 else None,
        )
