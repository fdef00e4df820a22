"""The source's own marks in the user's own file: kept, added to, or taken out to the byte.

Sources: MusicXML 4.0 (``direction``, ``level``: "editorial information", its ``bracket`` puts
brackets around the symbol); MEI Guidelines, ``supplied``. Verovio and LilyPond's ``musicxml2ly``
are independent readers.
"""

from __future__ import annotations

import re
import subprocess
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
import verovio
from lxml import etree
from musicxml_schema import is_valid
from score_snippets import bars, note, score
from source_marked import as_sources_own, with_slips
from written_back import marks_read_back, score_inside, without_inserted

from pedalsetter.analysis.editing import Edition, edit_marks
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.errors import OutputError
from pedalsetter.analysis.marks.marking import Markings, place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part, read_score
from pedalsetter.engrave.output.pages.engraver import find_lilypond
from pedalsetter.engrave.output.write_back.archive import with_member
from pedalsetter.engrave.output.write_back.clearing import without_marks
from pedalsetter.engrave.output.write_back.door import write_back_score
from pedalsetter.engrave.output.write_back.marked_copy import check_format, marked_copy

SCORE_IN_ARCHIVE = "score.musicxml"
EXAMPLES = Path(__file__).resolve().parents[4] / "examples"
SOLO = EXAMPLES / "evening-water.musicxml"
ORCHESTRA = EXAMPLES / "orchestral-nocturne.musicxml"


def edition_of(part: HarpPart, mode: SourceMarks) -> Edition:
    """The part in an edition of its own plan."""
    plan = plan_changes(part)
    return edit_marks(part, plan, place_marks(part, plan), mode)


def copy_of(path: Path, mode: SourceMarks) -> bytes:
    """What the road writes back: marks of ours are none of the source's."""
    part = read_score(without_marks(path.read_bytes(), path.name), path.name)
    return marked_copy(path, part, edition_of(part, mode)).data


@cache
def clean_and_marked(path: Path) -> tuple[bytes, bytes, bytes]:
    """(score without marks, with ours, with the same marks as its own)."""
    part = read_part(path)
    ours = marked_copy(path, part, edition_of(part, SourceMarks.REPLACE)).data
    return path.read_bytes(), ours, as_sources_own(ours)


@pytest.mark.parametrize("path", [SOLO, ORCHESTRA], ids=lambda path: path.stem)
def test_replacing_right_marks_gives_what_a_clean_score_gives(path: Path, tmp_path: Path) -> None:
    """The source's marks go out and ours come in: as if there had never been others.

    In the orchestral score a diagram sets a glissando, which no note tells; it stays, once.
    """
    _, ours, own = clean_and_marked(path)
    file = tmp_path / "own.musicxml"
    file.write_bytes(own)
    replaced = copy_of(file, SourceMarks.REPLACE)
    stays = replaced.count(b"<harp-pedals") - replaced.count(b' id="pedalsetter-')
    if path is SOLO:
        assert replaced == ours
    assert replaced.count(b"<harp-pedals>") == ours.count(b"<harp-pedals>")
    assert marks_read_back(read_score(replaced, "r.musicxml")) == marks_read_back(
        read_score(ours, "o.musicxml")
    )
    assert stays < 0


@pytest.mark.parametrize("mode", SourceMarks)
@pytest.mark.parametrize("path", [SOLO, ORCHESTRA], ids=lambda path: path.stem)
def test_a_second_run_gives_the_same_bytes(path: Path, mode: SourceMarks, tmp_path: Path) -> None:
    """Our marks of the first run give way to the same marks, whatever the source has of its own."""
    source = with_slips(clean_and_marked(path)[2])
    file = tmp_path / "own.musicxml"
    file.write_bytes(source)
    once = copy_of(file, mode)
    file.write_bytes(once)
    assert copy_of(file, mode) == once


@pytest.mark.parametrize("path", [SOLO, ORCHESTRA], ids=lambda path: path.stem)
def test_what_is_kept_is_not_touched(path: Path, tmp_path: Path) -> None:
    """Keep changes no byte of a pedalled source; complete puts in bracketed marks, nothing else."""
    source = with_slips(clean_and_marked(path)[2])
    file = tmp_path / "own.musicxml"
    file.write_bytes(source)
    assert copy_of(file, SourceMarks.KEEP) == source
    completed = copy_of(file, SourceMarks.COMPLETE)
    assert without_inserted(completed) == source
    added = etree.fromstring(completed).xpath(
        "//direction[starts-with(@id, 'pedalsetter-')]/direction-type/words/text()"
    )
    assert added
    for text in added:
        assert re.fullmatch(r"\[[A-G][♭♮♯]\](\n\[[A-G][♭♮♯]\])*|\(=[A-G][♭♮♯]\)", text)
    assert is_valid(completed)


def test_a_diagram_that_is_added_asks_for_brackets(tmp_path: Path) -> None:
    """The source begins without a setting; the one that is added is valid and bracketed.

    Source: MusicXML 4.0, ``level``: it stands between ``offset`` and ``voice``, and its ``bracket``
    is a yes or no.
    """
    source = clean_and_marked(SOLO)[2]
    start = source.rindex(b"<direction placement", 0, source.index(b"<harp-pedals>"))
    end = source.index(b"</direction>", start) + len(b"</direction>")
    file = tmp_path / "own.musicxml"
    file.write_bytes(source[:start].rstrip() + source[end:])
    completed = copy_of(file, SourceMarks.COMPLETE)
    root = etree.fromstring(completed)
    (added,) = root.xpath("//direction[starts-with(@id, 'pedalsetter-')][.//harp-pedals]")
    assert [child.tag for child in added if child.tag != "voice"] == [
        "direction-type",
        "level",
        "staff",
    ]
    assert added.find("direction-type/harp-pedals") is not None
    assert added.find("level").attrib == {"bracket": "yes"}
    assert is_valid(completed)


def test_independent_readers_show_the_additions(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """Verovio draws the brackets, ``musicxml2ly`` keeps them; neither has anything to say of them.

    Verovio knows no ``harp-pedals``, which it tells of the source as it stands too.
    """
    source = with_slips(clean_and_marked(SOLO)[2])
    file = tmp_path / "own.musicxml"
    file.write_bytes(source)
    completed = copy_of(file, SourceMarks.COMPLETE)
    verovio.enableLog(verovio.LOG_WARNING)
    said = []
    for data in (source, completed):
        toolkit = verovio.toolkit()
        capfd.readouterr()
        assert toolkit.loadData(data.decode())
        svg = "".join(toolkit.renderToSVG(page + 1) for page in range(toolkit.getPageCount()))
        said.append(capfd.readouterr().err)
    assert said[0] == said[1]
    drawn = re.sub(r"<[^>]*>|\s", "", svg)
    added = re.findall(r"\[[A-G][♭♮♯]\]", completed.decode())
    assert len(added) >= 3
    assert sorted(re.findall(r"\[[A-G][♭♮♯]\]", drawn)) == sorted(added)
    (tmp_path / "score.musicxml").write_bytes(completed)
    command = [
        str(Path(find_lilypond()).with_name("musicxml2ly")),
        "-o",
        "out.ly",
        "score.musicxml",
    ]
    subprocess.run(command, cwd=tmp_path, check=True, capture_output=True, timeout=60)
    converted = (tmp_path / "out.ly").read_text(encoding="utf-8")
    assert all(text in converted for text in added)


def replaced_in(document: str) -> str:
    """The document without all marks of its own that are read from it."""
    data = document.encode()
    part = read_score(data, "own.musicxml", "1")
    assert part.source_marks
    result = write_back_score(
        data, "own.musicxml", part, Markings((), ()), replaced=part.source_marks
    )
    return result.data.decode()


DIAGRAM = (
    "<harp-pedals>"
    + "".join(
        f"<pedal-tuning><pedal-step>{step}</pedal-step><pedal-alter>0</pedal-alter></pedal-tuning>"
        for step in "DCBEFGA"
    )
    + "</harp-pedals>"
)


@pytest.mark.parametrize(
    ("direction", "left"),
    [
        # words beside the diagram stay
        (
            "<direction><direction-type><words>cantabile</words></direction-type>"
            f"<direction-type>{DIAGRAM}</direction-type></direction>",
            "<direction><direction-type><words>cantabile</words></direction-type></direction>",
        ),
        # a sound stays, and is then no part of a direction
        (
            f'<direction><direction-type>{DIAGRAM}</direction-type><sound tempo="66"/></direction>',
            '<sound tempo="66"/>',
        ),
        # letters in several runs of one text
        (
            "<direction><direction-type><words>F</words><words font-size='8'>♯</words>"
            "</direction-type></direction>",
            "",
        ),
        # two marks in one direction
        (
            f"<direction><direction-type>{DIAGRAM}</direction-type>"
            "<direction-type><words>F♯</words></direction-type></direction>",
            "",
        ),
        # a comment and an instruction beside it are the user's
        (
            f"<!-- a --><?b?><direction><direction-type>{DIAGRAM}</direction-type></direction>"
            "<!-- c -->",
            "<!-- a --><?b?><!-- c -->",
        ),
        # an identity of the user's own
        (
            '<direction id="mine"><direction-type><words id="w">F♯</words></direction-type>'
            "<voice>1</voice></direction>",
            "",
        ),
    ],
)
def test_nothing_goes_but_the_marks(direction: str, left: str) -> None:
    """What stands in one direction with a mark, or beside it, is no mark."""
    rest = note("C4", 2)
    document = score(bars(note("C4", 2) + direction + rest)).decode()
    assert direction in document
    assert replaced_in(document) == document.replace(direction, left)


@pytest.mark.parametrize("version", ["1.0", "2.0", "3.0", "3.1", "4.0"])
def test_marks_of_any_version_are_replaced(version: str, tmp_path: Path) -> None:
    """Older versions have no identities; a second run still knows ours from the source's."""
    head = b'<score-partwise version="4.0">'
    source = clean_and_marked(SOLO)[2].replace(
        head, f'<score-partwise version="{version}">'.encode()
    )
    file = tmp_path / "own.musicxml"
    file.write_bytes(with_slips(source))
    once = copy_of(file, SourceMarks.COMPLETE)
    file.write_bytes(once)
    assert copy_of(file, SourceMarks.COMPLETE) == once
    file.write_bytes(source)
    clean = clean_and_marked(SOLO)[0].replace(
        head, f'<score-partwise version="{version}">'.encode()
    )
    part = read_score(source, "own.musicxml")
    cleared = write_back_score(
        source, "own.musicxml", part, Markings((), ()), replaced=part.source_marks
    )
    assert cleared.data == clean


def test_both_halves_of_a_harp_lose_their_marks() -> None:
    """A harp written as two parts may have marks at either; the other part's words stay."""
    letters = "<direction><direction-type><words>F♯</words></direction-type></direction>"
    text = "<direction><direction-type><words>dolce</words></direction-type></direction>"
    halves = [letters + note("C5", 4), text + letters + note("C3", 4)]
    document = _two_parts(*halves)
    data = document.encode()
    part = read_score(data, "two.musicxml", "1+2")
    assert len(part.source_marks) == 2
    result = write_back_score(
        data, "two.musicxml", part, Markings((), ()), replaced=part.source_marks
    )
    assert result.data.decode() == document.replace(letters, "")


def _two_parts(upper: str, lower: str) -> str:
    heads = "".join(
        f'<score-part id="P{number}"><part-name>Harp {number}</part-name></score-part>'
        for number in (1, 2)
    )
    parts = "".join(
        f'<part id="P{number}"><measure number="1"><attributes><divisions>1</divisions>'
        "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
        f"{music}</measure></part>"
        for number, music in ((1, upper), (2, lower))
    )
    return f'<score-partwise version="4.0"><part-list>{heads}</part-list>{parts}</score-partwise>'


MEI = """<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0">
  <meiHead><fileDesc><titleStmt><title>Marked</title></titleStmt><pubStmt/></fileDesc></meiHead>
  <music><body><mdiv><score>
    <scoreDef meter.count="4" meter.unit="4"><staffGrp>
      <staffDef n="1" lines="5" clef.shape="G" clef.line="2" label="Harp"/></staffGrp></scoreDef>
    <section>
      <measure n="1">
        <staff n="1"><layer n="1"><note xml:id="a" pname="f" oct="5" dur="2"/>
          <note xml:id="b" pname="f" oct="5" dur="2" accid="s"/></layer></staff>
        <!-- of the source -->{first}
      </measure>
      <measure n="2">
        <staff n="1"><layer n="1"><note xml:id="c" pname="c" oct="5" dur="2" accid="s"/>
          <note xml:id="d" pname="c" oct="5" dur="2"/></layer></staff>{second}
      </measure>
    </section>
  </score></mdiv></body></music>
</mei>
"""
MEI_FIRST = (
    '\n        <harpPedal staff="1" tstamp="1" d="n" c="n" b="n" e="n" f="n" g="n" a="n"/>'
    '\n        <dir staff="1" startid="#b"><rend fontstyle="normal">F♯</rend></dir>'
)
MEI_SECOND = '\n        <dir xml:id="words" staff="1" tstamp="3">dolce</dir>'


@pytest.mark.parametrize("mode", SourceMarks)
def test_mei_likewise(mode: SourceMarks, tmp_path: Path) -> None:
    """In MEI too marks stand, are added to in brackets, or go; *dolce* is no mark."""
    source = MEI.format(first=MEI_FIRST, second=MEI_SECOND)
    file = tmp_path / "own.mei"
    file.write_text(source, encoding="utf-8")
    once = copy_of(file, mode)
    file.write_bytes(once)
    assert copy_of(file, mode) == once
    rest = without_inserted(once).decode()
    text = once.decode()
    if mode is SourceMarks.REPLACE:
        assert rest == MEI.format(first="", second=MEI_SECOND)
        assert text.count("<harpPedal ") == 1
    else:
        assert rest == source
    if mode is SourceMarks.COMPLETE:
        assert "[C♯]" in text
        assert "[C♮]" in text
    if mode is SourceMarks.KEEP:
        assert text == source


def test_a_diagram_added_to_mei_is_supplied(tmp_path: Path) -> None:
    """The editor's diagram stands in ``supplied``; our own reader finds it there."""
    file = tmp_path / "own.mei"
    letters = MEI_FIRST[MEI_FIRST.index("\n        <dir") :]
    file.write_text(MEI.format(first=letters, second=MEI_SECOND), encoding="utf-8")
    completed = copy_of(file, SourceMarks.COMPLETE)
    root = etree.fromstring(completed)
    (diagram,) = root.iter("{*}harpPedal")
    parent = diagram.getparent()
    assert parent is not None
    assert etree.QName(parent).localname == "supplied"
    diagrams = [
        mark for mark in read_score(completed, "c.mei").source_marks if mark.kind == "diagram"
    ]
    assert [(mark.bar, mark.onset) for mark in diagrams] == [(0, Fraction(0))]
    verovio.enableLog(verovio.LOG_OFF)
    assert verovio.toolkit().loadData(completed.decode())


def test_a_score_is_written_back_in_its_own_format_only() -> None:
    """Another format would lose what only its own can say; one line tells what to do instead."""
    part = read_part(SOLO)
    check_format(part)
    check_format(part, "musicxml")
    check_format(read_part(EXAMPLES / "three-times-round.mxl"), "musicxml")
    with pytest.raises(OutputError) as told:
        check_format(part, "mei")
    assert str(told.value) == (
        "evening-water.musicxml: marks are written into the score's own format, musicxml, and "
        "never into mei. Ask for musicxml, or export the score as mei and give that."
    )


def test_the_marks_of_an_archive_are_replaced_too(tmp_path: Path) -> None:
    """In MXL the score inside loses its own marks and gets ours, each once."""
    path = EXAMPLES / "three-times-round.mxl"
    part = read_part(path)
    ours = marked_copy(path, part, edition_of(part, SourceMarks.REPLACE)).data
    inside = as_sources_own(score_inside(ours))
    archive = tmp_path / "own.mxl"
    archive.write_bytes(with_member(ours, SCORE_IN_ARCHIVE, inside, "own.mxl"))
    replaced = copy_of(archive, SourceMarks.REPLACE)
    assert marks_read_back(read_score(replaced, "r.mxl")) == marks_read_back(
        read_score(ours, "o.mxl")
    )
    archive.write_bytes(replaced)
    assert copy_of(archive, SourceMarks.REPLACE) == replaced
