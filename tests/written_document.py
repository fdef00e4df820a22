"""A document with everything that must stay as it is, and marks to write into it."""

from __future__ import annotations

import io
import zipfile

from written_back import diagram_at, letters_at, markings, place

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.output.write_back.door import write_back_score

__all__ = ["MARKS", "archive", "document", "written"]

DOCUMENT = """\
<?xml version='1.0' encoding="{encoding}" standalone='no'?>
<?a-style sheet="none"?>
<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML {version} Partwise//EN"
  "http://www.musicxml.org/dtds/partwise.dtd">
<!-- <part id="P1"><measure/></part> is no part -->
<score-partwise   version='{version}' >
  <movement-title>Œuvre &amp; caf&#233; &lt;1&gt;</movement-title>
  <part-list>
    <score-part id="P0"><part-name>Flute</part-name></score-part>
    <score-part id='P1'><part-name>Harp</part-name></score-part>
  </part-list>
  <part id="P0">
    <measure number="1"><attributes><divisions>1</divisions></attributes>
      <direction><direction-type><words>B♭</words></direction-type></direction>
      <note><rest measure="yes"/><duration>4</duration></note>
    </measure>
    <measure number="2"><note><rest measure="yes"/><duration>4</duration></note></measure>
  </part>
  <!-- the harp -->
  <part id='P1'>
    <!--=======================================================-->
    <measure number="1" width="120.5" >

      <attributes>
        <divisions>2</divisions>
        <staves>2</staves>
      </attributes>
      <direction   placement = "above"><direction-type><words>D♯</words></direction-type
      ></direction>

\t<note default-x='3'><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration
  ><voice>1</voice><type>half</type><staff>1</staff></note><!-- a note -->
      <?keep this?><note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration>
        <voice>1</voice><type>half</type><staff>1</staff>
        <notations><technical><other-technical><![CDATA[a > b & <c>]]></other-technical
        ></technical></notations>
      </note>
      <backup><duration>8</duration></backup>
      <note><rest measure="yes"/><duration>8</duration><voice>5</voice><staff>2</staff></note>
    </measure>
    <measure number="2"/>
  </part>
</score-partwise>
<!-- after -->
"""

MARKS = markings(
    diagram_at(place(0)),
    letters_at(place(0, 1), "F♯"),
    letters_at(place(0, 2), "G♭", "C♮"),
    diagram_at(place(1), "nnn|bnnb"),
    letters_at(place(1, 3), "A♮"),
)


def document(encoding: str = "UTF-8", version: str = "4.0") -> str:
    """The document, for signs that Latin-1 cannot hold with character references."""
    return DOCUMENT.format(encoding=encoding, version=version)


def written(data: bytes, marks: Markings = MARKS, file: str = "harp.musicxml") -> bytes:
    """The document with marks."""
    return write_back_score(data, file, read_score(data, file), marks).data


def archive(score: bytes, method: int) -> bytes:
    """An .mxl with a picture, a text, comments and dates of its own."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as opened:
        opened.comment = b"made by hand"
        for name, content in (
            ("mimetype", b"application/vnd.recordare.musicxml"),
            (
                "META-INF/container.xml",
                b'<container><rootfiles><rootfile full-path="score.xml"/>'
                b'<rootfile full-path="page.png" media-type="image/png"/></rootfiles></container>',
            ),
            ("score.xml", score),
            ("page.png", bytes(range(256)) * 9),
            ("Fußnote.txt", b"x"),
        ):
            info = zipfile.ZipInfo(name, (1999, 12, 31, 23, 59, 58))
            info.compress_type = zipfile.ZIP_STORED if name == "mimetype" else method
            info.comment = name.encode()
            info.extra = b"\xfe\xca\x02\x00ok"
            info.external_attr = 0o644 << 16
            opened.writestr(info, content)
    return stream.getvalue()
