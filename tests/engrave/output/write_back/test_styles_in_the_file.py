"""Every option about marks, seen in the user's own file: MusicXML read with lxml, MEI likewise."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from musicxml_schema import schema_errors
from styled_pages import styled
from written_back import (
    expected_marks,
    markings,
    marks_read_back,
    planned_example,
    score_inside,
    without_inserted,
)

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.output.write_back.door import write_back_score
from pedalsetter.engrave.output.write_back.options import options_of

EXAMPLE = Path(__file__).resolve().parents[4] / "examples" / "three-times-round.mxl"
MEI = "{http://www.music-encoding.org/ns/mei}"
OWN = "pedalsetter-"

MEI_SCORE = b"""<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.1">
  <meiHead><fileDesc><titleStmt><title>A</title></titleStmt><pubStmt/></fileDesc></meiHead>
  <music><body><mdiv><score>
    <scoreDef meter.count="4" meter.unit="4" keysig="0">
      <staffGrp symbol="brace"><label>Harp</label>
        <staffDef n="1" lines="5" clef.shape="G" clef.line="2"/>
        <staffDef n="2" lines="5" clef.shape="F" clef.line="4"/>
      </staffGrp>
    </scoreDef>
    <section>
      <measure xml:id="m1" n="1">
        <staff n="1"><layer n="1"><note xml:id="h1" pname="c" oct="5" dur="1"/></layer></staff>
        <staff n="2"><layer n="1"><mRest xml:id="h2"/></layer></staff>
      </measure>
    </section>
  </score></mdiv></body></music>
</mei>
"""


@cache
def score() -> bytes:
    """The example's score without its archive."""
    return score_inside(EXAMPLE.read_bytes())


def marked(style: HouseStyle, *, editorial: bool = False) -> bytes:
    """The example with the marks of a style; all else in it stays byte for byte."""
    marks = as_editors(ringed_marks()) if editorial else ringed_marks()
    part = read_score(score(), "score.musicxml")
    written = write_back_score(score(), "score.musicxml", part, marks, options_of(style, part))
    assert schema_errors(written.data) == []
    assert without_inserted(written.data) == score()
    return written.data


def ringed_marks() -> Markings:
    """The example's marks; the C pedal has moved where the second diagram stands."""
    _, marks = planned_example(EXAMPLE)
    first, second, *others = marks.diagrams
    return replace(marks, diagrams=(first, replace(second, changed=(Letter.C,)), *others))


def as_editors(marks: Markings) -> Markings:
    """Every mark an editor's addition."""
    return Markings(
        tuple(replace(each, editorial=True) for each in marks.diagrams),
        tuple(
            replace(each, added=tuple(change.letter for change in each.changes))
            for each in marks.changes
        ),
    )


def ours(data: bytes) -> list[etree._Element]:
    """The directions that were written in."""
    root = etree.fromstring(data)
    return [each for each in root.iter("direction") if each.get("id", "").startswith(OWN)]


def texts(data: bytes) -> list[str]:
    """What the words of each direction say together."""
    return [
        "".join(words.text or "" for words in each.iter("words"))
        for each in ours(data)
        if each.find("direction-type/words") is not None
    ]


def ringed_diagram() -> tuple[HarpPart, Markings]:
    """The MEI score's part, a diagram with a ringed C sharp in it, and a stack on beat 3."""
    part = read_score(MEI_SCORE, "harp.mei", "1")
    _, marks = planned_example(EXAMPLE)
    stack = next(each for each in marks.changes if len(each.changes) == 2)
    first = marks.diagrams[0]
    return part, markings(
        replace(first, place=replace(first.place, bar=0), changed=(Letter.C,)),
        replace(stack, place=replace(stack.place, bar=0, offset=Fraction(2))),
    )


def mei_marked(style: HouseStyle, *, editorial: bool = False) -> list[etree._Element]:
    """What was written into the MEI score; all else in it stays."""
    part, marks = ringed_diagram()
    marks = as_editors(marks) if editorial else marks
    written = write_back_score(MEI_SCORE, "harp.mei", part, marks, options_of(style, part))
    root = etree.fromstring(written.data)
    name = "{http://www.w3.org/XML/1998/namespace}id"
    return [each for each in root.iter("*") if each.get(name, "").startswith(OWN)]


@pytest.mark.parametrize(
    ("wish", "first"),
    [
        ({}, "C♯"),
        ({"capitals": False}, "c♯"),
        ({"language": "French"}, "Do♯"),
        ({"language": "German", "spelling": "words"}, "Cis"),
        ({"language": "Italian", "spelling": "words", "capitals": False}, "do\u00a0diesis"),
    ],
)
def test_letters_are_worded_as_on_the_page(wish: dict[str, Any], first: str) -> None:
    """The same names in both formats; names of two words hold together."""
    style = styled(**wish)
    assert texts(marked(style))[0] == first
    (letters,) = [each for each in mei_marked(style) if each.tag == f"{MEI}dir"]
    said = [text for text in letters.itertext() if text.strip()]
    assert len(said) == 2
    assert letters.find(f".//{MEI}lb") is not None


@pytest.mark.parametrize(
    "wish",
    [
        {},
        {"diagram_form": "rows"},
        {"diagram_form": "line"},
        {"diagram_form": "line", "naturals": "always"},
        {"language": "German"},
        {"language": "German", "spelling": "words", "diagram_form": "rows"},
        {"language": "French", "spelling": "words", "diagram_form": "line"},
        {"language": "Spanish", "diagram_form": "rows"},
        {"brackets": "round", "diagram_form": "line"},
    ],
    ids=str,
)
def test_what_was_written_is_read_again(wish: dict[str, Any]) -> None:
    """A reader finds every pedal of every mark, in whatever form and language it stands."""
    part, marks = planned_example(EXAMPLE)
    editorial = "brackets" in wish
    found = marks_read_back(read_score(marked(styled(**wish), editorial=editorial), "v.musicxml"))
    wanted = expected_marks(part, marks)
    assert [(bar, onset, dict(pedals)) for bar, onset, _, pedals in found] == [
        (bar, onset, dict(pedals)) for bar, onset, _, pedals in wanted
    ]


def test_forms_of_diagrams() -> None:
    """Strokes are the format's own element; letters are words, two lines or one."""
    strokes, rows, line = (
        marked(styled(diagram_form=form)) for form in ("strokes", "rows", "line")
    )
    assert len(list(etree.fromstring(strokes).iter("harp-pedals"))) == 6
    for data in (rows, line):
        assert not list(etree.fromstring(data).iter("harp-pedals"))
    assert texts(rows)[0] == "E F♯ G A\nD C B"
    assert texts(line)[0] == "D C B | E F♯ G A"
    assert texts(marked(styled(diagram_form="line", naturals="always")))[0] == (
        "D♮ C♮ B♮ | E♮ F♯ G♮ A♮"
    )
    assert [each.tag for each in mei_marked(styled())] == [f"{MEI}harpPedal", f"{MEI}dir"]
    assert [each.tag for each in mei_marked(styled(diagram_form="line"))] == [f"{MEI}dir"] * 2


def test_rings_are_circles_around_the_words() -> None:
    """MusicXML has ``enclosure``, MEI ``rend``; strokes have no ring in either format.

    Sources: MusicXML 4.0, ``enclosure-shape``; MEI Guidelines, ``data.TEXTRENDITION``.
    """
    ringed = [
        words
        for each in ours(marked(styled(diagram_form="line", diagrams_at_pages="none")))
        for words in each.iter("words")
        if words.get("enclosure")
    ]
    # The second ending is entered with another C than the first; D and E move at the segno, E after
    # the chord to which "To Coda" leads.
    assert [(words.text, words.get("enclosure")) for words in ringed] == [
        ("C♯", "circle"),
        ("D♯", "circle"),
        ("E", "circle"),
        ("E", "circle"),
    ]
    for plain in (styled(diagram_form="line", ring_changed=False), styled()):
        words = [words for each in ours(marked(plain)) for words in each.iter("words")]
        assert not any(each.get("enclosure") for each in words)
    diagram = mei_marked(styled(diagram_form="line"))[0]
    assert [each.text for each in diagram.iter(f"{MEI}rend") if each.get("rend") == "circle"] == [
        "C"
    ]


@pytest.mark.parametrize(
    ("place", "attributes", "mei"),
    [
        ("above", ("above", "1"), ("above", "1")),
        ("between", ("below", "1"), ("between", "1 2")),
        ("below", ("below", "2"), ("below", "2")),
    ],
)
def test_places(place: str, attributes: tuple[str, str], mei: tuple[str, str]) -> None:
    """Between two staves is below the upper one in MusicXML; MEI has the word itself.

    Source: MEI Guidelines, ``data.STAFFREL``.
    """
    style = styled(letter_place=place)
    written = ours(marked(style))
    letters = [each for each in written if each.find("direction-type/words") is not None]
    diagrams = [each for each in written if each.find("direction-type/words") is None]
    found = {(each.get("placement"), each.findtext("staff")) for each in letters}
    assert found == {attributes}
    found = {(each.get("placement"), each.findtext("staff")) for each in diagrams}
    assert found == {("above", "1")}
    diagram, stack = mei_marked(style)
    assert (stack.get("place"), stack.get("staff")) == mei
    assert (diagram.get("place"), diagram.get("staff")) == ("above", "1")


def test_fonts_and_sizes() -> None:
    """Family, weight, slope and size; eleven points are text beside a staff of twenty.

    Source of the eleven points: LilyPond, ``text-font-size``.
    """
    style = styled(font="serif", bold=False, italic=True, letter_size=3.0, staff_size_points=20.0)
    words = next(words for each in ours(marked(style)) for words in each.iter("words"))
    assert dict(words.attrib) == {
        "font-family": "serif",
        "font-style": "italic",
        "font-weight": "normal",
        "font-size": "15.6",
    }
    plain = next(words for each in ours(marked(styled())) for words in each.iter("words"))
    assert (plain.get("font-family"), plain.get("font-weight")) == ("sans-serif", "bold")
    rend = mei_marked(style)[1].find(f"{MEI}rend")
    assert rend is not None
    assert dict(rend.attrib) == {
        "fontfam": "serif",
        "fontstyle": "italic",
        "fontweight": "normal",
        "fontsize": "15.6pt",
    }
    sizes = [
        next(etree.fromstring(marked(styled(diagram_size=size))).iter("harp-pedals")).get(
            "font-size"
        )
        for size in (-2.0, 2.0)
    ]
    assert float(str(sizes[1])) / float(str(sizes[0])) == pytest.approx(2 ** (4 / 6), rel=0.01)


@pytest.mark.parametrize(
    ("brackets", "text", "level"),
    [
        ("square", "[C♯]", {"bracket": "yes"}),
        ("round", "(C♯)", {"parentheses": "yes"}),
        ("small", "C♯", {"size": "cue"}),
    ],
)
def test_an_editors_brackets(brackets: str, text: str, level: dict[str, str]) -> None:
    """In the text of letters; at a diagram of strokes in what MusicXML calls ``level``.

    Source: MusicXML 4.0, ``level`` and ``level-display``.
    """
    style = styled(brackets=brackets)
    data = marked(style, editorial=True)
    assert texts(data)[0] == text
    diagram = next(
        each for each in ours(data) if each.find("direction-type/harp-pedals") is not None
    )
    display = diagram.find("level")
    assert display is not None
    assert dict(display.attrib) == level
    words = next(words for each in ours(data) for words in each.iter("words"))
    usual = next(words for each in ours(marked(style)) for words in each.iter("words"))
    smaller = float(words.get("font-size", "")) < float(usual.get("font-size", ""))
    assert smaller == (brackets == "small")
    stack = mei_marked(style, editorial=True)[-1]
    said = [each for each in stack.itertext() if each.strip()]
    assert all((each[0] in "[(") == (brackets != "small") for each in said)


def test_writing_twice_in_another_style_leaves_one_set_of_marks() -> None:
    """A second run takes the marks of the first one away, whatever style they had."""
    part = read_score(score(), "score.musicxml")
    marks = ringed_marks()
    first = marked(styled(diagram_form="line", letter_place="below", language="French"))
    again = write_back_score(first, "score.musicxml", part, marks, options_of(styled(), part))
    assert again.data == marked(styled())
    assert len(ours(again.data)) == len(marks.diagrams) + len(marks.changes) + len(marks.strings)
