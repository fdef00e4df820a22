"""Written documents against the standards, and against programs that are not ours.

Sources: W3C, MusicXML 4.0 (schema and reference); music21, verovio and ``musicxml2ly`` (LilyPond)
as independent readers; LilyPond Notation Reference, "Harp pedals", for the signs of its diagrams.
"""

from __future__ import annotations

import re
import subprocess
from collections import Counter
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import music21
import pytest
import verovio
from lxml import etree
from musicxml_schema import is_valid, schema_errors
from written_back import (
    diagram_at,
    letters_at,
    markings,
    marks_everywhere,
    place,
    planned_example,
    score_inside,
)

from pedalsetter.analysis.instrument.harp import Setting
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.reading import read_part, read_score
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.mark_text import string_words
from pedalsetter.engrave.output.pages.engraver import find_lilypond
from pedalsetter.engrave.output.write_back.door import write_back, write_back_score

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
CORPUS = Path(music21.__file__).parent / "corpus"

EXAMPLE_FILES = sorted(path for path in EXAMPLES.iterdir() if path.suffix in (".musicxml", ".mxl"))

KEYBOARD_FILES = (
    "schumann_clara/polonaise_op1n1.mxl",
    "schoenberg/opus19/movement2.mxl",
    "joplin/maple_leaf_rag.mxl",
    "beach/prayer_of_a_tired_child.musicxml",
    "schubert/Lindenbaum.xml",
    "mozart/k545/movement1_exposition.mxl",
)
"""Exports of several notation programs, MusicXML 1.1 to 4.0; public-domain music."""


@cache
def planned(path: Path) -> tuple[HarpPart, Markings, bytes]:
    """(part, its planned marks, the score with them) of an example."""
    part, marks = planned_example(path)
    return part, marks, score_inside(write_back(path, part, marks).data)


def last_part(path: Path) -> tuple[HarpPart, bytes, bytes]:
    """(part, score, score with a mark everywhere) for the last part of a corpus score."""
    data = score_inside(path.read_bytes())
    count = len(etree.fromstring(data).findall("part"))
    part = read_score(data, path.name, str(count))
    return part, data, write_back_score(data, path.name, part, marks_everywhere(part)).data


GRAIN = Fraction(1, 32)
"""Quarters: shorter than any note of these pieces."""


def of_version(data: bytes, version: str) -> bytes:
    """An example that calls itself of another version."""
    return data.replace(
        b'<score-partwise version="4.0">', f'<score-partwise version="{version}">'.encode()
    )


def test_the_schema_tells_wrong_from_right() -> None:
    """Children of a direction have one order; the schema refuses any other."""
    _, _, data = planned(EXAMPLES / "evening-water.musicxml")
    swapped = data.replace(
        b"<voice>1</voice>\n        <staff>1</staff>\n      </direction>",
        b"<staff>1</staff>\n        <voice>1</voice>\n      </direction>",
    )

    assert swapped != data
    assert is_valid(data)
    assert not is_valid(swapped)
    assert not is_valid(data.replace(b'id="pedalsetter-p1-b14-1"', b'id="pedalsetter-p1-b1-1"'))


@pytest.mark.parametrize("version", ["1.0", "2.0", "3.0", "3.1", "4.0"])
@pytest.mark.parametrize("path", EXAMPLE_FILES, ids=lambda path: path.name)
def test_examples_stay_valid(path: Path, version: str) -> None:
    """An example of any version validates with a mark at every place, as it did without.

    Source: W3C, MusicXML 4.0 schema; it accepts documents of all earlier versions.
    """
    data = of_version(score_inside(path.read_bytes()), version)
    part = read_score(data, path.name)
    result = write_back_score(data, path.name, part, marks_everywhere(part)).data

    assert is_valid(data)
    assert schema_errors(result) == []
    assert (b' id="pedalsetter-' in result) == (version in ("3.1", "4.0"))


@pytest.mark.parametrize("name", KEYBOARD_FILES)
def test_exports_of_other_programs_stay_as_valid_as_they_were(name: str) -> None:
    """Marks at every place of a keyboard part add nothing that the schema could refuse.

    Source: W3C, MusicXML 4.0 schema. Music: music21's corpus.
    """
    _, data, result = last_part(CORPUS / name)

    assert result.count(b"<direction") > data.count(b"<direction")
    assert Counter(schema_errors(result)) == Counter(schema_errors(data))


def test_a_diagram_has_seven_tunings_in_pedal_order() -> None:
    """D C B E F G A, each with step and alteration, a natural as 0.

    Source: MusicXML 4.0 reference, ``harp-pedals``, ``pedal-tuning``, ``pedal-alter``.
    """
    _, marks, data = planned(EXAMPLES / "evening-water.musicxml")
    diagrams = etree.fromstring(data).findall(
        ".//direction[@placement='above']/direction-type/harp-pedals"
    )

    assert len(diagrams) == len(marks.diagrams) >= 5
    for diagram, mark in zip(diagrams, marks.diagrams, strict=True):
        assert [each.tag for each in diagram] == ["pedal-tuning"] * 7
        assert [[child.tag for child in each] for each in diagram] == [
            ["pedal-step", "pedal-alter"]
        ] * 7
        assert "".join(str(each.text) for each in diagram.iter("pedal-step")) == "DCBEFGA"
        alters = [int(str(each.text)) for each in diagram.iter("pedal-alter")]
        assert alters == [int(position) for position in mark.setting.positions]


@pytest.mark.parametrize(
    ("pattern", "alters"),
    [
        ("bbb|bbbb", [-1] * 7),
        ("bsn|ssnb", [-1, 1, 0, 1, 1, 0, -1]),
        ("sns|bsbn", [1, 0, 1, -1, 1, -1, 0]),
    ],
)
def test_known_settings_as_numbers(pattern: str, alters: list[int]) -> None:
    """All flat is −1 seven times; the manual's setting [D♭ C♯ B | E♯ F♯ G A♭] is as it says.

    Source: LilyPond Notation Reference, "Harp pedals", for the second setting; MusicXML's
    ``semitones`` for the numbers.
    """
    path = EXAMPLES / "evening-water.musicxml"
    part = read_part(path)
    data = write_back(path, part, markings(diagram_at(place(0), pattern))).data
    found = etree.fromstring(data).findall(".//harp-pedals/pedal-tuning/pedal-alter")

    assert [int(str(each.text)) for each in found] == alters


def sounding(path_or_data: Path | bytes) -> Counter[tuple[Any, ...]]:
    """Everything that music21 finds in a score, marks included, each with its moment."""
    source: Any = path_or_data
    if isinstance(source, bytes):
        source = source.decode("utf-16" if source[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8")
        score = music21.converter.parseData(source, format="musicxml")
    else:
        score = music21.converter.parse(source, forceSource=True, storePickle=False)
    found: Counter[tuple[Any, ...]] = Counter()
    for element in score.recurse():
        pitches = tuple(each.nameWithOctave for each in getattr(element, "pitches", ()))
        text = getattr(element, "content", None)
        found[
            (
                type(element).__name__,
                element.getOffsetInHierarchy(score),
                element.duration.quarterLength,
                pitches,
                str(text) if text is not None else "",
            )
        ] += 1
    return found


@pytest.mark.parametrize("path", EXAMPLE_FILES, ids=lambda path: path.name)
def test_music21_finds_the_same_music_and_the_letters(path: Path) -> None:
    """music21 reads the very same score, with one text more for each stack of letters.

    What names the string of a note, in brackets, is told apart from them.
    """
    part, marks, data = planned(path)
    before = sounding(path)
    after = sounding(data)

    assert before - after == Counter()
    named = Counter({one: count for one, count in (after - before).items() if "(" in one[4]})
    assert sum(named.values()) == len(marks.strings)
    assert after - before - named == Counter(
        (
            "TextExpression",
            part.onset_of(mark.place),
            0.0,
            (),
            "\n".join(change.text for change in mark.changes),
        )
        for mark in marks.changes
    )


@pytest.mark.parametrize("name", KEYBOARD_FILES)
def test_music21_finds_the_same_music_in_exports_of_other_programs(name: str) -> None:
    """With a mark at every place, nothing but texts is new, and each stands at its place."""
    part, data, result = last_part(CORPUS / name)
    before, after = sounding(data), sounding(result)
    marks = marks_everywhere(part)
    new = after - before

    assert before - after == Counter()
    assert {kind for kind, *_ in new} == {"TextExpression"}
    found = sorted(Fraction(key[1]) for key in new.elements())
    wanted = sorted(part.onset_of(mark.place) for mark in marks.changes)
    # One of these programs rounds triplets to whole divisions; music21 leaves them rounded.
    assert len(found) == len(wanted)
    assert max(abs(one - other) for one, other in zip(found, wanted, strict=True)) < GRAIN


def verovio_pages(data: bytes, capture: pytest.CaptureFixture[str]) -> tuple[list[str], str]:
    """(what verovio says, its pages as SVG) about a document."""
    verovio.enableLog(verovio.LOG_WARNING)
    toolkit = verovio.toolkit()
    # A staff with rests alone would be hidden, and its marks with it.
    toolkit.setOptions({"condense": "none"})
    capture.readouterr()
    assert toolkit.loadData(data.decode())
    pages = "".join(toolkit.renderToSVG(page + 1) for page in range(toolkit.getPageCount()))
    # Verovio speaks to the process's own stderr, past sys.stderr.
    return capture.readouterr().err.splitlines(), pages


@pytest.mark.parametrize("path", EXAMPLE_FILES, ids=lambda path: path.name)
def test_verovio_shows_the_letters(path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """Verovio draws every letter, and has nothing to say but that it knows no ``harp-pedals``."""
    _, marks, data = planned(path)
    said_before, pages_before = verovio_pages(score_inside(path.read_bytes()), capfd)
    said, pages = verovio_pages(data, capfd)
    letters = Counter(change.text for mark in marks.changes for change in mark.changes)

    assert Counter(said) - Counter(said_before) == Counter(
        {"[Warning] MusicXML import: Unsupported direction-type 'harp-pedals'": len(marks.diagrams)}
    )
    assert sum(letters.values()) >= 4
    drawn = Counter(_letters(pages)) - Counter(_letters(pages_before))
    # The strings of notes are named in brackets, as (=E♯).
    words = [" ".join(string_words(mark, load_house_style())) for mark in marks.strings]
    assert drawn == letters + Counter(re.findall(r"[A-G][♭♮♯]", " ".join(words)))


def _letters(svg: str) -> list[str]:
    """Every pedal letter with its sign among the drawn texts."""
    return re.findall(r"[A-G][♭♮♯]", re.sub(r"<[^>]*>|\s", "", svg))


@pytest.mark.parametrize("path", EXAMPLE_FILES, ids=lambda path: path.name)
def test_musicxml2ly_finds_the_same_diagrams(path: Path, tmp_path: Path) -> None:
    """LilyPond's converter turns every diagram into its own, in the same order.

    Source: LilyPond Notation Reference, "Harp pedals": ``^`` is flat, ``-`` natural, ``v`` sharp.
    """
    _, marks, data = planned(path)
    (tmp_path / "score.musicxml").write_bytes(data)
    command = [
        str(Path(find_lilypond()).with_name("musicxml2ly")),
        "-o",
        "out.ly",
        "score.musicxml",
    ]
    subprocess.run(command, cwd=tmp_path, check=True, capture_output=True, timeout=60)
    source = (tmp_path / "out.ly").read_text(encoding="utf-8")

    assert len(marks.diagrams) >= 4
    assert Counter(re.findall(r'\\harp-pedal\s+#"([^"]*)"', source)) >= Counter(
        _signs(mark.setting) for mark in marks.diagrams
    )
    for mark in marks.changes:
        assert "\n".join(change.text for change in mark.changes) in source


def _signs(setting: Setting) -> str:
    return setting.pattern.translate(str.maketrans("bns", "^-v"))


def test_two_changes_are_one_text_of_two_lines(capfd: pytest.CaptureFixture[str]) -> None:
    """Right foot above left in one text: verovio draws two lines, the upper one first.

    Source: MusicXML 4.0, ``direction-type``: several elements in one follow each other in a row,
    so that two texts would stand side by side.
    """
    path = EXAMPLES / "evening-water.musicxml"
    part = read_part(path)
    _, pages = verovio_pages(
        write_back(path, part, markings(letters_at(place(3), "F♯", "C♮"))).data, capfd
    )
    (drawn,) = re.findall(r'<g [^>]*class="dir"[^>]*>\s*<text.*?</text>', pages, re.DOTALL)[:1]
    tspans = etree.fromstring(drawn + "</g>").iter("tspan", "text")
    heights = [int(each.get("y", "0")) for each in tspans if each.get("y")]

    assert _letters(drawn) == ["F♯", "C♮"]
    assert len(heights) == 2
    assert heights[0] < heights[1]
