# ruff: noqa: T201
"""Marks in colours of their own, found in the picture of the page and held against their boxes.

    PYTHONPATH=tests python tests/benchmarks/pixels_and_boxes.py [PARTS]

Dense parts by their seeds, as in ``dense_pages_run.py``.
"""

from __future__ import annotations

import sys

from coloured_marks import coloured, disagreements
from dense_pages import engraved_until_well, varied_page, varied_style

from pedalsetter.engrave.output.pages.engraver import engrave


def main(parts: int) -> None:
    """Print what was compared and every disagreement."""
    pages = marks = 0
    for seed in range(0, 4 * parts, 4):
        last = engraved_until_well(varied_page(seed), varied_style(seed))[-1]
        names = [mark.name for mark in last.placement.marks]
        engraving = engrave(coloured(last.source, names))
        pages += engraving.pages
        marks += len(names)
        for wrong in disagreements(engraving.pdf, engraving.boxes, names):
            print(f"seed {seed}: {wrong}")
    print(f"{marks} marks on {pages} pages compared.")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
