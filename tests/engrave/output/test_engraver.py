"""The engraver as a process: which LilyPond is taken, and what happens when it fails."""

from __future__ import annotations

import os
import stat
import sys
import tempfile
import time
from pathlib import Path

import pytest

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.engrave.output import engraver
from pedalsetter.engrave.output.engraver import (
    Limits,
    engrave,
    find_lilypond,
    lilypond_version,
    start_engraver,
)

pytestmark = pytest.mark.engraving

ONE_NOTE = '\\version "2.24.0"\n\\header { tagline = ##f }\n{ c\'1 }\n'

MEND = (
    "Install LilyPond 2.24 or newer (Debian and Ubuntu: apt install lilypond; Homebrew: brew "
    "install lilypond; others: lilypond.org), or set PEDALSETTER_LILYPOND to the path of its "
    "program."
)


def program(folder: Path, name: str, answer: str, body: str = "") -> Path:
    """A small program that says ``answer`` to --version and else runs ``body`` in Python."""
    folder.mkdir(exist_ok=True)
    path = folder / name
    path.write_text(
        f"#!{sys.executable}\nimport sys\n"
        f"if '--version' in sys.argv:\n    print({answer!r})\n    sys.exit(0)\n{body}\n",
        "utf-8",
    )
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return path


@pytest.fixture
def no_wheel(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine for which there is no LilyPond wheel."""
    monkeypatch.setattr(engraver, "_wheel_program", lambda: None)


def test_the_variable_comes_first(tmp_path: Path) -> None:
    """PEDALSETTER_LILYPOND wins over the wheel and over the PATH."""
    named = program(tmp_path / "named", "lily", "GNU LilyPond 2.25.12 (running Guile 2.2)")
    program(tmp_path / "path", "lilypond", "GNU LilyPond 2.24.1")
    found = find_lilypond({"PEDALSETTER_LILYPOND": str(named), "PATH": str(tmp_path / "path")})
    assert found == str(named)
    assert lilypond_version(found) == (2, 25, 12)


def test_the_wheel_comes_before_the_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The engraver that was installed with Pedalsetter is the one that it was tried with."""
    wheel = program(tmp_path / "wheel", "lilypond", "GNU LilyPond 2.24.3 (running Guile 2.2)")
    program(tmp_path / "path", "lilypond", "GNU LilyPond 2.26.0")
    monkeypatch.setattr(engraver, "_wheel_program", lambda: str(wheel))
    assert find_lilypond({"PATH": str(tmp_path / "path")}) == str(wheel)


@pytest.mark.usefixtures("no_wheel")
def test_the_path_serves_where_there_is_no_wheel(tmp_path: Path) -> None:
    """A LilyPond of the system, 2.24 or newer, is taken."""
    path = program(tmp_path / "path", "lilypond", "GNU LilyPond 2.24.0")
    assert find_lilypond({"PATH": str(path.parent)}) == str(path)


@pytest.mark.usefixtures("no_wheel")
def test_a_missing_engraver_is_told_with_the_mend(tmp_path: Path) -> None:
    """Without any LilyPond the message says how to get one."""
    with pytest.raises(EngravingError) as caught:
        find_lilypond({"PATH": str(tmp_path)})
    assert str(caught.value) == f"LilyPond, which engraves the page, was not found. {MEND}"
    assert caught.value.exit_code == 3


@pytest.mark.usefixtures("no_wheel")
@pytest.mark.parametrize("version", ["2.22.2", "2.18", "1.99.0"])
def test_an_old_engraver_is_refused(tmp_path: Path, version: str) -> None:
    """Before 2.24 the stylesheet is not understood."""
    path = program(tmp_path / "path", "lilypond", f"GNU LilyPond {version}")
    with pytest.raises(EngravingError) as caught:
        find_lilypond({"PATH": str(path.parent)})
    assert str(caught.value) == f"LilyPond {version} is too old: {path}. {MEND}"


def test_a_variable_that_leads_nowhere_is_told(tmp_path: Path) -> None:
    """A wrong PEDALSETTER_LILYPOND is never passed over silently."""
    with pytest.raises(EngravingError) as caught:
        find_lilypond({"PEDALSETTER_LILYPOND": "/nowhere/lilypond", "PATH": str(tmp_path)})
    assert str(caught.value) == (
        "PEDALSETTER_LILYPOND leads to no program: /nowhere/lilypond. "
        "Set it to the path of the LilyPond program, or unset it."
    )


def test_another_program_is_not_taken_for_lilypond(tmp_path: Path) -> None:
    """A program that does not say that it is LilyPond is refused."""
    path = program(tmp_path / "named", "lily", "TeX 3.14159")
    with pytest.raises(EngravingError) as caught:
        find_lilypond({"PEDALSETTER_LILYPOND": str(path)})
    assert str(caught.value) == f"this program is not LilyPond: {path}. {MEND}"


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


def test_a_warning_is_passed_on_without_paths() -> None:
    """LilyPond's warnings name the line of the source and nothing of this machine."""
    engraving = engrave("\\version \"2.24.0\"\n{\n  c'1 |\n  c'2 | % 2\n  c'1\n}\n")
    assert engraving.warnings == ("line 4: barcheck failed at: 1/2",)


def test_a_failure_names_line_bar_and_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The first complaint, its line and its bar are told, and the log is kept to be read."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    source = "\\version \"2.24.0\"\n{\n  c'1 | % 11\n  c'4 \\nosuchthing d' | % 12\n}\n"
    with pytest.raises(EngravingError) as caught:
        engrave(source)
    (folder,) = tmp_path.iterdir()
    assert str(caught.value) == (
        "bar 12: LilyPond failed: unknown escaped string: `\\nosuchthing' "
        f"(line 4 of its source). Its log and source lie in {folder}."
    )
    assert "unknown escaped string" in (folder / "part.log").read_text("utf-8")
    assert (folder / "part.ly").read_text("utf-8") == source


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


def test_an_engraver_that_hangs_is_stopped_with_all_that_it_started(tmp_path: Path) -> None:
    """At the limit of time the whole group of processes ends."""
    child = tmp_path / "child"
    body = (
        "import os, subprocess, time\n"
        "p = subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(60)'])\n"
        f"open({str(child)!r}, 'w').write(str(p.pid))\n"
        "time.sleep(60)\n"
    )
    path = program(tmp_path / "named", "lily", "GNU LilyPond 2.24.3", body)
    begun = time.monotonic()
    with pytest.raises(
        EngravingError, match=r"^LilyPond was stopped after 2 seconds\. Its log is "
    ):
        engrave(ONE_NOTE, program=str(path), limits=Limits(seconds=2))
    assert time.monotonic() - begun < 20
    pid = int(child.read_text("utf-8"))
    for _ in range(50):
        if not _runs(pid):
            break
        time.sleep(0.1)
    assert not _runs(pid)


def test_the_engraver_sees_nothing_of_the_users_environment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Variables of the user do not reach the engraver; its home is its private folder."""
    monkeypatch.setenv("SECRET_OF_THE_USER", "x")
    seen = tmp_path / "seen"
    body = (
        "import os\n"
        f"open({str(seen)!r}, 'w').write(repr(('SECRET_OF_THE_USER' in os.environ,"
        " os.environ['HOME'] == os.getcwd())))\n"
    )
    path = program(tmp_path / "named", "lily", "GNU LilyPond 2.24.3", body)
    with pytest.raises(EngravingError):
        engrave(ONE_NOTE, program=str(path))
    assert seen.read_text("utf-8") == "(False, True)"


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


def test_a_score_that_eats_time_is_stopped() -> None:
    """Scheme that never ends is cut off at the limit of processor time or of the clock."""
    source = '\\version "2.24.0"\n#(let loop () (loop))\n{ c\'1 }\n'
    with pytest.raises(EngravingError, match=r"stopped (after|at its limit of) 2 seconds"):
        engrave(source, limits=Limits(seconds=2))


@pytest.mark.parametrize(
    ("code", "told"),
    [
        ("(make-vector 400000000 0)", "it used up the memory that it may have"),
        (
            '(let ((port (open-output-file "big"))) (let loop () '
            "(display (make-string 100000 #\\x) port) (loop)))",
            "a file of it grew beyond its limit of 1 MB",
        ),
        (
            "(let loop () (display (make-string 100000 #\\x)) (loop))",
            "a file of it grew beyond its limit of 1 MB",
        ),
    ],
    ids=["memory", "a file", "its log"],
)
def test_a_score_that_eats_memory_or_disk_is_stopped(code: str, told: str) -> None:
    """Three gigabytes of Scheme, an endless file, an endless log: each ends at its limit."""
    source = f'\\version "2.24.0"\n#{code}\n{{ c\'1 }}\n'
    limits = Limits(seconds=60, memory_bytes=700 << 20, file_bytes=1 << 20)
    with pytest.raises(EngravingError, match=f"^LilyPond failed: {told}. Its log and source lie"):
        engrave(source, limits=limits)


def test_garbage_is_collected_only_where_memory_runs_short() -> None:
    """LilyPond collects none while its heap is small for what it may have; the page is the same."""
    source = (
        '\\version "2.24.0"\n\\header { tagline = ##f }\n'
        "\\book { \\score { \\repeat unfold 200 { c'16 } } }\n"
        '#(if memory:collecting (ly:warning "garbage is collected"))\n'
    )
    ample = engrave(source)
    short = engrave(source, limits=Limits(memory_bytes=320 << 20))

    assert ample.warnings == ()
    assert short.warnings == ("garbage is collected",)
    assert ample.pdf == short.pdf


def _runs(pid: int) -> bool:
    """Whether the process runs and is no mere entry that waits to be read off."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{pid}/stat")
    return not (state.exists() and state.read_text("utf-8").rsplit(")", 1)[1].split()[0] == "Z")


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
