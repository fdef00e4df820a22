"""The engraver: what a run gives, and what is no success."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

import pytest
from stand_in_lilypond import ONE_NOTE, program

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.engrave.output.pages.engraver import engrave, start_engraver

pytestmark = pytest.mark.engraving


def test_a_page_comes_out() -> None:
    """One note gives one page of PDF, and the boxes of that page."""
    engraving = engrave(ONE_NOTE)
    assert engraving.pdf.startswith(b"%PDF-")
    assert engraving.pages == 1
    assert [page.number for page in engraving.boxes.pages] == [1]
    assert engraving.warnings == ()


def test_the_same_source_gives_the_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    """No clock and no random name is left in the PDF; SOURCE_DATE_EPOCH dates it."""
    first = engrave(ONE_NOTE)
    time.sleep(1.1)  # the clock that cairo writes counts seconds
    assert engrave(ONE_NOTE).pdf == first.pdf
    assert b"/CreationDate (D:20000101000000Z)" in first.pdf
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    assert b"/CreationDate (D:19700102000000Z)" in engrave(ONE_NOTE).pdf


def test_nothing_is_left_behind_after_success(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The private folder of a run that succeeded is gone."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    engrave(ONE_NOTE)
    assert list(tmp_path.iterdir()) == []


def test_success_without_a_page_is_a_failure(tmp_path: Path) -> None:
    """LilyPond can end with status 0 and no PDF; that is told as a failure."""
    path = program(tmp_path / "named", "lily", "GNU LilyPond 2.24.3")
    with pytest.raises(EngravingError, match=r"^LilyPond failed: it made no page\. Its log"):
        engrave(ONE_NOTE, program=str(path))


def test_a_broken_pdf_is_a_failure(tmp_path: Path) -> None:
    """A file that is no PDF is never handed on."""
    body = "open('part.pdf', 'w').write('no pdf')\n"
    path = program(tmp_path / "named", "lily", "GNU LilyPond 2.24.3", body)
    with pytest.raises(EngravingError, match=r"^LilyPond failed: it made no page\. Its log"):
        engrave(ONE_NOTE, program=str(path))


def test_a_lilypond_without_cairo_is_run_again_the_older_way(tmp_path: Path) -> None:
    """Where the cairo backend was left out, the PDF comes through Ghostscript."""
    calls = tmp_path / "calls"
    body = (
        f"open({str(calls)!r}, 'a').write(' '.join(sys.argv[1:]) + '\\n')\n"
        "print('error: no cairo here')\nsys.exit(1)\n"
    )
    path = program(tmp_path / "named", "lily", "GNU LilyPond 2.24.3", body)
    with pytest.raises(EngravingError, match="no cairo here"):
        engrave(ONE_NOTE, program=str(path))
    first, second = calls.read_text("utf-8").splitlines()
    assert "-dbackend=cairo" in first.split()
    assert "-dbackend=cairo" not in second.split()


def test_a_waiting_engraver_makes_the_same_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Started before the source is ready, LilyPond gives the same bytes and complains the same."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    source = '\\version "2.24.0"\n{ c\'1 | % 1\n}\n'
    waiting = start_engraver()
    assert waiting is not None
    assert engrave(source, waiting=waiting).pdf == engrave(source).pdf
    waiting.dismiss()
    assert list(tmp_path.iterdir()) == []

    wrong = '\\version "2.24.0"\n{ c\'1 \\nothing | % 7\n}\n'
    messages = []
    for ready in (start_engraver(), None):
        with pytest.raises(EngravingError) as caught:
            engrave(wrong, waiting=ready)
        messages.append(str(caught.value).split("Its log")[0])
    assert messages[0] == messages[1]
    assert messages[0].startswith("bar 7: LilyPond failed: ")


def test_other_work_is_done_while_lilypond_does_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is done once, with a waiting LilyPond or a new one; if it fails, LilyPond is stopped."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    for ready in (start_engraver(), None):
        done: list[str] = []
        engrave(ONE_NOTE, waiting=ready, meanwhile=lambda done=done: done.append("once"))
        assert done == ["once"]

    def fail() -> None:
        raise KeyboardInterrupt

    endless = '\\version "2.24.0"\n#(let loop () (loop))\n{ c\'1 }\n'
    for ready in (start_engraver(), None):
        with pytest.raises(KeyboardInterrupt):
            engrave(endless, waiting=ready, meanwhile=fail)
        assert ready is None or ready.process.poll() is not None
    assert list(tmp_path.iterdir()) == []


def test_a_dismissed_engraver_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where reading or planning fails, the LilyPond that waited ends and its folder goes."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    waiting = start_engraver()
    assert waiting is not None
    waiting.dismiss()
    assert waiting.process.poll() is not None
    assert list(tmp_path.iterdir()) == []


def test_no_engraver_waits_where_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is missing is told when it is needed, not before."""
    monkeypatch.setenv("PEDALSETTER_LILYPOND", "/nowhere/lilypond")
    assert start_engraver() is None
