"""Names of strings in the user's own document: words at the note, and nothing else moves.

Sources: MusicXML 4.0, ``direction`` and ``words``; MEI Guidelines, ``dir`` with ``tstamp``.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import etree
from musicxml_schema import schema_errors
from score_snippets import TREBLE_AND_BASS, bars, move, note, opening, score
from strings_moved import on_other_strings

from pedalsetter.analysis.editing import edit_marks
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.marks.marking import Markings, place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.output.write_back.clearing import without_marks
from pedalsetter.engrave.output.write_back.door import write_back_score
from pedalsetter.engrave.output.write_back.marked_copy import marked_copy
from pedalsetter.engrave.output.write_back.options import WriteBackOptions, WrittenBack

NAMED = Callable[[HarpPart], Markings]

MUSICXML = score(
    bars(
        note("F5", 4, staff=1)
        + move(-4)
        + note("C3", 1, voice=2, staff=2)
        + note("F3", 1, voice=2, staff=2)
        + note("Ab3", 1, voice=2, staff=2, chord=True)
        + note("R", 2, voice=2, staff=2),
        note("G4", grace="", kind="eighth", staff=1) + note("F4", 4, staff=1),
        first=opening(staves=2, clefs=TREBLE_AND_BASS),
    )
)

MEI = b"""<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.1">
  <music><body><mdiv><score>
    <scoreDef meter.count="4" meter.unit="4" keysig="0"><staffGrp symbol="brace"><label>Harp</label>
      <staffDef n="1" lines="5" clef.shape="G" clef.line="2"/>
      <staffDef n="2" lines="5" clef.shape="F" clef.line="4"/>
    </staffGrp></scoreDef>
    <section>
      <measure xml:id="m1" n="1">
        <staff n="1"><layer n="1"><note xml:id="a1" pname="f" oct="5" dur="1"/></layer></staff>
        <staff n="2"><layer n="1"><rest xml:id="a2" dur="4"/><note xml:id="a3" pname="f" oct="3"
          dur="4"/><rest xml:id="a4" dur="2"/></layer></staff>
      </measure>
    </section>
  </score></mdiv></body></music>
</mei>
"""


def names_only(part: HarpPart) -> Markings:
    """Every note on its other string, and no other mark."""
    marks = place_marks(part, on_other_strings(plan_changes(part)))
    return Markings((), (), marks.strings)


def written(data: bytes, options: WriteBackOptions = WriteBackOptions()) -> WrittenBack:  # noqa: B008
    """The document with the names in it."""
    file = "a.mei" if b"<mei" in data else "a.musicxml"
    part = read_score(data, file)
    return write_back_score(data, file, part, names_only(part), options)


def test_musicxml_has_the_names_before_their_notes_on_their_staves() -> None:
    """Each is a direction of words before its note, on its side; the document stays valid.

    Source: W3C, MusicXML 4.0 schema.
    """
    result = written(MUSICXML)
    assert schema_errors(result.data) == []
    root = etree.fromstring(result.data)
    found = []
    for direction in root.iter("direction"):
        after = direction.getnext()
        assert after is not None
        found.append(
            (
                direction.findtext("direction-type/words"),
                direction.get("placement"),
                direction.findtext("staff"),
                f"{after.findtext('pitch/step')}{after.findtext('pitch/octave')}",
            )
        )
        assert (direction.get("id") or "").startswith("pedalsetter-")
    assert found == [
        ("(=E♯)", "above", "1", "F5"),
        ("(=B♯)", "below", "2", "C3"),
        ("(=G♯)\n(=E♯)", "below", "2", "F3"),
        ("(=E♯)", "above", "1", "F4"),
    ]
    assert result.marks == 4


def test_mei_has_them_at_their_beats() -> None:
    """Each is a ``dir`` at the beat and staff of its note."""
    root = etree.fromstring(written(MEI).data)
    found = [
        ("".join(each.itertext()), each.get("staff"), each.get("tstamp"), each.get("place"))
        for each in root.iter("{*}dir")
    ]
    assert found == [("(=E♯)", "1", "1", "above"), ("(=E♯)", "2", "2", "below")]


def test_they_go_in_and_out_by_the_byte() -> None:
    """A second run gives the same bytes, and without them the document is what it was."""
    for data, file in ((MUSICXML, "a.musicxml"), (MEI, "a.mei")):
        once = written(data).data
        assert once != data
        assert without_marks(once, file) == data
        assert read_score(without_marks(once, file), file) == read_score(data, file)
        part = read_score(data, file)
        assert write_back_score(once, file, part, names_only(part)).data == once


@pytest.mark.parametrize("mode", SourceMarks)
@pytest.mark.parametrize("data", [MUSICXML, MEI], ids=["musicxml", "mei"])
def test_a_copy_that_lost_whose_they_are_has_them_once(
    data: bytes, mode: SourceMarks, tmp_path: Path
) -> None:
    """Another program drops the identities: the names are replaced or kept, and never doubled."""
    once = re.sub(rb' (?:xml:)?id="pedalsetter-[^"]*"', b"", written(data).data)
    file = tmp_path / ("a.mei" if data is MEI else "a.musicxml")
    file.write_bytes(once)
    part = read_score(once, file.name)
    plan = on_other_strings(plan_changes(part))
    edition = edit_marks(part, plan, place_marks(part, plan), mode)
    again = marked_copy(file, part, edition).data
    assert again.decode().count("(=") == once.decode().count("(=") > 1


def test_whoever_reads_the_copy_takes_no_name_for_a_pedal() -> None:
    """Read with all that stands in it, a copy has no pedal letters but those that were put in."""
    for data, file in ((MUSICXML, "a.musicxml"), (MEI, "a.mei")):
        part = read_score(written(data).data, file)
        assert part.source_marks == ()
        assert part.doubtful_words == ()
