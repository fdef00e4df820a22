"""What is wanted of the page: the options that ``mark`` and ``batch`` share."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING, Annotated

import typer

from pedalsetter.analysis.editing.source_policy import SourceMarks

if TYPE_CHECKING:
    from pedalsetter.engrave.road import Wanted

__all__ = [
    "ContactSheetOption",
    "CriticalReportOption",
    "CueOption",
    "DpiOption",
    "FlagsOption",
    "HideEmptyOption",
    "HouseStyleOption",
    "KeepBreaksOption",
    "PageRespellOption",
    "PngOption",
    "PreviewOption",
    "ProofOption",
    "ReadingScoreOption",
    "SourceMarksOption",
    "SplitOption",
    "StandaloneOption",
    "WatchOption",
    "WriteBackOption",
    "WriteOption",
    "WrittenFormat",
    "respell_values",
    "wanted_of",
]

HouseStyleOption = Annotated[
    str,
    typer.Option("--house-style", metavar="NAME|FILE", help="How the page looks."),
]
PageRespellOption = Annotated[
    str | None,
    typer.Option(
        "--respell",
        metavar="never|when-needed|freely,named|rewritten|as-written",
        help="Whether notes may be played on another letter than written (default: when-needed, or "
        "what the decisions say), and how the page shows it: the string named at the note, the "
        "note rewritten, or nothing (default: what the house style says). One of either or both, "
        "with a comma between.",
        show_default=False,
    ),
]
DpiOption = Annotated[
    int, typer.Option(min=30, max=1200, help="Resolution of the PNG pages, dots an inch.")
]
PngOption = Annotated[bool, typer.Option("--png/--no-png", help="Whether to draw PNG pages.")]
KeepBreaksOption = Annotated[
    bool,
    typer.Option("--keep-breaks", help="Break systems and pages where the score does."),
]
PreviewOption = Annotated[
    bool,
    typer.Option("--preview", help="Draw only the systems that hold marks, one PNG each."),
]
FlagsOption = Annotated[
    bool,
    typer.Option("--flags", help="Number the findings in the margin of the PNG pages."),
]
ContactSheetOption = Annotated[
    bool, typer.Option("--contact-sheet", help="Draw all pages on one small PNG as well.")
]
StandaloneOption = Annotated[
    bool,
    typer.Option(
        "--standalone/--no-standalone",
        help="Whether the stylesheet is part of STEM.ly, or beside it as pedals.ily.",
    ),
]
SourceMarksOption = Annotated[
    SourceMarks,
    typer.Option(
        "--source-marks",
        help="Pedal marks that the score has of its own: keep them and add nothing, complete them "
        "(additions in brackets), or replace them by the plan's.",
    ),
]
CriticalReportOption = Annotated[
    bool,
    typer.Option(
        "--critical-report",
        help="Also write STEM.critical.md and STEM.critical.html: what the score's own marks say, "
        "what the page says, and why.",
    ),
]


ProofOption = Annotated[
    bool,
    typer.Option(
        "--proof",
        help="Also write STEM.proof.html, one page to mail to the harpist, who decides on it and "
        "sends the decisions back.",
    ),
]


class WrittenFormat(Enum):
    """Formats into which marks are written back; each only into a score of its own."""

    MUSICXML = "musicxml"
    MEI = "mei"


WriteOption = Annotated[
    WrittenFormat | None,
    typer.Option(
        "--write",
        help="As --write-back, and an error if the score is of the other format.",
        show_default=False,
    ),
]
WriteBackOption = Annotated[
    bool,
    typer.Option(
        "--write-back",
        help="Also write the marks into a copy of the score itself (MusicXML, MXL or MEI).",
    ),
]
SplitOption = Annotated[
    bool,
    typer.Option(
        "--split",
        help="Divide what one harp cannot play between two, and engrave a part for each.",
    ),
]
WatchOption = Annotated[
    bool,
    typer.Option(
        "--watch",
        help="Work again whenever the score is saved, and say what became better or worse; "
        "Ctrl-C ends. Suggestions are not tried.",
    ),
]
ReadingScoreOption = Annotated[
    bool,
    typer.Option(
        "--reading-score",
        help="Engrave the whole score instead of the part, all staves as they sound, findings as "
        "numbered flags in the margin and in a list under the music: STEM-reading.pdf …",
    ),
]
HideEmptyOption = Annotated[
    bool,
    typer.Option(
        "--hide-empty",
        help="With --reading-score: leave out the staves of other parts that rest in a system.",
    ),
]
CueOption = Annotated[
    list[str] | None,
    typer.Option(
        "--cue",
        metavar="NAME|NUMBER",
        help="With --reading-score: only this part beside the harp; may be given several times.",
        show_default=False,
    ),
]


def respell_values(given: str | None) -> tuple[str | None, str | None]:
    """What ``--respell`` says of the plan, and what of the page; None for what it does not say.

    Raises:
        DecisionsError: it says two things of one, or something that is not known.
    """
    from pedalsetter.analysis.decisions.values import Respell
    from pedalsetter.analysis.errors import DecisionsError

    ways, shown = tuple(way.value for way in Respell), ("named", "rewritten", "as-written")
    words = [] if given is None else [word.strip() for word in given.split(",")]
    for word in words:
        if word not in (*ways, *shown):
            raise DecisionsError(
                f"there is no way to respell that is called '{word}'",
                mend=f"Choose {', '.join((*ways, *shown))}.",
            )
    found = []
    for values in (ways, shown):
        of_one = [word for word in words if word in values]
        if len(of_one) > 1:
            raise DecisionsError(
                f"--respell says both {of_one[0]} and {of_one[1]}",
                mend=f"Choose one of {', '.join(values)}.",
            )
        found.append(of_one[0] if of_one else None)
    return found[0], found[1]


def wanted_of(
    *,
    standalone: bool,
    keep_breaks: bool,
    preview: bool,
    flags: bool,
    contact_sheet: bool,
    mends: bool,
    critical_report: bool,
    proof: bool = False,
    write_back: bool,
    write: WrittenFormat | None,
    respelled_notes: str | None = None,
) -> Wanted:
    """What the road is asked for; naming a format is as much as asking for a marked copy."""
    from pedalsetter.engrave.road import Wanted

    return Wanted(
        standalone=standalone,
        source_systems=keep_breaks,
        marked_systems_only=preview,
        flags=flags,
        contact_sheet=contact_sheet,
        mends=mends,
        critical_report=critical_report,
        proof=proof,
        marked_copy=write_back or write is not None,
        copy_format=None if write is None else write.value,
        respelled_notes=respelled_notes,
    )
