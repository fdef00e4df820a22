# ruff: noqa: T201
"""The pieces of ``corpus_pieces.py`` and our examples through the whole road, as a table.

    PYTHONPATH=tests python tests/benchmarks/corpus_pages.py [FOLDER]

Distances are staff spaces. With a folder, the PDF of every piece is written into it.
"""

from __future__ import annotations

import sys
from pathlib import Path

from corpus_pieces import PIECES

from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.press import engrave_part

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def main(folder: Path | None) -> None:
    """Print the table."""
    style = load_house_style()
    pieces = [(path.stem, path, None) for path in sorted(EXAMPLES.glob("*.m*x*l"))]
    pieces += [(piece.id, piece.path, piece.part) for piece in PIECES]
    print("| piece | pages | systems | marks | overlaps | nearest | engravings | warnings |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    totals = [0, 0, 0, 0]
    for name, path, wanted in pieces:
        part = read_part(path, wanted)
        marks = place_marks(part, plan_changes(part))
        done = engrave_part(part, marks, style)
        proof = done.proof
        nearest = "" if proof.smallest_distance is None else f"{proof.smallest_distance:.2f}"
        print(
            f"| {name} | {proof.pages} | {proof.systems} | {proof.marks} | {len(proof.overlaps)} "
            f"| {nearest} | {done.engravings} | {len(done.engraving.warnings)} |",
            flush=True,
        )
        figures = (proof.pages, proof.marks, len(proof.failures), len(done.engraving.warnings))
        totals = [total + figure for total, figure in zip(totals, figures, strict=True)]
        if folder is not None:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / f"{name.replace('/', '-')}.pdf").write_bytes(done.engraving.pdf)
    print(
        f"\n{len(pieces)} pieces, {totals[0]} pages, {totals[1]} marks, "
        f"{totals[2]} failures of the proof, {totals[3]} warnings of LilyPond."
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else None)
