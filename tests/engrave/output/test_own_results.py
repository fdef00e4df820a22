"""Results are known again, and known to be as they were written; readers do not mind the mark."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path

import pypdfium2
import pytest
from lxml import etree
from PIL import Image

from pedalsetter.engrave.output.own_results import is_ours, is_untouched, stamped


def png() -> bytes:
    """A small picture, written by Pillow."""
    stream = io.BytesIO()
    Image.new("L", (3, 2), 200).save(stream, "PNG")
    return stream.getvalue()


def pdf() -> bytes:
    """A document of one empty page, written by PDFium."""
    stream = io.BytesIO()
    document = pypdfium2.PdfDocument.new()
    document.new_page(100, 50)
    document.save(stream)
    return stream.getvalue()


def cairo_pdf() -> bytes:
    """A PDF with document information and a plain table, laid out by ISO 32000-1, 7.5."""
    objects = (
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 100 50] >>",
        b"<< /Title (Evening) /Producer (nobody) >>",
    )
    content, places = b"%PDF-1.5\n", []
    for number, one in enumerate(objects, 1):
        places.append(len(content))
        content += b"%d 0 obj\n%s\nendobj\n" % (number, one)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    return content + (
        b"xref\n0 5\n0000000000 65535 f \n%strailer\n<< /Size 5 /Root 1 0 R /Info 4 0 R >>\n"
        b"startxref\n%d\n%%%%EOF\n" % (table, len(content))
    )


def mxl() -> bytes:
    """An archive with a comment of its own."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("score.xml", "<score-partwise/>")
        archive.comment = b"of the user"
    return stream.getvalue()


FILES = {
    "a.ly": b"{ c' }",
    "a.md": b"# Report\n",
    "a.html": b"<!doctype html><title>a</title>\n",
    "a.svg": b"<svg xmlns='http://www.w3.org/2000/svg'/>\n",
    "a.musicxml": '<?xml version="1.0" encoding="UTF-16"?>\n<score-partwise/>'.encode("utf-16"),
    "a.mei": b"<mei/>",
    "a.plan.json": b'{\n  "version": 1\n}\n',
    "a.png": png(),
    "a.pdf": pdf(),
    "b.pdf": cairo_pdf(),
    "a.mxl": mxl(),
}


@pytest.mark.parametrize("name", FILES)
def test_a_result_is_known_again_until_it_is_edited(name: str) -> None:
    """The mark is put in once, tells our file from others, and tells that one byte was changed."""
    content = FILES[name]
    ours = stamped(name, content)

    assert not is_ours(name, content)
    assert stamped(name, ours) == ours != content
    assert is_untouched(name, ours)
    assert not is_untouched(name, ours + b" ")
    for place in (1, len(content) // 2):
        edited = ours[:place] + bytes([ours[place] ^ 1]) + ours[place + 1 :]
        assert not is_untouched(name, edited), place


def test_a_source_that_was_added_to_is_still_known_as_ours() -> None:
    """What stands below the mark is an edit, and no file of somebody else's."""
    edited = stamped("a.ly", b"{ c' }") + b"{ d' }\n"

    assert is_ours("a.ly", edited)
    assert not is_untouched("a.ly", edited)


def test_readers_do_not_mind_the_mark() -> None:
    """lxml, Pillow, PDFium and zipfile read what they read before, and the mark by its name."""
    files = {name: stamped(name, content) for name, content in FILES.items()}

    assert etree.fromstring(files["a.musicxml"]).tag == "score-partwise"
    assert etree.fromstring(files["a.mei"]).tag == "mei"
    assert json.loads(files["a.plan.json"])["made_by"].startswith("Pedalsetter, sha256:")
    picture = Image.open(io.BytesIO(files["a.png"]))
    assert picture.getpixel((0, 0)) == 200
    assert picture.text["Pedalsetter"].startswith("sha256:")  # type: ignore[attr-defined]
    for name in ("a.pdf", "b.pdf"):
        assert len(pypdfium2.PdfDocument(files[name])) == 1
    assert pypdfium2.PdfDocument(files["b.pdf"]).get_metadata_value("Producer") == "nobody"
    # The second object 4 is found by the second table, whose place the file's last lines tell.
    table = int(files["b.pdf"].split()[-2])
    assert files["b.pdf"][table:].startswith(b"xref\n4 1\n")
    place = int(files["b.pdf"][table:].split()[3])
    assert files["b.pdf"][place:].startswith(b"4 0 obj\n<< /Title (Evening)")
    assert b"/Pedalsetter (sha256:" in files["b.pdf"][place:table]
    with zipfile.ZipFile(io.BytesIO(files["a.mxl"])) as archive:
        assert archive.testzip() is None
        assert archive.comment.startswith(b"of the userMade by Pedalsetter, sha256:")


def test_what_can_bear_no_mark_is_never_ours(tmp_path: Path) -> None:
    """A text file comes back as it is, and is taken for the user's."""
    assert stamped("a.txt", b"notes") == b"notes"
    assert not is_untouched("a.txt", b"notes")
