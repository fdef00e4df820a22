"""What is written back, fact by fact of the two standards.

The numbers are those of the table of trade facts, S1 to S17: W3C, MusicXML 4.0 reference and
schema (``direction.mod``); MEI Guidelines 3 to 5, ``harpPedal``. Each is tried on what is written
into a real score with a diagram and a stack of letters at every place, and in a bracketed edition.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
import verovio
from lxml import etree
from musicxml_schema import is_valid, schema_errors
from written_back import diagram_at, letters_at, markings, marks_everywhere, place

from pedalsetter.analysis.instrument.harp import Setting
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.reading import read_part, read_score
from pedalsetter.engrave.output.write_back.door import write_back, write_back_score

SOLO = Path(__file__).resolve().parents[2] / "examples" / "evening-water.musicxml"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"


def bracketed(marks: Markings) -> Markings:
    """Every mark as an editor's addition."""
    return Markings(
        tuple(replace(each, editorial=True) for each in marks.diagrams),
        tuple(
            replace(each, added=tuple(change.letter for change in each.changes))
            for each in marks.changes
        ),
    )


@cache
def document(editorial: bool = False) -> bytes:
    """The example with marks everywhere, ours or an editor's."""
    part = read_part(SOLO)
    marks = marks_everywhere(part)
    return write_back(SOLO, part, bracketed(marks) if editorial else marks).data


@cache
def directions(editorial: bool = False) -> tuple[etree._Element, ...]:
    """Every direction that was written."""
    found = etree.fromstring(document(editorial)).xpath(
        "//direction[starts-with(@id, 'pedalsetter-')]"
    )
    assert len(found) > 300
    return tuple(found)


def diagrams() -> list[etree._Element]:
    """Every diagram that was written, bracketed ones too."""
    return [
        each.find("direction-type/harp-pedals")
        for each in (*directions(), *directions(True))
        if each.find("direction-type/harp-pedals") is not None
    ]


def test_s1_nesting() -> None:
    """``direction``, ``direction-type``, ``harp-pedals``, ``pedal-tuning``: step, then alter."""
    for diagram in diagrams():
        assert diagram.getparent().tag == "direction-type"
        assert diagram.getparent().getparent().tag == "direction"
        assert {each.tag for each in diagram} == {"pedal-tuning"}
        for tuning in diagram:
            assert [each.tag for each in tuning] == ["pedal-step", "pedal-alter"]


def test_s2_letters_and_semitones() -> None:
    """Steps are A to G; −1 is flat, 0 natural, 1 sharp, and nothing else is written."""
    steps = {each.text for diagram in diagrams() for each in diagram.iter("pedal-step")}
    alters = {each.text for diagram in diagrams() for each in diagram.iter("pedal-alter")}
    assert steps == set("ABCDEFG")
    assert alters == {"-1", "0", "1"}


def test_s3_a_natural_is_an_explicit_zero() -> None:
    """All natural: seven zeros, none left out; without one of them the schema refuses."""
    part = read_part(SOLO)
    data = write_back(SOLO, part, markings(diagram_at(place(0), "nnn|nnnn"))).data
    assert data.count(b"<pedal-alter>0</pedal-alter>") == 7
    assert is_valid(data)
    assert not is_valid(data.replace(b"<pedal-alter>0</pedal-alter>", b"", 1))


def test_s4_seven_in_pedal_order() -> None:
    """The order that the reference advises: D C B E F G A."""
    for diagram in diagrams():
        assert "".join(each.text or "" for each in diagram.iter("pedal-step")) == "DCBEFGA"


def test_s5_only_settings_that_a_harp_has() -> None:
    """The schema would take a double flat, a letter twice or three pedals; we write none."""
    part = read_part(SOLO)
    data = write_back(SOLO, part, markings(diagram_at(place(0), "bbb|bbbb"))).data
    odd = data.replace(b"<pedal-alter>-1</pedal-alter>", b"<pedal-alter>-2</pedal-alter>", 1)
    assert is_valid(odd)
    for diagram in diagrams():
        pedals = {
            tuning.findtext("pedal-step"): tuning.findtext("pedal-alter") for tuning in diagram
        }
        assert len(diagram) == len(pedals) == 7
        assert set(pedals.values()) <= {"-1", "0", "1"}


def test_s6_a_diagram_has_no_placement() -> None:
    """The schema knows no ``placement`` on ``harp-pedals``; we put it where it knows one."""
    assert all(not diagram.attrib for diagram in diagrams())
    assert not is_valid(document().replace(b"<harp-pedals>", b'<harp-pedals placement="above">', 1))


def test_s7_placement_and_the_order_of_children() -> None:
    """``placement`` is the direction's; children are in the only order that the schema takes."""
    order = ["direction-type", "offset", "level", "voice", "staff"]
    for direction in (*directions(), *directions(True)):
        assert direction.get("placement") == "above"
        tags = [child.tag for child in direction]
        assert tags == sorted(tags, key=order.index)
        assert len(set(tags)) == len(tags)
    for editorial in (False, True):
        assert schema_errors(document(editorial)) == []


def test_s8_a_diagram_stands_alone_in_its_type() -> None:
    """Nothing shares a ``direction-type`` with ``harp-pedals``, not even an editor's brackets."""
    assert all(len(diagram.getparent()) == 1 for diagram in diagrams())
    alone = b"</harp-pedals>"
    assert not is_valid(document().replace(alone, alone + b"<words>gliss.</words>", 1))


def test_s9_a_change_is_words() -> None:
    """There is no element for a single change, nor for a ring: letters are text."""
    for direction in directions():
        (content,) = direction.find("direction-type")
        assert content.tag in ("harp-pedals", "words")
        if content.tag == "words":
            assert all(line[0] in "ABCDEFG" and line[1] in "♭♮♯" for line in content.text.split())


def test_s10_tunings_have_no_attributes() -> None:
    """``pedal-tuning``, ``pedal-step`` and ``pedal-alter`` take none."""
    for diagram in diagrams():
        assert all(not each.attrib for tuning in diagram for each in (tuning, *tuning))


def test_s11_the_pedal_of_the_piano_is_not_ours() -> None:
    """``pedal`` is the damper pedal: as many are there as before."""
    assert document().count(b"<pedal ") == SOLO.read_bytes().count(b"<pedal ")
    assert all(each.find(".//pedal") is None for each in directions())


MEI = b"""<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>
<titleStmt><title>F flat</title></titleStmt><pubStmt/></fileDesc></meiHead>
<music><body><mdiv><score>
<scoreDef meter.count="4" meter.unit="4"><staffGrp><staffDef n="1" lines="5" clef.shape="G"
clef.line="2" label="Harp"/></staffGrp></scoreDef><section><measure n="1"><staff n="1"><layer n="1">
<note xml:id="a" pname="c" oct="5" dur="2"/><note xml:id="b" pname="e" oct="5" dur="2"/>
</layer></staff></measure></section></score></mdiv></body></music></mei>
"""


@cache
def mei() -> etree._Element:
    """A bar with S26's setting, with one of seven flats that an editor added, and two letters."""
    part = read_score(MEI, "f.mei", "1")
    added = replace(diagram_at(place(0, 2), "bbb|bbbb"), editorial=True)
    marks = markings(diagram_at(place(0), "bsn|ssnb"), letters_at(place(0, 1), "F♯", "C♮"))
    marks = Markings((*marks.diagrams, added), marks.changes)
    return etree.fromstring(write_back_score(MEI, "f.mei", part, marks).data)


def test_s12_harp_pedal_is_an_empty_control_event() -> None:
    """It stands in ``measure``, or in what an editor supplies there, and holds nothing."""
    plain, supplied = mei().iter("{*}harpPedal")
    assert etree.QName(plain.getparent()).localname == "measure"
    assert etree.QName(supplied.getparent()).localname == "supplied"
    assert etree.QName(supplied.getparent().getparent()).localname == "measure"
    assert not len(plain)
    assert plain.text is None


def test_s13_letters_are_attributes() -> None:
    """``f`` flat, ``n`` natural, ``s`` sharp, by the letter of the pedal (S26)."""
    plain, _ = mei().iter("{*}harpPedal")
    assert {key: plain.get(key) for key in "dcbefga"} == {
        "d": "f",
        "c": "s",
        "b": "n",
        "e": "s",
        "f": "s",
        "g": "n",
        "a": "f",
    }


def test_s14_all_seven_are_always_written() -> None:
    """A missing one would read as natural."""
    for each in mei().iter("{*}harpPedal"):
        assert all(each.get(key) in ("f", "n", "s") for key in "abcdefg")


def test_s15_every_sign_has_a_time_and_a_staff() -> None:
    """``tstamp`` is one of the four that the standard asks for; ``staff`` says where."""
    signs = [*mei().iter("{*}harpPedal"), *mei().iter("{*}dir")]
    assert sorted(each.get("tstamp") for each in signs) == ["1", "2", "3"]
    assert {each.get("staff") for each in signs} == {"1"}


def test_s16_f_is_a_pedal_and_a_flat() -> None:
    """``f="f"`` is F flat: seven flats are read back as such; ``n`` is no pedal."""
    _, flats = mei().iter("{*}harpPedal")
    assert flats.get("f") == "f"
    assert flats.get("n") is None
    again = read_score(etree.tostring(mei()), "f.mei", "1")
    settings = {mark.onset: mark.setting() for mark in again.source_marks if mark.setting()}
    assert settings == {
        Fraction(0): Setting.parse_pattern("bsn|ssnb"),
        Fraction(2): Setting.parse_pattern("bbb|bbbb"),
    }


def test_s17_a_change_is_text_in_dir(capfd: pytest.CaptureFixture[str]) -> None:
    """No attribute rings a pedal, so changes are ``dir``; verovio draws both letters."""
    (letters,) = mei().iter("{*}dir")
    assert "".join(letters.itertext()) == "F♯C♮"
    assert letters.get(XML_ID, "").startswith("pedalsetter-")
    verovio.enableLog(verovio.LOG_WARNING)
    toolkit = verovio.toolkit()
    capfd.readouterr()
    assert toolkit.loadData(etree.tostring(mei()).decode())
    svg = toolkit.renderToSVG(1)
    assert "F♯" in svg
    assert "C♮" in svg
    said = set(capfd.readouterr().err.splitlines())
    assert said <= {"[Warning] Unsupported '<harpPedal>' within <measure>"}
