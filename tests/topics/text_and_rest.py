"""Topics 51 to 99: heads of scores, pages, lyrics, chord names, other players, files, habits."""

from __future__ import annotations

import io
import zipfile

from score_snippets import (
    bars,
    direction,
    full_score,
    measure,
    move,
    note,
    opening,
    part_head,
    score,
    words,
)
from topics.topic import Topic, names, of_part, whole

__all__ = ["TOPICS"]

_BAR = note("C4", 4)


def _sung(name: str, text: str, quarters: object = 1, more: str = "", **kind: object) -> str:
    """A note with a syllable."""
    lyric = f'<lyric number="1">{more}<text>{text}</text></lyric>'
    return note(name, quarters, notations="", **kind).replace("</note>", f"{lyric}</note>")  # type: ignore[arg-type]


def _syllables(part: object) -> list[tuple[str, str]]:
    return [(each.syllabic, each.text) for event in part.events for each in event.lyrics]  # type: ignore[attr-defined]


def _packed(data: bytes, name: str = "music/score.musicxml") -> bytes:
    """A compressed score."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.recordare.musicxml")
        archive.writestr(
            "META-INF/container.xml",
            f'<container><rootfiles><rootfile full-path="{name}"/></rootfiles></container>',
        )
        archive.writestr(name, data)
    return stream.getvalue()


def _timewise() -> bytes:
    """Bars that hold parts."""
    heads = part_head("P1", "Flute") + part_head("P2", "Harp")
    rows = "".join(
        f'<measure number="{bar}">'
        f'<part id="P1">{opening() if bar == 1 else ""}{note("C5", 4)}</part>'
        f'<part id="P2">{opening() if bar == 1 else ""}{note(f"C{bar}", 4)}</part></measure>'
        for bar in (1, 2)
    )
    return (
        f'<score-timewise version="4.0"><part-list>{heads}</part-list>{rows}</score-timewise>'
    ).encode()


TOPICS: tuple[Topic, ...] = (
    of_part(
        "51a",
        "titles and authors",
        "Each stands in its own place on the page.",
        bars(_BAR),
        lambda part: (
            part.title,
            part.composer,
            part.lyricist,
            part.arranger,
            part.rights,
        ),
        ("Morning", "A. Maker", "B. Poet", "C. Setter", "Public domain"),
        header="<work><work-title>Morning</work-title></work><identification>"
        '<creator type="composer">A. Maker</creator><creator type="lyricist">B. Poet</creator>'
        '<creator type="arranger">C. Setter</creator><rights>Public domain</rights>'
        "</identification>",
    ),
    of_part(
        "51b",
        "quotes in titles",
        "Signs of punctuation are no language.",
        bars(_BAR),
        lambda part: part.title,
        "The \"Blue\" \\ and 'Red' & <Green>",
        header="<movement-title>The \"Blue\" \\ and 'Red' &amp; &lt;Green&gt;</movement-title>",
    ),
    of_part(
        "51c",
        "several rights",
        "Two owners, both named.",
        bars(_BAR),
        lambda part: sorted(part.rights.split("\n")),
        ["1900 One", "1901 Two"],
        header="<identification><rights>1900 One</rights><rights>1901 Two</rights>"
        "</identification>",
    ),
    of_part(
        "51d",
        "empty title",
        "No title is no title.",
        bars(_BAR),
        lambda part: part.title,
        "",
        header="<work><work-title/></work>",
    ),
    of_part(
        "51e",
        "credits",
        "A title that stands only as text on the page.",
        bars(_BAR),
        lambda part: part.title,
        "Evening",
        header='<credit page="1"><credit-type>title</credit-type>'
        "<credit-words>Evening</credit-words></credit>",
    ),
    of_part(
        "52a",
        "page layout",
        "The source's paper is not the part's.",
        bars(
            "<print><page-layout><page-height>1683</page-height><page-width>1190</page-width>"
            "</page-layout></print>" + _BAR
        ),
        names,
        "C4",
        header="<defaults><scaling><millimeters>7</millimeters><tenths>40</tenths></scaling>"
        "</defaults>",
    ),
    of_part(
        "52b",
        "breaks",
        "Systems and pages break where the source says.",
        bars(_BAR, '<print new-system="yes"/>' + _BAR, '<print new-page="yes"/>' + _BAR),
        lambda part: [(bar.new_system, bar.new_page) for bar in part.bars],
        [(False, False), (True, False), (False, True)],
    ),
    of_part(
        "61a",
        "lyrics",
        "Syllables of a word, joined by hyphens.",
        bars(
            _sung("C4", "Har", more="<syllabic>begin</syllabic>")
            + _sung("D4", "mo", more="<syllabic>middle</syllabic>")
            + _sung("E4", "ny", 2, more="<syllabic>end</syllabic>")
        ),
        _syllables,
        [("begin", "Har"), ("middle", "mo"), ("end", "ny")],
    ),
    of_part(
        "61b",
        "several verses",
        "Two verses under one tune.",
        bars(
            _sung("C4", "one", 4).replace(
                "</note>", '<lyric number="2"><text>two</text></lyric></note>'
            )
        ),
        lambda part: [(each.verse, each.text) for each in part.events[0].lyrics],
        [("1", "one"), ("2", "two")],
    ),
    of_part(
        "61c",
        "melisma",
        "One syllable over several notes.",
        bars(_sung("C4", "ah", 2).replace("</text>", "</text><extend/>") + note("D4", 2)),
        lambda part: [each.extend for event in part.events for each in event.lyrics],
        [True],
    ),
    of_part(
        "61d",
        "lyrics under a chord",
        "They belong to the chord.",
        bars(_sung("C4", "la", 4) + note("E4", 4, chord=True)),
        lambda part: (names(part), _syllables(part)),
        ("C4+E4", [("single", "la")]),
    ),
    of_part(
        "61e",
        "elision",
        "Two syllables under one note.",
        bars(
            _sung("C4", "te", 4).replace(
                "</text>", "</text><elision> </elision><syllabic>single</syllabic><text>a</text>", 1
            )
        ),
        lambda part: len(part.events[0].lyrics),
        1,
    ),
    of_part(
        "61f",
        "lyrics at a grace note",
        "The grace may bear the syllable.",
        bars(
            note("D5", 0, kind="eighth", grace='slash="yes"').replace(
                "</note>", "<lyric><text>oh</text></lyric></note>"
            )
            + note("C5", 4)
        ),
        _syllables,
        [("single", "oh")],
    ),
    of_part(
        "71a",
        "chord names",
        "Left out of a harp part, and told.",
        bars("<harmony><root><root-step>C</root-step></root><kind>major</kind></harmony>" + _BAR),
        names,
        "C4",
        "bar 1, beat 1, staff 1: chord symbols were left out",
    ),
    of_part(
        "71b",
        "tablature",
        "A clef of tablature is told.",
        bars("<attributes><clef><sign>TAB</sign><line>5</line></clef></attributes>" + _BAR),
        names,
        "C4",
        "bar 1, beat 1, staff 1: a clef of the kind 'TAB' is unusual for a harp",
    ),
    of_part(
        "72a",
        "transposing part",
        "Written a tone higher than it sounds: read at the sounding pitch, and told.",
        measure(
            opening(
                fifths=2,
                more="<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>",
            )
            + note("D4", 4)
        ),
        lambda part: (names(part), part.keys[0].fifths),
        ("C4", 0),
        "bar 1, beat 1, staff 1: the part is transposed; it is read at the pitch that sounds",
    ),
    of_part(
        "72b",
        "change of transposition",
        "From the second bar on an octave lower.",
        bars(
            note("C4", 4),
            "<attributes><transpose><diatonic>0</diatonic><chromatic>0</chromatic>"
            "<octave-change>-1</octave-change></transpose></attributes>" + note("C4", 4),
        ),
        names,
        "C4 C3",
        "bar 2, beat 1, staff 1: the part is transposed; it is read at the pitch that sounds",
    ),
    of_part(
        "73a",
        "unpitched notes",
        "A knock on the sound board is no string: it has no head to be planned for.",
        bars(
            note(
                "<unpitched><display-step>C</display-step><display-octave>4</display-octave>"
                "</unpitched>",
                2,
            )
            + note("C4", 2)
        ),
        names,
        "r C4",
    ),
    of_part(
        "74a",
        "figured bass",
        "Left out, and told.",
        bars(
            "<figured-bass><figure><figure-number>6</figure-number></figure></figured-bass>" + _BAR
        ),
        names,
        "C4",
        "bar 1, beat 1, staff 1: figured bass was left out",
    ),
    of_part(
        "75a",
        "abbreviations of whole bars",
        "A bar that repeats the last one is read by its notes.",
        bars(
            _BAR,
            '<attributes><measure-style><measure-repeat type="start">1</measure-repeat>'
            "</measure-style></attributes>" + _BAR,
        ),
        names,
        "C4 C4",
        "bar 2, beat 1, staff 1: 'measure-repeat' was left out; the notes are shown as they are",
    ),
    whole(
        "90a",
        "compressed score",
        "The score inside its archive.",
        _packed(score(bars(_BAR))),
        lambda part: (part.source.format, names(part)),
        ("mxl", "C4"),
    ),
    whole(
        "90b",
        "UTF-16",
        "Another encoding of the same signs.",
        score(bars(words("così") + _BAR)).decode().replace("UTF-8", "UTF-16").encode("utf-16"),
        lambda part: part.directions[0].text,
        "così",
    ),
    whole(
        "90c",
        "Latin-1",
        "An old western encoding, said to be so.",
        score(bars(words("così") + _BAR)).decode().replace("UTF-8", "ISO-8859-1").encode("latin-1"),
        lambda part: part.directions[0].text,
        "così",
    ),
    whole(
        "90d",
        "timewise score",
        "Bars that hold parts are turned into parts that hold bars.",
        _timewise(),
        names,
        "C1 C2",
    ),
    whole(
        "90e",
        "document type",
        "The standard's own document type is not fetched.",
        score(bars(_BAR)).replace(
            b"?><score",
            b'?><!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
            b'"http://www.musicxml.org/dtds/partwise.dtd"><score',
        ),
        names,
        "C4",
    ),
    of_part(
        "99a",
        "trill lines without numbers",
        "A start and a stop belong together.",
        bars(
            note("C5", 2, notations='<ornaments><trill-mark/><wavy-line type="start"/></ornaments>')
            + note("D5", 2, notations='<ornaments><wavy-line type="stop"/></ornaments>')
        ),
        lambda part: [end.start for event in part.events for end in event.spanners],
        [True, False],
    ),
    of_part(
        "99b",
        "beams without a beginning",
        "A beam that only ends is no beam.",
        bars(
            note("C4", "0.5", after='<beam number="1">end</beam>')
            + note("D4", "0.5")
            + note("E4", 3, dots=1)
        ),
        names,
        "C4 D4 E4",
    ),
    of_part(
        "99c",
        "lengths rounded to divisions",
        "Triplets in divisions of an eighth: the printed values tell the true lengths.",
        measure(
            "<attributes><divisions>8</divisions><time><beats>2</beats><beat-type>4</beat-type>"
            "</time></attributes>"
            + "".join(
                f"<note><pitch><step>{step}</step><octave>4</octave></pitch>"
                f"<duration>{ticks}</duration><voice>1</voice><type>eighth</type>"
                "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
                "</time-modification></note>"
                for step, ticks in zip("CDE", (3, 3, 2), strict=True)
            )
            + "<note><rest/><duration>8</duration><voice>1</voice><type>quarter</type></note>"
        ),
        lambda part: [str(event.length) for event in part.events],
        ["1/3", "1/3", "1/3", "1"],
    ),
    of_part(
        "99d",
        "rehearsal marks as words",
        "A letter in a box is a rehearsal mark, however it was typed.",
        bars(
            _BAR,
            direction('<words enclosure="rectangle">B</words>') + _BAR,
        ),
        lambda part: [each.text for each in part.directions],
        ["B"],
    ),
    of_part(
        "99e",
        "numbers that are no numbers",
        "A bar's number may be any text.",
        measure(opening() + _BAR, "X1") + measure(_BAR, "12a"),
        lambda part: [bar.number for bar in part.bars],
        ["X1", "12a"],
    ),
    of_part(
        "99f",
        "elements of later versions",
        "What the format will have one day is left out, and told.",
        bars("<hologram><depth>3</depth></hologram>" + _BAR),
        names,
        "C4",
        "bar 1, beat 1, staff 1: 'hologram' was left out",
    ),
    whole(
        "99g",
        "a harp beside another harp",
        "Two harps: the one that is asked for is read.",
        full_score(
            [
                ("P1", "Harp 1", bars(note("C4", 4))),
                ("P2", "Harp 2", bars(note("D4", 2) + move(0) + note("E4", 2))),
            ]
        ),
        names,
        "D4 E4",
        part="Harp 2",
    ),
)
