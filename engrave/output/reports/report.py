"""The plan and the summary as a person reads them on a terminal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pedalsetter.analysis.findings import effect_told
from pedalsetter.analysis.naming.wording import many
from pedalsetter.analysis.part import HarpPart, Notice, Place
from pedalsetter.analysis.pedal_plan import Change, Finding, FindingKind, MendKind, Severity
from pedalsetter.engrave.output.reports.best_told import best_told
from pedalsetter.engrave.output.reports.entries import Entry, Selection, entries_of, verdict
from pedalsetter.engrave.output.reports.notices_told import notice_lines, part_told
from pedalsetter.engrave.output.reports.respelled_lines import respelled_lines
from pedalsetter.engrave.output.reports.terminal import shown
from pedalsetter.engrave.output.results import EngravedScore, PlannedScore

if TYPE_CHECKING:
    from pedalsetter.engrave.layout.proof import LayoutProof

__all__ = [
    "console_for_results",
    "counts",
    "heading",
    "print_findings",
    "print_plan",
    "print_summary",
    "say",
]

PROPOSAL = "The plan is a proposal; the harpist decides."

# A pipe has no width of its own; wide enough that no column is ever cut.
_PIPE_WIDTH = 160
_INDENT = 4
_MOST_LISTED = 2
"""Suggestions that are printed below one entry; the document has all."""


def print_plan(planned: PlannedScore, selection: Selection = Selection()) -> None:  # noqa: B008
    """Print the verdict, the opening, a table of changes, and the findings.

    ``selection`` says which bars and which severities are wanted.
    """
    console = console_for_results()
    part, plan = planned.part, planned.plan
    say(console, heading(part), style="bold")
    if part_told(part):
        say(console, part_told(part))
    say(console, verdict(part, plan), style="bold")
    for movement in plan.movements:
        bar = part.printed_bar(movement.first_bar)
        say(console, f"Opening, bar {bar}: {movement.opening}")
    _print_assumptions(console, planned)
    _print_decisions(console, planned)
    bars = selection.bars
    changes = [one for one in plan.changes if bars is None or one.place.bar in bars]
    if changes:
        console.print()
        console.print(_changes_table(part, changes))
        console.print()
    elif bars is not None and plan.changes:
        say(console, "No pedal moves in these bars.")
    for place, line in respelled_lines(part, plan):
        if bars is None or place.bar in bars:
            say(console, line)
    print_findings(console, part, plan.findings, tried=planned.mends_tried, selection=selection)
    say(console, f"{_sizes(planned)} {best_told(plan)}")
    if changes:
        say(console, "--why BAR, --why 5-12 or --why all says why a pedal moves there.")
    say(console, PROPOSAL)


def print_summary(
    planned: PlannedScore,
    written: Sequence[Path],
    result: EngravedScore | None = None,
    *,
    notices: Sequence[Notice] = (),
    verbose: bool = False,
    selection: Selection = Selection(),  # noqa: B008
) -> None:
    """Print what was made: the verdict, findings, notices and files.

    ``result`` is the engraved score, if there is one; the figures of its layout are for who is
    ``verbose``.
    """
    console = console_for_results()
    part = planned.part
    say(console, heading(part), style="bold")
    if part_told(part):
        say(console, part_told(part))
    say(console, verdict(part, planned.plan), style="bold")
    told = _sizes(planned)
    if planned.edition is None or planned.edition.is_planned:
        told += f" {best_told(planned.plan)}"
    say(console, told)
    _print_assumptions(console, planned)
    _print_decisions(console, planned)
    if planned.edition is not None:
        from pedalsetter.engrave.output.reports.edition_report import edition_lines

        for line in edition_lines(part, planned.edition):
            say(console, line)
    print_findings(
        console,
        part,
        planned.plan.findings,
        tried=planned.mends_tried,
        flagged=() if result is None else result.flagged,
        remarks_in=next(
            (path.name for path in written if path.name.endswith(".plan.json")), "plan --json"
        ),
        selection=selection,
    )
    _print_notices(console, notices)
    if result is not None:
        for warning in result.engraver_warnings:
            say(console, f"Engraver: {warning}")
        for cue in result.cues:
            say(console, f"Cue, {cue.told(part)}.")
        if verbose:
            say(console, _layout(result.proof))
            for page in result.proof.fill:
                say(console, f"Layout, {page}.")
    if written:
        folder = written[0].parent
        say(console, f"Written to {folder}: {', '.join(path.name for path in written)}")
    say(console, PROPOSAL)


def _print_notices(console: Console, notices: Sequence[Notice]) -> None:
    """What was read only in part, by what it is, with the bars."""
    if notices:
        say(console, "Read or engraved only in part:")
    for line in notice_lines(notices):
        say(console, line, indent=2)


def _print_assumptions(console: Console, planned: PlannedScore) -> None:
    if planned.plan.tempo_assumed:
        console.print(Text("The score names no tempo: 72 quarter notes a minute are assumed."))
    if planned.part.source.spelling_guessed:
        console.print(
            Text("The format has no spelling: sharps and flats are guessed, check them first.")
        )


def _print_decisions(console: Console, planned: PlannedScore) -> None:
    """How many decisions hold; those that do not are among the findings."""
    decisions = planned.decisions
    allowed = [
        name
        for name, yes in (
            ("crossing", decisions.crossing),
            ("two pedals at once", decisions.two_pedals),
        )
        if yes
    ]
    if not decisions.file and decisions.respell is None and not allowed:
        return
    refused = sum(bool(result.refused) for result in planned.plan.decisions)
    held = len(planned.plan.decisions) - refused
    told = [f"{held} {'holds' if held == 1 else 'hold'}"] if held or refused else []
    told += [f"{refused} cannot hold"] if refused else []
    if decisions.respell is not None:
        told.append(f"respelling {decisions.respell.value}")
    told += [f"{name} allowed" for name in allowed]
    source = f" ({decisions.file})" if decisions.file else ""
    console.print(Text(f"Decisions{source}: {', '.join(told) or 'none'}."))
    for finding in planned.plan.findings:
        if finding.kind is FindingKind.IDLE_DECISION:
            say(console, f"{finding.what} {finding.mend}", indent=2)


def console_for_results() -> Console:
    """Where results are printed: as wide as the terminal, or plain and wide in a pipe."""
    console = Console(highlight=False)
    if not console.is_terminal:
        console = Console(highlight=False, width=_PIPE_WIDTH, no_color=True)
    return console


def say(console: Console, text: str, *, indent: int = 0, style: str = "") -> None:
    """Print a sentence: wrapped by words on a terminal, on one line in a pipe."""
    if not console.is_terminal:
        console.print(Text(" " * indent + text), soft_wrap=True)
        return
    hanging = indent + 2 if indent else 0
    for number, line in enumerate(wrap(shown(text), max(20, console.width - hanging - 1)) or [""]):
        console.print(Text(" " * (hanging if number else indent) + line, style=style))


def heading(part: HarpPart) -> str:
    """The line above every report: file, title and composer."""
    named = [name for name in (part.title, part.composer) if name]
    return f"{part.source.file}: {', '.join(named)}" if named else part.source.file


def _sizes(planned: PlannedScore) -> str:
    counted = (
        (len(planned.part.bars), "bar"),
        (len(planned.plan.strings), "note"),
        (len(planned.plan.changes), "change"),
        (len(planned.markings.diagrams), "diagram"),
    )
    return f"{', '.join(many(count, what) for count, what in counted)}."


def counts(planned: PlannedScore) -> str:
    """One line: bars, notes, changes, diagrams, and findings by how grave they are."""
    part, plan, markings = planned.part, planned.plan, planned.markings
    grave = Counter(finding.severity for finding in plan.findings)
    findings = ", ".join(
        f"{grave[severity]} {severity.value}" for severity in Severity if grave[severity]
    )
    counted = (
        (len(part.bars), "bar"),
        (len(plan.strings), "note"),
        (len(plan.changes), "change"),
        (len(markings.diagrams), "diagram"),
    )
    told = ", ".join(many(count, what) for count, what in counted)
    edition = planned.edition
    faults = 0
    if edition is not None:
        faults = sum(entry.is_fault for entry in edition.remaining.entries)
    if faults:
        own = f"{many(faults, 'fault')} of the source's own marks"
        findings = ", ".join(filter(None, (findings, own)))
    return f"{told}, findings: {findings or 'none'}."


def _layout(proof: LayoutProof) -> str:
    nearest = proof.smallest_distance
    distance = "" if nearest is None else f", smallest distance {nearest:.2f} staff spaces"
    return (
        f"Layout: {many(proof.pages, 'page')}, {many(proof.marks, 'mark')}, "
        f"{many(len(proof.overlaps), 'overlap')}{distance}."
    )


def _changes_table(part: HarpPart, changes: Sequence[Change]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for column, side in (
        ("bar", "right"),
        ("beat", "left"),
        ("change", "left"),
        ("from", "left"),
        ("foot", "left"),
        ("needed", "left"),
        ("free since", "left"),
        ("seconds", "right"),
    ):
        table.add_column(column, justify="right" if side == "right" else "left", no_wrap=True)
    for change in changes:
        free = change.seconds_free
        row = (
            part.printed_bar(change.place.bar),
            part.printed_beat(change.place),
            change.text,
            f"{change.letter.value}{change.old.sign}",
            f"{change.foot.value}{change.aside}",
            _short(part, change.needed),
            _short(part, change.free_since),
            "" if free is None else f"{float(free):.2f}",
        )
        table.add_row(*map(shown, row))
    return table


def _short(part: HarpPart, place: Place | None) -> str:
    if place is None:
        return "–"
    return f"{part.printed_bar(place.bar)}:{part.printed_beat(place)}"


def print_findings(
    console: Console,
    part: HarpPart,
    findings: Sequence[Finding],
    *,
    tried: bool,
    flagged: Sequence[Finding] = (),
    remarks_in: str = "--json",
    selection: Selection = Selection(),  # noqa: B008
) -> None:
    """Print the findings by how grave they are, those of one run or bar as one entry.

    Below each stand the best suggestions, if any were ``tried``. ``flagged`` are those that have a
    numbered flag on the pictures. ``remarks_in`` is where the user finds the others.
    """
    wanted = [one for one in findings if selection.holds(one)]
    entries = entries_of(part, wanted)
    number = {id(one): count for count, one in enumerate(flagged, 1)}
    for severity in Severity:
        group = [one for one in entries if one.severity is severity]
        if group:
            say(console, f"{severity.value.capitalize()}:", style="bold")
        for entry in group:
            _print_entry(console, part, entry, number, tried=tried)
    for finding in findings:
        if finding.kind is FindingKind.SHAREABLE:
            say(console, finding.what)
    _print_misprints(console, wanted)
    remarks = sum(one.severity is Severity.REMARK for one in wanted)
    if remarks:
        verb = "is" if remarks == 1 else "are"
        say(console, f"{many(remarks, 'remark')} on spelling and the like {verb} in {remarks_in}.")


def _print_misprints(console: Console, findings: Sequence[Finding]) -> None:
    """What is probably a misprint though it can be played: the remarks themselves are not shown."""
    found = [
        mend
        for one in findings
        for mend in one.mends[:1]
        if one.severity is Severity.REMARK and mend.kind is MendKind.MISPRINT
    ]
    if found:
        heading = "Probably misprints:" if len(found) > 1 else "Probably a misprint:"
        say(console, heading, style="bold")
    for mend in found:
        what = mend.what.removesuffix(": probably a misprint.")
        say(console, f"{what} ({effect_told(mend)}).", indent=2)


def _print_entry(
    console: Console, part: HarpPart, entry: Entry, number: Mapping[int, int], *, tried: bool
) -> None:
    def flag(finding: Finding) -> str:
        return f"[{number[id(finding)]}] " if id(finding) in number else ""

    main = entry.main
    say(console, f"{flag(main)}{entry.where(part)}: {main.what}", indent=2)
    if entry.others:
        flags = "".join(flag(one) for one in entry.others).strip()
        told = f"with it: {entry.others_told()} {flags}".strip()
        say(console, f"{told}.", indent=_INDENT)
    mends = [mend for one in (main, *entry.others) for mend in one.mends]
    for mend in mends[:_MOST_LISTED]:
        say(
            console,
            f"suggestion: {mend.what.rstrip('.')} ({effect_told(mend)}).",
            indent=_INDENT,
        )
    if tried and not mends and main.severity is Severity.UNPLAYABLE:
        say(console, "No single suggestion was found that helps here.", indent=_INDENT)
