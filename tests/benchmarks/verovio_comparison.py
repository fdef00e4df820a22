# ruff: noqa: T201
"""Things by bar and staff in verovio's page and in ours: heads, beams, slurs, ties, dynamics.

    PYTHONPATH=tests python tests/benchmarks/verovio_comparison.py [NAME …]

Our examples and those pieces of music21's corpus that are one uncompressed MusicXML file with a
keyboard part alone; with names, only pieces whose path holds one of them. Bars in which voices
cross the staves are left aside (``verovio_page.py`` says why).
"""

from __future__ import annotations

import io
import sys
import zipfile
from pathlib import Path

from corpus_pieces import PIECES
from varied_parts import varied_part
from verovio_page import by_bar, crossing_bars, differences, hiding_bars

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.lilypond import lilypond_source

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"

VARIED = 46
"""Parts made by chance, which make sixty pieces of the others."""


def document_of(path: Path) -> bytes:
    """The MusicXML of a file or an archive."""
    data = path.read_bytes()
    if not data.startswith(b"PK"):
        return data
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        names = [name for name in packed.namelist() if not name.startswith("META-INF")]
        return packed.read(next(name for name in names if name.endswith(("xml", "musicxml"))))


def main(wanted: list[str]) -> None:
    """Print the table, and every difference below it."""
    pieces = [EXAMPLES / name for name in ("chromatic-study.musicxml", "evening-water.musicxml")]
    pieces += [piece.path for piece in PIECES if piece.part is None and piece.path.suffix != ".krn"]
    print("| piece | bars | left aside | things | differences |")
    print("| --- | --: | --: | --: | --: |")
    told = []
    scores = [(path.stem, document_of(path)) for path in pieces]
    scores += [(f"varied-{seed}", varied_part(seed, plain=True)) for seed in range(VARIED)]
    for title, document in scores:
        if wanted and not any(name in title for name in wanted):
            continue
        part = read_score(document, f"{title}.musicxml")
        source = lilypond_source(part, Markings((), ()), load_house_style()).text
        boxes = engrave(source).boxes
        found = differences(part, boxes, document)
        things = sum(by_bar(part, boxes).values())
        aside = len(crossing_bars(part) | hiding_bars(document))
        print(f"| {title} | {len(part.bars)} | {aside} | {things} | {len(found)} |", flush=True)
        told += [(title, *item) for item in found.items()]
    for name, (what, bar, staff), (theirs, ours) in told:
        print(f"{name}, bar no. {bar + 1}, staff {staff or 'any'}: {theirs} {what}, here {ours}")


if __name__ == "__main__":
    main(sys.argv[1:])
