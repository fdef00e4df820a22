# ruff: noqa: T201
"""Two hundred dense parts, engraved and measured: nothing may touch a mark.

    PYTHONPATH=tests python tests/benchmarks/dense_pages_run.py [PARTS]

Every part is 24 bars made by chance (``dense_pages.py``), the seed being its number; paper, staff
size and place of the marks go round in turn, and in every other part beams run from staff to staff.
Each is engraved until nothing is left to mend, as ``mark`` does. Seeds that fail are printed.
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

from dense_pages import engraved_until_well, varied_page, varied_style


@dataclass(frozen=True)
class Row:
    """The figures of one part."""

    seed: int
    kind: tuple[str, float, str]
    marks: int
    pages: int
    engravings: int
    overlaps: int
    past_line: int
    uneven_rows: int
    misplaced: int
    smallest: float | None


def measured(seed: int) -> Row:
    """Engrave one part and measure it."""
    style = varied_style(seed)
    pages = engraved_until_well(varied_page(seed), style)
    proof = pages[-1].proof
    return Row(
        seed,
        (style.paper_size, style.staff_size_points, style.letter_place),
        proof.marks,
        proof.pages,
        len(pages),
        len(proof.overlaps),
        len(proof.past_line_end),
        len(proof.rows_with_two_baselines),
        len(proof.misplaced) + len(proof.missing),
        proof.smallest_distance,
    )


def main(parts: int) -> None:
    """Print the table."""
    with ProcessPoolExecutor(max_workers=2) as workers:
        rows = list(workers.map(measured, range(parts)))
    groups: defaultdict[str, list[Row]] = defaultdict(list)
    for row in rows:
        for name in row.kind:
            groups[f"{name:g} point staves" if isinstance(name, float) else name].append(row)
    print(
        "| | parts | pages | marks | overlaps | past the line "
        "| crooked rows | misplaced | nearest |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for name, group in [*sorted(groups.items()), ("all", rows)]:
        print(
            f"| {name} | {len(group)} | {sum(r.pages for r in group)} "
            f"| {sum(r.marks for r in group)} | {sum(r.overlaps for r in group)} "
            f"| {sum(r.past_line for r in group)} | {sum(r.uneven_rows for r in group)} "
            f"| {sum(r.misplaced for r in group)} "
            f"| {min(r.smallest for r in group if r.smallest is not None):.2f} |"
        )
    counted = sorted(Counter(row.engravings for row in rows).items())
    print("\nEngravings needed: " + ", ".join(f"{many} times in {n} parts" for many, n in counted))
    failed = [row.seed for row in rows if row.overlaps or row.past_line or row.uneven_rows]
    print(f"Seeds that fail: {failed or 'none'}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
