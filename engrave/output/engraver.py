"""LilyPond as a process: found, checked, run within limits, and its result judged.

The engraver is another program reading text that came from outside, so it gets a private folder,
an environment of its own, and limits of time, memory and file size. A run has succeeded when the
exit status is 0, the PDF exists and it has at least one page: LilyPond can leave the first true and
the others false.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from pathlib import Path

from pedalsetter.analysis.errors import EngravingError, OutputError
from pedalsetter.engrave.layout.geometry import PageBoxes, read_boxes

__all__ = [
    "LEAST_VERSION",
    "Engraving",
    "Limits",
    "WaitingEngraver",
    "engrave",
    "find_lilypond",
    "lilypond_version",
    "start_engraver",
]

LEAST_VERSION = (2, 24)

_HOW_TO_GET = (
    "Install LilyPond 2.24 or newer (Debian and Ubuntu: apt install lilypond; Homebrew: brew "
    "install lilypond; others: lilypond.org), or set PEDALSETTER_LILYPOND to the path of its "
    "program."
)


@dataclass(frozen=True, slots=True)
class Limits:
    """What one run of the engraver may use. Memory and file size are limited on POSIX only.

    Where the memory of this process is limited, that limit holds instead of ``memory_bytes``.
    """

    seconds: int = 300
    memory_bytes: int = 4 << 30
    file_bytes: int = 256 << 20


@dataclass(frozen=True, slots=True)
class Engraving:
    """The result of one run."""

    pdf: bytes
    pages: int
    warnings: tuple[str, ...]
    """LilyPond's own warnings, without paths, each once, in order."""
    boxes: PageBoxes
    """Where marks and their neighbours were printed."""
    svg: tuple[bytes, ...] = ()
    """One drawing a page, all signs as outlines; empty if none were wanted, or if this LilyPond was
    built without cairo, which draws them."""


def find_lilypond(environment: Mapping[str, str] | None = None) -> str:
    """The path of the LilyPond to use.

    In this order: the variable ``PEDALSETTER_LILYPOND``, the wheel that is installed with
    Pedalsetter where there is one, ``lilypond`` on the PATH.

    Raises:
        EngravingError: there is none, the variable leads nowhere, or it is older than 2.24.
    """
    variables = os.environ if environment is None else environment
    named = variables.get("PEDALSETTER_LILYPOND")
    if named:
        path = shutil.which(named, path=variables.get("PATH"))
        if path is None:
            raise EngravingError(
                f"PEDALSETTER_LILYPOND leads to no program: {named}",
                mend="Set it to the path of the LilyPond program, or unset it.",
            )
        return _new_enough(path)
    wheel = _wheel_program()
    if wheel is not None:
        return _new_enough(wheel)
    path = shutil.which("lilypond", path=variables.get("PATH"))
    if path is None:
        raise EngravingError("LilyPond, which engraves the page, was not found", mend=_HOW_TO_GET)
    return _new_enough(path)


def lilypond_version(program: str) -> tuple[int, ...]:
    """The version of a LilyPond program, as in ``(2, 24, 3)``.

    Raises:
        EngravingError: the program does not run, or does not say that it is LilyPond.
    """
    return _version(program, Path(program).stat().st_mtime_ns if Path(program).exists() else 0)


@dataclass(frozen=True, slots=True)
class WaitingEngraver:
    """A LilyPond that is started already and waits for its source; see :func:`start_engraver`."""

    folder: Path
    process: subprocess.Popen[bytes]

    def dismiss(self) -> None:
        """Stop it and clear its folder; nothing happens if it has engraved."""
        _end(self.process)
        if self.process.stdin is not None and not self.process.stdin.closed:
            self.process.stdin.close()
            shutil.rmtree(self.folder, ignore_errors=True)


def start_engraver(limits: Limits | None = None) -> WaitingEngraver | None:
    """Start LilyPond before its source is ready: it needs a while to come up.

    None where there is no LilyPond: engraving will say so.
    """
    try:
        lilypond = find_lilypond()
        folder = _furnished()
        command = [*_command(lilypond, "-dbackend=cairo")[:-1], "-"]
        return WaitingEngraver(
            folder, _started(folder, command, limits or Limits(), stdin=subprocess.PIPE)
        )
    except EngravingError:
        return None


def engrave(
    source: str,
    *,
    limits: Limits | None = None,
    program: str | None = None,
    waiting: WaitingEngraver | None = None,
    svg: bool = False,
    meanwhile: Callable[[], None] | None = None,
) -> Engraving:
    """Engrave LilyPond source. The same source gives the same bytes.

    ``waiting`` is a LilyPond that was started before with the same limits; it serves once, and
    draws no SVG. ``meanwhile`` is work of ours that is done while LilyPond does its own; what it
    raises stops LilyPond and is passed on.

    Raises:
        EngravingError: LilyPond is missing or too old, fails, prints no page, or passes a limit;
            the message names its first complaint, the line and the bar, and where its log lies.
    """
    allowed = limits or Limits()
    lilypond = program or find_lilypond()
    folder = waiting.folder if waiting else _furnished()
    try:
        result = _run_in(folder, source, lilypond, allowed, waiting, svg, meanwhile)
    except EngravingError:
        raise  # the folder stays: it holds the log that the message names
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    shutil.rmtree(folder, ignore_errors=True)
    return result


def _furnished() -> Path:
    """A private folder with what every source includes."""
    folder = Path(tempfile.mkdtemp(prefix="pedalsetter-"))
    for name in ("boxes.ily", "memory.ily", "pedals.ily"):
        text = resources.files("pedalsetter.templates").joinpath(name).read_text("utf-8")
        (folder / name).write_text(text, "utf-8")
    # LilyPond takes one file of settings.
    settings = "".join(f'\\include "{name}"\n' for name in ("boxes.ily", "memory.ily"))
    (folder / "settings.ily").write_text(settings, "utf-8")
    return folder


def _run_in(
    folder: Path,
    source: str,
    lilypond: str,
    limits: Limits,
    waiting: WaitingEngraver | None,
    svg: bool,
    meanwhile: Callable[[], None] | None,
) -> Engraving:
    def aside() -> None:
        import pedalsetter.engrave.output.raster  # noqa: F401 - needed below, and slow to come

        if meanwhile is not None:
            meanwhile()

    (folder / "part.ly").write_text(source, "utf-8")
    for backend in ("-dbackend=cairo", None):
        if waiting is not None and backend is not None:
            status = _ended(folder, waiting.process, limits, aside, source)
        else:
            command = _command(lilypond, backend, svg=svg and backend is not None)
            process = _started(folder, command, limits)
            status = _ended(folder, process, limits, aside if backend is not None else None)
        log = (folder / "part.log").read_text("utf-8", errors="replace")
        # A LilyPond that was built without cairo writes its PDF through Ghostscript.
        if status == 0 or backend is None or not re.search("cairo", log, re.IGNORECASE):
            break
    from pedalsetter.engrave.output.raster import page_count

    pdf = folder / "part.pdf"
    if status != 0 or not pdf.is_file():
        raise _failure(folder, source, log, status, limits)
    written = pdf.read_bytes()
    try:
        pages = page_count(written)
    except OutputError as error:
        raise _failure(folder, source, log, status, limits) from error
    report = folder / "part.boxes"
    if pages == 0 or not report.is_file():
        raise _failure(folder, source, log, status, limits)
    boxes = read_boxes(report.read_text("utf-8"))
    return Engraving(
        _dated(written), pages, _warnings(log), boxes, _drawings(folder, pages) if svg else ()
    )


def _drawings(folder: Path, pages: int) -> tuple[bytes, ...]:
    """The SVG of each page; empty where this LilyPond has drawn none."""
    names = ["part.svg"] if pages == 1 else [f"part-{page}.svg" for page in range(1, pages + 1)]
    drawn = [folder / name for name in names]
    return tuple(one.read_bytes() for one in drawn) if all(map(Path.is_file, drawn)) else ()


def _command(lilypond: str, backend: str | None, *, svg: bool = False) -> list[str]:
    return [
        lilypond,
        "--loglevel=WARNING",
        "-dno-point-and-click",
        "-dinclude-settings=settings.ily",
        *([backend] if backend else []),
        "--pdf",
        *(["--svg"] if svg else []),
        "-o",
        "part",
        "part.ly",
    ]


def _started(
    folder: Path, command: Sequence[str], limits: Limits, stdin: int = subprocess.DEVNULL
) -> subprocess.Popen[bytes]:
    """Start the engraver; its log is written to ``part.log``.

    Raises:
        EngravingError: the program cannot be started.
    """
    with (folder / "part.log").open("wb") as log:
        try:
            return subprocess.Popen(
                list(command),
                cwd=folder,
                env=_environment(folder),
                stdin=stdin,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
                preexec_fn=_limiter(limits),
            )
        except OSError as error:
            raise EngravingError(
                f"LilyPond cannot be started: {error.strerror}", mend=_HOW_TO_GET
            ) from error


def _ended(
    folder: Path,
    process: subprocess.Popen[bytes],
    limits: Limits,
    aside: Callable[[], None] | None,
    source: str | None = None,
) -> int:
    """Give it its source if it waits for one, do what is to be done ``aside``, wait for its end.

    Returns the exit status.

    Raises:
        EngravingError: it took too long.
    """
    late = threading.Event()

    def stop() -> None:
        late.set()
        _kill(process)

    # A clock of its own, since waiting with a limit looks only twenty times a second.
    clock = threading.Timer(limits.seconds, stop)
    clock.daemon = True
    clock.start()
    try:
        if process.stdin is not None and source is not None:
            # It may have ended already; its log then tells why.
            with suppress(OSError):
                process.stdin.write(source.encode())
            with suppress(OSError):
                process.stdin.close()
        if aside is not None:
            aside()
        status = process.wait()
    finally:
        clock.cancel()
        _end(process)
    if late.is_set():
        raise EngravingError(
            f"LilyPond was stopped after {limits.seconds} seconds",
            mend=f"Its log is {folder / 'part.log'}; a part in several files may help.",
        )
    return status


def _end(process: subprocess.Popen[bytes]) -> None:
    """Stop the engraver and whatever it started, if it still runs."""
    if process.poll() is None:
        _kill(process)
        process.wait()


def _kill(process: subprocess.Popen[bytes]) -> None:
    if os.name == "posix":
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    else:
        process.kill()


def _environment(folder: Path) -> dict[str, str]:
    """What LilyPond needs, and nothing of the user's but the cache of the machine's fonts.

    Without that cache fontconfig would look through all fonts in every run.
    """
    kept = {
        name: os.environ[name]
        for name in ("PATH", "SYSTEMROOT", "WINDIR", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH")
        if name in os.environ
    }
    private = str(folder)
    return {
        **kept,
        "HOME": private,
        "XDG_CACHE_HOME": os.environ.get("XDG_CACHE_HOME", str(Path("~/.cache").expanduser())),
        "TMPDIR": private,
        "TEMP": private,
        "TMP": private,
        "LANG": "C.UTF-8",
        "LC_ALL": "C.UTF-8",
        "TZ": "UTC",
        # Garbage is first collected when there is much of it: templates/memory.ily.
        "GC_DONT_GC": "1",
    }


def _limiter(limits: Limits) -> Callable[[], None] | None:
    if sys.platform == "win32":
        return None
    import resource

    def limit() -> None:
        seconds, memory, size = limits.seconds, limits.memory_bytes, limits.file_bytes
        wanted = [
            (resource.RLIMIT_CPU, seconds),
            (resource.RLIMIT_FSIZE, size),
            (resource.RLIMIT_CORE, 0),
        ]
        # macOS refuses a limit of address space.
        if sys.platform != "darwin":
            wanted.append((resource.RLIMIT_AS, memory))
        for kind, value in wanted:
            soft, most = resource.getrlimit(kind)
            # A limit of memory that is set for us holds for the engraver too, whatever it is.
            if kind == resource.RLIMIT_AS and soft != resource.RLIM_INFINITY:
                value = soft
            allowed = value if most == resource.RLIM_INFINITY else min(value, most)
            resource.setrlimit(kind, (allowed, most))

    return limit


def _wheel_program() -> str | None:
    """The program of the ``lilypond`` wheel, if it is installed."""
    try:
        import lilypond
    except ImportError:
        return None
    path = Path(str(lilypond.executable()))
    return str(path) if path.is_file() else None


def _new_enough(program: str) -> str:
    version = lilypond_version(program)
    if version < LEAST_VERSION:
        raise EngravingError(
            f"LilyPond {'.'.join(map(str, version))} is too old: {program}", mend=_HOW_TO_GET
        )
    return program


@lru_cache(maxsize=16)
def _version(program: str, _changed: int) -> tuple[int, ...]:
    try:
        answer = subprocess.run(
            [program, "--version"],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=60,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise EngravingError(f"LilyPond cannot be started: {program}", mend=_HOW_TO_GET) from error
    found = re.search(rb"LilyPond (\d+)\.(\d+)(?:\.(\d+))?", answer.stdout)
    if found is None:
        raise EngravingError(f"this program is not LilyPond: {program}", mend=_HOW_TO_GET)
    return tuple(int(number) for number in found.groups() if number is not None)


def _dated(pdf: bytes) -> bytes:
    """The PDF with a fixed date of making, so that the same music gives the same bytes.

    ``SOURCE_DATE_EPOCH`` names another date, as reproducible builds agree; cairo takes the clock.
    """
    import datetime

    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    seconds = int(epoch) if epoch.isdecimal() else 946684800  # the year 2000
    stamp = datetime.datetime.fromtimestamp(seconds, datetime.UTC).strftime("%Y%m%d%H%M%S")
    return re.sub(
        rb"(/(?:CreationDate|ModDate) ?\(D:)\d{14}",
        lambda match: match[1] + stamp.encode("ascii"),
        pdf,
    )


_PLACE = re.compile(r"^(?:.*?part\.ly|-):(\d+):(?:\d+:)? ")


def _warnings(log: str) -> tuple[str, ...]:
    found: dict[str, None] = {}
    for line in log.splitlines():
        place = _PLACE.match(line)
        rest = line[place.end() :] if place else line
        if "warning:" in rest:
            what = rest.split("warning:", 1)[1].strip()
            found.setdefault(f"line {place[1]}: {what}" if place else what)
    return tuple(found)


def _failure(folder: Path, source: str, log: str, status: int, limits: Limits) -> EngravingError:
    """The error of a failed run: LilyPond's first complaint, its line, its bar, its log."""
    line, what = _first_complaint(log)
    if "out of memory" in log.lower():
        line, what = None, "it used up the memory that it may have"
    if what is None:
        what = (
            f"it was stopped at its limit of {limits.seconds} seconds"
            if status == -getattr(signal, "SIGXCPU", 0)
            else f"a file of it grew beyond its limit of {limits.file_bytes >> 20} MB"
            if status == -getattr(signal, "SIGXFSZ", 0)
            else "it made no page"
            if status == 0
            else f"it ended with status {status}"
        )
    where = f" (line {line} of its source)" if line is not None else ""
    return EngravingError(
        f"LilyPond failed: {what}{where}",
        bar=_bar_of(source, line) if line is not None else None,
        mend=f"Its log and source lie in {folder}.",
    )


def _first_complaint(log: str) -> tuple[int | None, str | None]:
    for line in log.splitlines():
        place = _PLACE.match(line)
        rest = line[place.end() :] if place else line
        if "error:" in rest:
            return (int(place[1]) if place else None), rest.split("error:", 1)[1].strip()
    return None, None


def _bar_of(source: str, line: int) -> str | None:
    """The bar named at the end of a line of music, as in ``c4 d e f | % 12``."""
    lines = source.splitlines()
    if not 1 <= line <= len(lines):
        return None
    named = re.search(r"\|\s+% (\S+)\s*$", lines[line - 1])
    return named[1] if named else None
