# ruff: noqa: T201
r"""Pictures of our pages beside those of LilyPond alone, for examples/README.md.

    python tests/benchmarks/beside_bare_lilypond.py FOLDER

LilyPond alone gets the same notes, its own ``\harp-pedal`` diagrams, and the changes as text on
the notes: what a user writes who has nothing else.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.engraver import find_lilypond
from pedalsetter.engrave.output.pages.press import engrave_part
from pedalsetter.engrave.output.pages.raster import as_png, page_pictures

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SHOWN = {
    "chromatic-study.musicxml": {"ours": (0.275, 0.595), "bare": (0.16, 0.46)},
    "three-times-round.mxl": {"ours": (0.03, 0.45), "bare": (0.03, 0.40)},
    "orchestral-nocturne.musicxml": {"ours": (0.03, 0.27), "bare": (0.02, 0.18)},
}
"""Example to the stretch of its first page that is shown, in parts of its height."""

DPI = 84


def bare(source: str) -> str:
    """The source without our stylesheet: marks are text in the upper staff, rows are gone."""
    names = ["rowOfDiagrams", "rowOfLetters", "marksAbove", "timeAndBarlines", "harpStaves"]
    names += ["wordsAbove"] if "wordsAbove =" in source else []
    blocks = {}
    source = source[source.index("rowOfDiagrams = {") :]  # behind the stylesheet
    for name in names:
        found = re.search(rf"^{name} =.*?(?=^\w+ =|^\\score)", source, re.MULTILINE | re.DOTALL)
        assert found is not None, name
        blocks[name] = found[0]
    diagrams = re.sub(
        r'\\pedalDiagram "\w+" ("[^"]+")', r"^\\markup \\harp-pedal \1", blocks["rowOfDiagrams"]
    )
    letters = re.sub(
        r'\\pedalLetters "\w+" "([^"]+)" "([^"]+)"',
        r'^\\markup \\column { "\1" "\2" }',
        blocks["rowOfLetters"],
    )
    letters = re.sub(r'\\pedalLetter "\w+" ("[^"]+")', r"^\\markup \1", letters)
    marks = blocks["marksAbove"].replace('\\context MarkRow = "marks"', "\\new Voice")
    words = blocks.get("wordsAbove", "").replace('\\context WordRow = "words"', "\\new Voice")
    timing = blocks["timeAndBarlines"].replace('\\context TimingLane = "timing"', "\\new Devnull")
    staves, count = re.subn(
        r'(\\context Staff = "upper"\s*)(?:\\with\s*\{[^}]*\}\s*)?<<',
        r"\1<< \\new Voice \\rowOfDiagrams \\new Voice \\rowOfLetters \\marksAbove"
        + (r" \\wordsAbove" if words else ""),
        blocks["harpStaves"],
        count=1,
    )
    assert count == 1
    return (
        f'\\version "2.24.0"\n\\language "english"\n#(set-global-staff-size 18)\n'
        f"\\header {{ tagline = ##f }}\n\\paper {{ indent = 0 }}\n"
        f"{diagrams}\n{letters}\n{marks}\n{words}\n{timing}\n{staves}\n"
        "\\score { << \\timeAndBarlines \\harpStaves >> }\n"
    )


def main(folder: Path) -> None:
    """Write STEM-ours.png and STEM-bare.png for each example."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, shown in SHOWN.items():
        part = read_part(EXAMPLES / name)
        done = engrave_part(part, place_marks(part, plan_changes(part)), load_house_style())
        with tempfile.TemporaryDirectory() as place:
            work = Path(place)
            (work / "bare.ly").write_text(bare(done.document.text), encoding="utf-8")
            command = [find_lilypond(), "-s", "-dbackend=cairo", "--pdf", "bare.ly"]
            subprocess.run(command, cwd=work, check=True)
            pdfs = {"ours": done.engraving.pdf, "bare": (work / "bare.pdf").read_bytes()}
        for kind, pdf in pdfs.items():
            top, bottom = shown[kind]
            page: Image.Image = next(page_pictures(pdf, DPI))
            cut = page.crop((0, round(top * page.height), page.width, round(bottom * page.height)))
            file = folder / f"{name.split('.')[0]}-{kind}.png"
            file.write_bytes(as_png(cut, DPI))
            print(f"{file.name}: {file.stat().st_size // 1000} kB")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
