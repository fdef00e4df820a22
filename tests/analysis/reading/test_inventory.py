"""Nothing is lost: the signs of real scores, counted in the file and in the part that was read.

Source of the music: music21's corpus, public domain. The counting knows nothing of the reader: it
asks the XML for its elements.
"""

from __future__ import annotations

import zipfile
from collections import Counter
from pathlib import Path

import music21
import pytest
from lxml import etree

from pedalsetter.analysis.part import DirectionKind, HarpPart
from pedalsetter.analysis.reading import read_part

pytestmark = pytest.mark.corpus

CORPUS = Path(music21.__file__).parent / "corpus"

PIECES = (
    "schumann_clara/polonaise_op1n1.mxl",
    "schumann_clara/polonaise_op1n2.mxl",
    "schumann_clara/polonaise_op1n3.mxl",
    "schumann_clara/polonaise_op1n4.mxl",
    "schoenberg/opus19/movement2.mxl",
    "schoenberg/opus19/movement6.mxl",
    "joplin/maple_leaf_rag.mxl",
    "mozart/k545/movement1_exposition.mxl",
    "cpebach/h186.mxl",
    "bach/bwv846.mxl",
)


def tree(path: Path) -> etree._Element:
    """The score's XML, unpacked if need be."""
    if path.suffix != ".mxl":
        return etree.parse(str(path)).getroot()
    with zipfile.ZipFile(path) as archive:
        name = next(
            each
            for each in archive.namelist()
            if each.endswith((".xml", ".musicxml")) and not each.startswith("META-INF")
        )
        return etree.fromstring(archive.read(name))


def in_file(root: etree._Element) -> Counter[str]:
    """How many of each sign the file has."""
    paths = {
        "notes": "//note[pitch]",
        "graces": "//note[grace][not(chord)]",
        "slurs": "//slur[@type='start']",
        "arpeggios": "//note[notations/arpeggiate][not(chord)]",
        "ties": "//note[tie[@type='start']]",
        "dynamics": "//direction//dynamics",
        "hairpins": "//wedge[@type='crescendo' or @type='diminuendo']",
        "octaves": "//octave-shift[@type='up' or @type='down']",
        "fermatas": "//note/notations/fermata",
        "staccati": "//note[not(chord)]/notations/articulations/staccato",
        "trills": "//note/notations/ornaments/trill-mark",
        "repeats": "//measure[barline/repeat[@direction='backward']]",
        "bars": "//measure",
    }
    found: Counter[str] = Counter()
    for name, path in paths.items():
        nodes = root.xpath(path)
        assert isinstance(nodes, list)
        found[name] = len(nodes)
    return found


def in_part(part: HarpPart) -> Counter[str]:
    """How many of each sign were read."""
    kinds = Counter(direction.kind for direction in part.directions)
    return Counter(
        {
            "notes": sum(len(event.heads) for event in part.events),
            "graces": sum(event.grace is not None for event in part.events),
            "slurs": sum(
                end.kind == "slur" and end.start for event in part.events for end in event.spanners
            ),
            "arpeggios": sum(event.arpeggio is not None for event in part.events),
            "ties": sum(head.tie_start for _, head in part.notes()),
            "dynamics": kinds[DirectionKind.DYNAMIC],
            "hairpins": kinds[DirectionKind.WEDGE_START],
            "octaves": kinds[DirectionKind.OCTAVE_START],
            "fermatas": sum(len(event.fermatas) for event in part.events),
            "staccati": sum(
                name == "staccato" for event in part.events for name, _ in event.articulations
            ),
            "trills": sum(
                sign.kind == "trill-mark" for event in part.events for sign in event.ornaments
            ),
            "repeats": sum(bar.repeat_times > 0 for bar in part.bars),
            "bars": len(part.bars),
        }
    )


LEFT_OUT = {
    "a slur has": "slurs",
    "a tie has a beginning": "ties",
}


@pytest.mark.parametrize("name", PIECES)
def test_every_sign_of_the_file_is_in_the_part(name: str) -> None:
    """Whatever was left out has been told, and nothing else is missing."""
    part = read_part(CORPUS / name)
    expected, found = in_file(tree(CORPUS / name)), in_part(part)
    told = " ".join(str(notice) for notice in part.warnings)
    for sign in expected:
        if expected[sign] != found[sign]:
            assert any(words in told for words, about in LEFT_OUT.items() if about == sign), (
                sign,
                expected[sign],
                found[sign],
                told,
            )
