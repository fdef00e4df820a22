"""Broken files, and files made to harm: one line or a right result, and never anything else."""

from __future__ import annotations

import re
import socket
import ssl  # noqa: F401 - libraries import it late, and must not see a socket that refuses
from pathlib import Path

import pytest
from damaged_scores import assert_whole
from hostile_files import ACCEPTED, HOSTILE, REFUSED, Hostile, archive, container
from score_snippets import bars, note, score, told
from typer.testing import CliRunner

from pedalsetter.analysis.errors import LimitError, PedalsetterError, ScoreError
from pedalsetter.analysis.reading import read_part, read_score
from pedalsetter.analysis.reading.limits import DEFAULT_LIMITS, Limits
from pedalsetter.engrave.command_line import app
from pedalsetter.engrave.commands import budget
from pedalsetter.engrave.commands.budget import Budget

FILE = "hostile.musicxml"


def of_kind(files: tuple[Hostile, ...]) -> pytest.MarkDecorator:
    """One case for each file."""
    return pytest.mark.parametrize("hostile", files, ids=lambda hostile: hostile.kind)


def line_of(hostile: Hostile) -> re.Pattern[str]:
    """The whole line with which a file is refused."""
    assert hostile.refusal is not None
    mark = "" if hostile.refusal.startswith(",") else ": "
    return re.compile(re.escape(FILE + mark + hostile.refusal).replace("…", ".+"))


@pytest.fixture
def _no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever asks for the network fails."""

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("the network was asked for")

    monkeypatch.setattr(socket, "socket", refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)


@pytest.mark.usefixtures("_no_network")
@of_kind(REFUSED)
def test_refused_in_one_line(hostile: Hostile) -> None:
    """The line names the file, the bar where there is one, what is wrong and the mend."""
    with pytest.raises(PedalsetterError) as error:
        read_score(hostile.data, FILE)
    assert line_of(hostile).fullmatch(str(error.value))


@pytest.mark.usefixtures("_no_network")
@of_kind(ACCEPTED)
def test_read_and_told(hostile: Hostile) -> None:
    """What is odd is told with bar and staff, and nothing else is."""
    part = read_score(hostile.data, FILE)
    assert part.bars
    assert_whole(part)
    assert told(part) == list(hostile.told)
    assert "root:" not in repr(part)


@of_kind(HOSTILE)
def test_the_program_ends_in_good_order(hostile: Hostile, tmp_path: Path) -> None:
    """``plan`` prints a plan or one line on stderr, and leaves no file behind."""
    path = tmp_path / FILE
    path.write_bytes(hostile.data)
    result = CliRunner().invoke(app, ["plan", str(path), "--no-mends", "--time-limit", "60"])
    if hostile.refusal is None:
        assert result.exit_code == 0, result.output
        assert "Opening" in result.stdout
    else:
        assert result.exit_code == 2
        assert line_of(hostile).fullmatch(result.stderr.removeprefix("pedalsetter: ").rstrip("\n"))
        assert not result.stdout
    assert [each.name for each in tmp_path.iterdir()] == [FILE]


def test_each_kind_of_the_list_has_a_file() -> None:
    """No two files of one kind; a good share of them is read."""
    kinds = [hostile.kind for hostile in HOSTILE]
    assert len(set(kinds)) == len(kinds)
    assert len(REFUSED) > 35
    assert len(ACCEPTED) > 25


@pytest.mark.parametrize("tenths", range(1, 10))
def test_cut_off_anywhere(tenths: int) -> None:
    """A file that was not copied to its end is broken, wherever it ends."""
    whole = score(bars(*[note("C4", 4)] * 10))
    with pytest.raises(ScoreError, match="the XML is broken"):
        read_score(whole[: len(whole) * tenths // 10], FILE)


def test_a_file_that_is_too_large(tmp_path: Path) -> None:
    """It is not read to its end; a hole of sixty-five megabytes takes no place on the disk."""
    path = tmp_path / "large.xml"
    with path.open("wb") as stream:
        stream.truncate(DEFAULT_LIMITS.file_bytes + 1)
    with pytest.raises(ScoreError) as error:
        read_part(path)
    assert str(error.value) == "large.xml: the file is larger than 64 MB"


def test_a_billion_notes() -> None:
    """The count stops at the limit, and the line tells it."""
    many = score(bars(*[note("C4", 1) * 4] * 30))
    with pytest.raises(ScoreError) as error:
        read_score(many, FILE, limits=Limits(notes=100))
    assert str(error.value) == f"{FILE}: the part has more than 100 notes"


def test_what_is_no_file(tmp_path: Path) -> None:
    """A pipe that nobody writes into is not waited for, and a device is not read for ever."""
    import os

    if not hasattr(os, "mkfifo"):
        return
    os.mkfifo(tmp_path / "pipe.xml")
    for path in (tmp_path / "pipe.xml", Path("/dev/zero")):
        with pytest.raises(ScoreError) as error:
            read_part(path)
        assert str(error.value) == f"{path}: this is no ordinary file"


def test_names_inside_an_archive_reach_nothing(tmp_path: Path) -> None:
    """Members are looked up by name and never written to disk."""
    before = sorted(tmp_path.rglob("*"))
    data = archive(
        {
            "META-INF/container.xml": container("../../harp.xml"),
            "../../harp.xml": score(bars(note("C4", 4))),
            f"{tmp_path}/planted": b"x",
        }
    )
    assert read_score(data, FILE).events
    assert sorted(tmp_path.rglob("*")) == before


def test_time_that_is_up() -> None:
    """What takes too long ends with one line, even inside a library that swallows errors."""

    def deaf() -> None:
        while True:
            try:
                while True:
                    pass
            except Exception:  # noqa: S112 - as some libraries do
                continue

    with pytest.raises(LimitError) as error, Budget(1, file=FILE):
        deaf()
    assert str(error.value) == f"{FILE}: stopped after 1 second. Allow more with --time-limit."


def test_memory_that_is_used_up() -> None:
    """What asks for too much ends with one line, and afterwards all memory is there again."""
    import sys

    if sys.platform != "linux":
        return
    with pytest.raises(LimitError) as error, Budget(60, 100, file=FILE):
        bytearray(200 * 2**20)
    line = f"{FILE}: stopped at 100 MB of memory. Allow more with --memory-limit."
    assert str(error.value) == line
    assert bytearray(200 * 2**20)


@pytest.mark.parametrize("command", ["mark", "plan", "check"])
def test_the_options_are_told(command: str) -> None:
    """Both limits stand in the help, with their defaults."""
    text = " ".join(CliRunner().invoke(app, [command, "--help"]).output.split())
    assert "--time-limit S Stop after so many seconds. [default: 600; x>=1]" in text
    assert "[default: 4096; x>=64]" in text


def test_a_command_that_is_stopped_leaves_nothing_half_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stopped in the middle of the engraving, ``mark`` has written no file at all.

    It has as long again to make the page, and usually a minute at least.
    """
    monkeypatch.setattr(budget, "_REST", 0)
    path = tmp_path / FILE
    path.write_bytes(
        score(bars(*[note(f"{'CDEFGAB'[n % 7]}#{n % 4 + 3}", 4) for n in range(1500)]))
    )
    options = ["mark", str(path), "-o", str(tmp_path / "out"), "--time-limit", "1"]
    result = CliRunner().invoke(app, options)
    assert result.exit_code == 2
    assert result.stderr == (
        f"pedalsetter: {FILE}: stopped after 1 second. Allow more with --time-limit.\n"
    )
    assert not (tmp_path / "out").exists()


@pytest.mark.engraving
def test_a_file_whose_name_is_no_text(tmp_path: Path) -> None:
    """Results keep the bytes of the name; in texts, what is no letter becomes the sign for that."""
    import os
    import subprocess
    import sys

    if sys.platform != "linux":
        return  # elsewhere no disk takes such a name
    path = tmp_path / os.fsdecode(b"\xff\xfe.musicxml")
    path.write_bytes(score(bars(note("C4", 4), note("C#4", 4))))
    out = tmp_path / "out"
    options = ["--write-back", "--critical-report", "--no-png", "-o", str(out)]
    code = "from pedalsetter.engrave.command_line import main; main()"
    command = [sys.executable, "-c", code, "mark", str(path), *options]
    ended = subprocess.run(
        command, capture_output=True, check=True, env={**os.environ, "PYTHONIOENCODING": "utf-8"}
    )
    assert ended.stderr == b""
    assert sorted(os.fsencode(each.name) for each in out.iterdir()) == sorted(
        b"\xff\xfe" + end
        for end in (
            *(b".pdf", b".ly", b".plan.json"),
            *(b".critical.md", b".critical.html", b"-pedals.musicxml"),
        )
    )
    (document,) = out.glob("*.plan.json")
    assert "\ufffd\ufffd.musicxml" in document.read_text("utf-8")
