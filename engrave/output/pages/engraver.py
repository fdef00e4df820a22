"""The engraver: LilyPond source in, PDF, drawings and the boxes of what was printed out.

A run has succeeded when the exit status is 0, the PDF exists and it has at least one page: LilyPond
can leave the first true and the others false.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from pedalsetter.analysis.errors import EngravingError, OutputError
from pedalsetter.engrave.layout.geometry import PageBoxes, read_boxes
from pedalsetter.engrave.output.pages.lilypond_log import failure, warnings_in
from pedalsetter.engrave.output.pages.lilypond_process import LOG, Limits, end, ended, start
from pedalsetter.engrave.output.pages.lilypond_program import find_lilypond

__all__ = [
    "Engraving",
    "Limits",
    "WaitingEngraver",
    "engrave",
    "find_lilypond",
    "start_engraver",
]


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


@dataclass(frozen=True, slots=True)
class WaitingEngraver:
    """A LilyPond that is started already and waits for its source; see :func:`start_engraver`."""

    folder: Path
    process: subprocess.Popen[bytes]

    def dismiss(self) -> None:
        """Stop it and clear its folder; nothing happens if it has engraved."""
        end(self.process)
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
            folder, start(folder, command, limits or Limits(), stdin=subprocess.PIPE)
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
    for name in ("boxes.ily", "memory.ily", "pedals.ily", "printed.ily"):
        text = resources.files("pedalsetter.templates").joinpath(name).read_text("utf-8")
        (folder / name).write_text(text, "utf-8")
    # LilyPond takes one file of settings.
    parts = ("printed.ily", "boxes.ily", "memory.ily")
    settings = "".join(f'\\include "{name}"\n' for name in parts)
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
        import pedalsetter.engrave.output.pages.raster  # noqa: F401 - needed below, and slow to come

        if meanwhile is not None:
            meanwhile()

    (folder / "part.ly").write_text(source, "utf-8")
    for backend in ("-dbackend=cairo", None):
        if waiting is not None and backend is not None:
            status = ended(folder, waiting.process, limits, aside, source)
        else:
            command = _command(lilypond, backend, svg=svg and backend is not None)
            process = start(folder, command, limits)
            status = ended(folder, process, limits, aside if backend is not None else None)
        log = (folder / LOG).read_text("utf-8", errors="replace")
        # A LilyPond that was built without cairo writes its PDF through Ghostscript.
        if status == 0 or backend is None or not re.search("cairo", log, re.IGNORECASE):
            break
    from pedalsetter.engrave.output.pages.raster import page_count

    pdf = folder / "part.pdf"
    if status != 0 or not pdf.is_file():
        raise failure(folder, source, log, status, limits)
    written = pdf.read_bytes()
    try:
        pages = page_count(written)
    except OutputError as error:
        raise failure(folder, source, log, status, limits) from error
    report = folder / "part.boxes"
    if pages == 0 or not report.is_file():
        raise failure(folder, source, log, status, limits)
    boxes = read_boxes(report.read_text("utf-8"))
    return Engraving(
        _dated(written), pages, warnings_in(log), boxes, _drawings(folder, pages) if svg else ()
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
