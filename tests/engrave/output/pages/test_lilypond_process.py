"""The engraver as a process: its limits, its environment, and its end."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from stand_in_lilypond import ONE_NOTE, program

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.lilypond_process import Limits

pytestmark = pytest.mark.engraving


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
    assert _ends(pid)


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


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux ends what a killed process started")
def test_the_engraver_ends_with_the_process_that_started_it(tmp_path: Path) -> None:
    """After ``kill -9`` nobody can clear up, so the system itself ends LilyPond at its work."""
    (tmp_path / "endless.ly").write_text('\\version "2.24.0"\n#(let loop () (loop))\n', "utf-8")
    code = (
        "import pathlib, sys, time\n"
        "from pedalsetter.engrave.output.pages.lilypond_process import Limits, start\n"
        "from pedalsetter.engrave.output.pages.lilypond_program import find_lilypond\n"
        "folder = pathlib.Path(sys.argv[1])\n"
        "lilypond = start(folder, [find_lilypond(), 'endless.ly'], Limits(seconds=60))\n"
        "print(lilypond.pid, flush=True)\n"
        "time.sleep(60)\n"
    )
    command = [sys.executable, "-c", code, str(tmp_path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE) as worker:
        assert worker.stdout is not None
        lilypond = int(worker.stdout.readline())
        assert _runs(lilypond)
        worker.kill()
    assert _ends(lilypond)


def _ends(pid: int) -> bool:
    """Whether the process is gone within some seconds."""
    for _ in range(100):
        if not _runs(pid):
            return True
        time.sleep(0.1)
    return False


def _runs(pid: int) -> bool:
    """Whether the process runs and is no mere entry that waits to be read off."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{pid}/stat")
    return not (state.exists() and state.read_text("utf-8").rsplit(")", 1)[1].split()[0] == "Z")
