"""Files that are broken or made to harm, one small one for each kind, and what becomes of each.

Every file is made here by a rule. Either it is refused with one line, or it is read and what is odd
in it is told with bar and staff.
"""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass

from score_snippets import bars, measure, move, note, opening, score, words

__all__ = ["ACCEPTED", "HOSTILE", "REFUSED", "Hostile", "archive", "container"]

AGAIN = "Export the score again from the program that made it."
NO_NOTES = "the file holds no notes. Look whether it is the whole file."
ENTITIES = (
    "the XML declares entities of its own, which is not safe to read. "
    "Export the score again without them."
)
DAMAGED = (
    "the compressed score is damaged or encrypted. "
    "Export the score again, or as uncompressed MusicXML."
)
TOO_MUCH = (
    "its XML is nested too deeply, or its entities grow too large, to be read safely. " + AGAIN
)
BROKEN = f"the XML is broken: … {AGAIN}"
"""The parser's own words differ from version to version."""
NOT_UNDERSTOOD = "the {} file cannot be understood. Export the score as MusicXML and give that."
NO_SCORE = (
    "this is no kind of score that can be read. "
    "Give MusicXML (.musicxml, .mxl), MEI, kern, ABC or MIDI."
)


@dataclass(frozen=True, slots=True, eq=False)
class Hostile:
    """One file and what becomes of it."""

    kind: str
    data: bytes
    refusal: str | None = None
    """The line without the file's name; None if the file is read."""
    told: tuple[str, ...] = ()
    """The notices of a file that is read."""


def archive(members: Mapping[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A ZIP archive of these members."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as packed:
        for name, data in members.items():
            packed.writestr(zipfile.ZipInfo(name), data, method)
    return stream.getvalue()


def container(name: str) -> bytes:
    """A container file that names a member as the score."""
    return (
        f'<container><rootfiles><rootfile full-path="{name}"/></rootfiles></container>'
    ).encode()


PLAIN = score(bars(note("C4", 4), note("D4", 4)))
_MXL = {"META-INF/container.xml": container("score.xml"), "score.xml": PLAIN}


def _doctype(declarations: str, use: str = "") -> bytes:
    """The plain score with a document type; ``use`` stands in its title."""
    data = PLAIN.replace(b"?><score", f"?><!DOCTYPE score-partwise {declarations}><score".encode())
    title = f"<movement-title>{use}</movement-title><part-list>".encode()
    return data.replace(b"<part-list>", title, 1)


def _first(old: str, new: str, data: bytes = PLAIN) -> bytes:
    assert old.encode() in data
    return data.replace(old.encode(), new.encode(), 1)


def _encoded(name: str, python: str, mark: bytes = b"") -> bytes:
    """A score with the words così in another encoding."""
    text = score(bars(words("così") + note("C4", 4))).decode().replace("UTF-8", name)
    return mark + text.encode(python)


def _encrypted() -> bytes:
    """An archive whose members say that they are encrypted."""
    data = bytearray(archive(_MXL))
    for sign, place in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = data.find(sign)
        while at >= 0:
            data[at + place] |= 1
            at = data.find(sign, at + 1)
    return bytes(data)


def _negative_place() -> bytes:
    """An archive whose directory is said to begin far behind where it does."""
    data = bytearray(archive(_MXL))
    end = data.rfind(b"PK\x05\x06")
    place = struct.unpack_from("<I", data, end + 16)[0]
    struct.pack_into("<I", data, end + 16, place + 5000)
    return bytes(data)


def _lying_size() -> bytes:
    """An archive whose directory says that thirty megabytes are three bytes."""
    data = bytearray(archive({**_MXL, "score.xml": b" " * (30 * 2**20) + PLAIN}))
    at = data.rfind(b"PK\x01\x02")
    struct.pack_into("<I", data, at + 24, 3)
    return bytes(data)


def _duplicates() -> bytes:
    """An archive with two members of one name; the last one counts, as in every unpacker."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        packed.writestr("META-INF/container.xml", container("score.xml"))
        packed.writestr("score.xml", b"<html/>")
        packed.fp.write(b"") if packed.fp else None
        packed.filelist[-1].filename = "score.xmk"
        packed.NameToInfo.pop("score.xml")
        packed.writestr("score.xml", PLAIN)
        packed.filelist[-2].filename = "score.xml"
    return stream.getvalue()


_LAUGHS = (
    "["
    + '<!ENTITY a "ha">'
    + "".join(
        f'<!ENTITY {after} "{f"&{before};" * 10}">'
        for before, after in zip("abcdefghi", "bcdefghij", strict=True)
    )
    + "]"
)

_TEMPO_OF_NONSENSE = "<sound tempo='soon'/>"


def _tuplets(end: str) -> str:
    """Ends of twenty-nine tuplets."""
    return "".join(f'<tuplet number="{number}" type="{end}"/>' for number in range(1, 30))


_VOICES = "".join(
    note(f"{'CDEFGAB'[voice % 7]}{voice % 7 + 1}", 4, voice=voice) + move(-4)
    for voice in range(1, 1201)
)

REFUSED: tuple[Hostile, ...] = (
    # network, other files, entities
    Hostile(
        "entity of a file", _doctype('[<!ENTITY a SYSTEM "file:///etc/passwd">]', "&a;"), ENTITIES
    ),
    Hostile(
        "entity of the network",
        _doctype('[<!ENTITY a SYSTEM "http://127.0.0.1:9/">]', "&a;"),
        ENTITIES,
    ),
    Hostile(
        "parameter entity",
        _doctype('[<!ENTITY % p SYSTEM "http://127.0.0.1:9/p.dtd"> %p;]'),
        ENTITIES,
    ),
    Hostile("entity bomb", _doctype(_LAUGHS, "&j;"), TOO_MUCH),
    Hostile(
        "entity bomb of one level",
        _doctype(f'[<!ENTITY a "{"a" * 50_000}">]', "&a;" * 5_000),
        TOO_MUCH,
    ),
    # archives
    Hostile(
        "zip bomb",
        archive({**_MXL, "score.xml": b" " * (30 * 2**20) + PLAIN}),
        "'score.xml' unpacks to more than is safe to read",
    ),
    Hostile(
        "zip bomb in the container file",
        archive({**_MXL, "META-INF/container.xml": b" " * (30 * 2**20)}),
        "'META-INF/container.xml' unpacks to more than is safe to read",
    ),
    Hostile("zip with a lying size", _lying_size(), DAMAGED),
    Hostile(
        "zip of too many files",
        archive({str(number): b"" for number in range(2_001)}, zipfile.ZIP_STORED),
        "the archive holds more than 2,000 files",
    ),
    Hostile("zip that is encrypted", _encrypted(), DAMAGED),
    Hostile("zip with a negative place", _negative_place(), DAMAGED),
    Hostile("zip cut off", archive(_MXL)[:-30], DAMAGED),
    Hostile(
        "zip that leads out of itself",
        archive({"META-INF/container.xml": container("../../../etc/passwd")}),
        "the archive names '../../../etc/passwd' as its score, but has no such file",
    ),
    Hostile(
        "zip of an absolute path",
        archive({"META-INF/container.xml": container("/etc/passwd")}),
        "the archive names '/etc/passwd' as its score, but has no such file",
    ),
    Hostile(
        "zip in a zip",
        archive({"META-INF/container.xml": container("a.mxl"), "a.mxl": archive(_MXL)}),
        NO_SCORE,
    ),
    Hostile(
        "zip whose container is its score",
        archive({"META-INF/container.xml": container("META-INF/container.xml")}),
        "'container' is no kind of score that can be read",
    ),
    Hostile(
        "zip without a score",
        archive({"a.txt": b"nothing"}),
        "the archive does not say which of its files is the score. "
        "Export the score again as .mxl or .musicxml.",
    ),
    # size and depth
    Hostile(
        "nested a hundred deep",
        _first("<note>", "<x>" * 100 + "</x>" * 100 + "<note>"),
        "its XML is nested more than 64 levels deep",
    ),
    Hostile(
        "nested a hundred thousand deep",
        _first("<note>", "<x>" * 100_000 + "</x>" * 100_000 + "<note>"),
        TOO_MUCH,
    ),
    Hostile(
        "more bars than any score",
        score(measure(opening() + note("C4", 4)) + "<measure/>" * 20_000),
        "the part has more than 20,000 bars",
    ),
    Hostile(
        "a note of a billion quarters",
        _first("<duration>384<", "<duration>384000000000<"),
        ", bar 1: the bar is longer than 2,000 quarters",
    ),
    # encodings
    Hostile(
        "Latin-1 said to be UTF-8",
        _encoded("UTF-8", "latin-1"),
        BROKEN,
    ),
    Hostile(
        "an encoding that nobody knows",
        _encoded("x-nowhere", "utf-8"),
        BROKEN,
    ),
    # broken off
    Hostile("cut off in the middle", PLAIN[: len(PLAIN) // 2], BROKEN),
    Hostile("cut off in a tag", PLAIN[: PLAIN.index(b"<measure") + 5], BROKEN),
    Hostile("nothing", b"", "the file is empty"),
    Hostile("blanks", b" \n\t", "the file is empty"),
    Hostile("zeros", b"\x00" * 1000, NO_SCORE),
    Hostile("a picture", b"\x89PNG\r\n\x1a\n" + b"\x00" * 50, NO_SCORE),
    Hostile(
        "a page", b"<html><body>harp</body></html>", "'html' is no kind of score that can be read"
    ),
    Hostile("text", b"Once upon a time there was a harp.", NO_SCORE),
    Hostile("MIDI of one word", b"MThd", NOT_UNDERSTOOD.format("MIDI")),
    Hostile(
        "ABC that rests for ever",
        b"X:1\nK:C\nCDEF|Z100000000|CDEF|\n",
        "the tune rests for more than 2,000 bars",
    ),
    Hostile(
        "MIDI that is silent for ever",
        b"MThd\0\0\0\6\0\0\0\1\0\1MTrk\0\0\0\x0d\xce\0\x90\x3c\x40\1\x80\x3c\0\0\xff\x2f\0",
        "the file holds more than 2,000 bars, too many for MIDI. "
        "Give it in movements, or export the score as MusicXML.",
    ),
    Hostile(
        "MEI of nothing",
        b'<mei xmlns="http://www.music-encoding.org/ns/mei"/>',
        NOT_UNDERSTOOD.format("MEI"),
    ),
    Hostile(
        "MEI with entities",
        b'<!DOCTYPE mei [<!ENTITY a "b">]><mei xmlns="http://www.music-encoding.org/ns/mei"/>',
        ENTITIES,
    ),
    Hostile("kern of nothing", b"**kern\n*-\n", NO_NOTES),
    Hostile("ABC of nothing", b"X:1\nK:C\n", NO_NOTES),
    # parts
    Hostile("no parts", b"<score-partwise><part-list/></score-partwise>", "the score has no parts"),
    Hostile("a part without bars", score(""), "the part has no bars"),
    # numbers
    Hostile(
        "divisions of nothing",
        _first("<divisions>96", "<divisions>0"),
        ", bar 1: '0' is no number of divisions",
    ),
    Hostile(
        "divisions below nothing",
        _first("<divisions>96", "<divisions>-4"),
        ", bar 1: '-4' is no number of divisions",
    ),
    Hostile(
        "divisions in words",
        _first("<divisions>96", "<divisions>many"),
        ", bar 1: 'many' is no number of divisions",
    ),
    Hostile(
        "a negative duration",
        _first("<duration>384<", "<duration>-384<"),
        f", bar 1: '-384' is no length. {AGAIN}",
    ),
    Hostile(
        "a duration that is no number",
        _first("<duration>384<", "<duration>NaN<"),
        f", bar 1: 'NaN' is no length. {AGAIN}",
    ),
    Hostile(
        "a number that would fill the memory",
        _first("<duration>384<", "<duration>1e999999999<"),
        f", bar 1: '1e999999999' is no length. {AGAIN}",
    ),
    Hostile(
        "thousands of voices",
        score(bars(_VOICES)),
        ", bar 1: the bar has more than 100 voices",
    ),
)

ACCEPTED: tuple[Hostile, ...] = (
    Hostile(
        "document type of the network",
        _doctype('PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://127.0.0.1:9/a.dtd"'),
    ),
    Hostile(
        "inclusion of a file",
        _first(
            "<note>",
            '<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="file:///etc/passwd" '
            'parse="text"/><note>',
        ),
        None,
        ("bar 1, beat 1, staff 1: 'include' was left out",),
    ),
    Hostile(
        "style sheet of the network",
        _first(
            "<score-partwise", '<?xml-stylesheet href="http://127.0.0.1:9/a.xsl"?><score-partwise'
        ),
    ),
    Hostile("zip with a name twice", _duplicates()),
    Hostile(
        "zip with names that lead out",
        archive({**_MXL, "../../evil.xml": b"x", "/abs.xml": b"x", "C:\\evil.xml": b"x"}),
    ),
    Hostile("UTF-8 with a mark", _encoded("UTF-8", "utf-8", b"\xef\xbb\xbf")),
    Hostile("UTF-16 with a mark", _encoded("UTF-16", "utf-16")),
    Hostile(
        "UTF-8 said to be UTF-16",
        _encoded("UTF-16", "utf-8"),
        None,
        ("the file says that it is written in UTF-16 and is not; it is read as UTF-8",),
    ),
    Hostile("UTF-16 of the other end", _encoded("UTF-16", "utf-16-be", b"\xfe\xff")),
    Hostile("Latin-1 said to be so", _encoded("ISO-8859-1", "latin-1")),
    Hostile("empty bars", score(bars("", "", ""))),
    Hostile("bars of nothing at all", score("<measure/><measure/>")),
    Hostile(
        "a bar that overflows",
        score(bars(note("C4", 4), note("C4", 4) + note("D4", 2), note("C4", 4))),
        None,
        ("bar 2, staff 1: the bar is 6 quarters long where 4/4 asks for 4 quarters",),
    ),
    Hostile(
        "a bar that falls short",
        score(bars(note("C4", 4), note("C4", 1), note("C4", 4))),
        None,
        ("bar 2, staff 1: the bar is 1 quarter long where 4/4 asks for 4 quarters",),
    ),
    Hostile(
        "a lower staff that overflows",
        score(
            bars(
                note("C4", 4),
                note("C4", 4)
                + move(-4)
                + note("C2", 4, voice=5, staff=2)
                + note("D2", 1, voice=5, staff=2),
                note("C4", 4),
                first=opening(staves=2),
            )
        ),
        None,
        ("bar 2, staff 2: the bar is 5 quarters long where 4/4 asks for 4 quarters",),
    ),
    Hostile(
        "a voice that begins before its bar",
        score(bars(note("C4", 4) + move(-9) + note("E4", 4, voice=2), note("C4", 4))),
        None,
        ("bar 1, staff 1: a voice begins before its bar; it is read from the barline",),
    ),
    Hostile(
        "absurd divisions",
        _first(
            "<divisions>96",
            "<divisions>249999999989",
            score(
                bars(
                    note("C4", 4).replace(">384<", ">999999999956<"),
                )
            ),
        ),
    ),
    Hostile(
        "divisions of a fraction",
        _first(
            "<divisions>96", "<divisions>0.5", score(bars(note("C4", 4).replace(">384<", ">2<")))
        ),
    ),
    Hostile(
        "missing attributes",
        score(measure(note("C4", 1).replace(">96<", ">1<").replace("<voice>1</voice>", ""))),
    ),
    Hostile(
        "microtones",
        score(bars(note("<pitch><step>A</step><alter>0.5</alter><octave>4</octave></pitch>", 4))),
        None,
        ("bar 1, beat 1, staff 1: a microtone is rounded to the nearest semitone",),
    ),
    Hostile(
        "unpitched notes",
        score(bars(note("<unpitched/>", 4))),
    ),
    Hostile(
        "a pitch that is none",
        score(
            bars(
                note("C4", 2, staff=1)
                + note("<pitch><step>H</step><octave>4</octave></pitch>", 2, staff=2),
                first=opening(staves=2),
            )
        ),
        None,
        ("bar 1, beat 3, staff 2: a note without an understandable pitch is shown as a rest",),
    ),
    Hostile(
        "a tempo that is none", score(bars(words("", after=_TEMPO_OF_NONSENSE) + note("C4", 4)))
    ),
    Hostile(
        "nonsense in every field",
        _first(
            "<note>",
            '<note default-x="soon" color="\U0001f3b5" print-object="perhaps">',
            score(
                bars(
                    note(
                        "C4",
                        4,
                        before="",
                        after='<stem>sideways</stem><notehead filled="?">ghost'
                        "</notehead>"
                        '<beam number="x">maybe</beam><accidental>loud</accidental>',
                        notations='<slur type="middle"/><tuplet type="never"/>'
                        "<fermata>odd</fermata>"
                        "<dynamics><qq/></dynamics><ornaments><wiggle/></ornaments>"
                        "<articulations><slap/></articulations><technical><kick/></technical>",
                    ),
                    first=opening(
                        fifths=0,
                        more="<clef><sign>X</sign><line>many</line></clef>"
                        '<staff-details number="q"><staff-lines>?</staff-lines></staff-details>',
                    ),
                ),
                header="<work><work-number>x</work-number></work>",
            ),
        ),
        None,
        (
            "bar 1, beat 1, staff 1: a clef of the kind 'X' is unusual for a harp",
            "bar 1, beat 1, staff 1: a fermata of the shape 'odd' is shown in a plainer shape",
            "bar 1, beat 1, staff 1: a slur without beginning or end was left out",
            "bar 1, beat 1, staff 1: a staff of other than five lines is shown with five",
            "bar 1, beat 1, staff 1: a tuplet whose ratio is not given was left out",
            "bar 1, beat 1, staff 1: the ornament 'wiggle' was left out",
        ),
    ),
    Hostile(
        "tuplets in each other",
        score(
            bars(
                note("C4", 2, ratio=(3, 2), notations=_tuplets("start"))
                + note("D4", 2, ratio=(3, 2), notations=_tuplets("stop"))
            )
        ),
        None,
        ("bar 1, beat 1, staff 1: a tuplet inside 6 others was left out (and 22 more like it)",),
    ),
    Hostile(
        "a note that is a rest of its bar too",
        score(bars(note("C4", 4).replace("<pitch>", '<rest measure="yes"/><pitch>'))),
        None,
        ("bar 1, beat 1, staff 1: a note that is a rest too is read as a note",),
    ),
    Hostile("ABC whose mark says UTF-16", b"\xff\xfeX:1\nK:C\nCDEF|\n1"),
    Hostile(
        "a text of a megabyte",
        score(bars(words("la " * 350_000) + note("C4", 4)), name="Harp " * 50_000),
        None,
        ("a text of more than 2,000 signs was cut (and 1 more like it, in bar 1)",),
    ),
    Hostile(
        "a text of a megabyte in the second bar",
        score(bars(note("C4", 4), words("la " * 350_000, outer='id="w"') + note("C4", 4))),
        None,
        ("bar 2, staff 1: a text of more than 2,000 signs was cut",),
    ),
    Hostile(
        "a bar number of a megabyte",
        score(measure(opening() + note("C4", 4), "1" * 1_000_000)),
        None,
        ("bar 1111111111111111, staff 1: a text of more than 2,000 signs was cut",),
    ),
)

HOSTILE: tuple[Hostile, ...] = (*REFUSED, *ACCEPTED)
