"""What every command shares: its common options, and how errors, progress and exit are told."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pedalsetter.analysis.errors import EngravingError, PedalsetterError

if TYPE_CHECKING:
    from rich.status import Status

    from pedalsetter.analysis.decisions.values import Decisions
    from pedalsetter.analysis.planning import Effort
    from pedalsetter.engrave.road import Progress

__all__ = [
    "EXIT_CODES",
    "AllowOption",
    "BarsOption",
    "DecisionsOption",
    "ForceOption",
    "MendsOption",
    "NoDecisionsOption",
    "OnlyOption",
    "PartOption",
    "QuietOption",
    "RespellOption",
    "Score",
    "Steps",
    "StrictOption",
    "ThoroughOption",
    "Told",
    "TracebackOption",
    "VerboseOption",
    "effort_of",
    "exit_for",
    "exit_for_failures",
    "read_decisions",
    "score_at_hand",
]

EXIT_CODES = (
    "Exit codes: 0 done; 1 done, but something is wrong (check) or findings remain (--strict); "
    "2 wrong use or unreadable input; 3 the engraver is missing or failed, or a mark stands badly."
)

Score = Annotated[
    Path,
    typer.Argument(
        metavar="SCORE",
        help="MusicXML (.musicxml, .xml, .mxl), MEI, Humdrum **kern, ABC or MIDI; - for what is "
        "piped in.",
        show_default=False,
    ),
]
PartOption = Annotated[
    str | None,
    typer.Option(
        "--part",
        metavar="NAME|NUMBER",
        help="Which part is the harp: its name, or its number in the score counted from 1; "
        "1+2 joins two one-staff parts; all (mark) takes every harp. Default: found by "
        "instrument or name.",
        show_default=False,
    ),
]
DecisionsOption = Annotated[
    Path | None,
    typer.Option(
        "--decisions",
        metavar="FILE",
        help="The musician's decisions. Default: SCORE's name with .pedals.toml, if it is there.",
        show_default=False,
    ),
]
NoDecisionsOption = Annotated[
    bool, typer.Option("--no-decisions", help="Plan as if nothing were decided.")
]
RespellOption = Annotated[
    str | None,
    typer.Option(
        "--respell",
        metavar="never|when-needed|freely",
        help="Whether notes may be played on another letter than written. Default: when-needed, "
        "or what the decisions say.",
        show_default=False,
    ),
]
AllowOption = Annotated[
    list[str] | None,
    typer.Option(
        "--allow",
        metavar="crossing|two-pedals",
        help="What the feet may do where it pays: cross for E or B, or move two neighbouring "
        "pedals at once. May be given twice. Default: neither, or what the decisions say.",
        show_default=False,
    ),
]
ThoroughOption = Annotated[
    bool,
    typer.Option(
        "--thorough",
        help="Search as long as a plan could be better, however long that takes. Ctrl-C or the "
        "time limit ends the search with the best plan so far.",
    ),
]
MendsOption = Annotated[
    bool,
    typer.Option(
        "--suggestions/--no-suggestions",
        "--mends/--no-mends",
        help="Whether to try what would help with each finding, and say what does.",
    ),
]
BarsOption = Annotated[
    str | None,
    typer.Option(
        "--bars", metavar="BARS", help="Show these bars alone: 5 or 5-12.", show_default=False
    ),
]
OnlyOption = Annotated[
    str | None,
    typer.Option(
        "--only",
        metavar="SEVERITY",
        help="Show findings of this severity and worse: impossible, risky or uncomfortable.",
        show_default=False,
    ),
]
VerboseOption = Annotated[
    bool, typer.Option("--verbose", help="Print the figures of the layout as well.")
]
StrictOption = Annotated[
    bool, typer.Option("--strict", help="Exit with 1 if findings other than remarks remain.")
]
ForceOption = Annotated[
    bool,
    typer.Option(
        "--force",
        help="Replace files that Pedalsetter has not made, or that were edited since.",
    ),
]
QuietOption = Annotated[
    bool, typer.Option("--quiet", "-q", help="Print nothing but results and errors.")
]
TracebackOption = Annotated[
    bool, typer.Option("--traceback", help="Show where in the program an error arose.", hidden=True)
]


def read_decisions(
    score: Path,
    file: Path | None,
    no_decisions: bool,
    respell: str | None,
    allow: Sequence[str] | None,
) -> Decisions:
    """The musician's decisions, as the options about them have it.

    Raises:
        DecisionsError: the file cannot be read or understood.
    """
    from pedalsetter.engrave.road import decisions_for

    if file is not None and no_decisions:
        raise typer.BadParameter("give either --decisions or --no-decisions")
    return decisions_for(score, file, look=not no_decisions, respell=respell, allow=allow or ())


@contextmanager
def score_at_hand(score: Path) -> Iterator[Path]:
    """The score as a file; what is piped in lies in one of its own while it is worked on."""
    if str(score) != "-":
        yield score
        return
    import tempfile

    with tempfile.TemporaryDirectory(prefix="pedalsetter-piped-") as folder:
        file = Path(folder) / "piped"
        file.write_bytes(sys.stdin.buffer.read())
        yield file


def effort_of(thorough: bool) -> Effort:
    """How much a plan that is shown may cost to find."""
    from pedalsetter.analysis.planning import THOROUGH, USUAL

    return THOROUGH if thorough else USUAL


def exit_for_failures(score: Path, failures: Sequence[object]) -> None:
    """Name each mark that stands badly; if there is one, leave with the engraver's exit code."""
    for failure in failures:
        typer.echo(f"pedalsetter: {score.name}, {failure}", err=True)
    if failures:
        raise typer.Exit(EngravingError.exit_code)


def exit_for(findings: tuple[object, ...], strict: bool) -> None:
    """With ``--strict``, leave with 1 if findings other than remarks remain."""
    from pedalsetter.engrave.output.reports.plan_document import findings_that_matter

    if strict and findings_that_matter(findings):  # type: ignore[arg-type]
        raise typer.Exit(1)


class Told:
    """Turns one of our errors into its one line and its exit code."""

    def __init__(self, traceback: bool) -> None:
        self.traceback = traceback

    def __enter__(self) -> None:
        return None

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, _trace: object
    ) -> None:
        if self.traceback:
            return
        if isinstance(error, KeyboardInterrupt):
            raise typer.Exit(130) from None
        if isinstance(error, PedalsetterError):
            typer.echo(f"pedalsetter: {error}", err=True)
            raise typer.Exit(error.exit_code) from None


class _Elapsed:
    """A step with the seconds that have passed, told anew each time it is drawn."""

    def __init__(self, name: str, begun: float) -> None:
        self.name, self.begun = name, begun

    def __rich__(self) -> str:
        """What rich draws."""
        return f"{self.name}: {time.monotonic() - self.begun:.0f} s"


class Steps:
    """Names the step at work on a terminal; silent in a pipe and with ``--quiet``."""

    def __init__(self, quiet: bool) -> None:
        self.wanted = not quiet and sys.stderr.isatty()
        self.status: Status | None = None
        self.begun = 0.0

    def __enter__(self) -> Progress:
        if self.wanted:
            from rich.console import Console

            self.begun = time.monotonic()
            self.status = Console(stderr=True).status("", spinner="line")
            self.status.start()
        return self._step

    def __exit__(self, *_: object) -> None:
        if self.status is not None:
            self.status.stop()

    def _step(self, name: str) -> None:
        if self.status is not None:
            self.status.update(_Elapsed(name, self.begun))
