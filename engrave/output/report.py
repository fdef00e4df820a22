"""The plan and the summary as a person reads them on a terminal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pedalsetter.analysis.findings import effect_told
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Change, Finding, FindingKind, PedalPlan, Severity
from pedalsetter.analysis.respelling import Pitch
from pedalsetter.analysis.wording import listed, many
from pedalsetter.engrave.output.best_told import best_told
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
]

PROPOSAL = "The plan is a proposal; the harpist decides."

# A pipe has no width of its own; wide enough that no column is ever cut.
_PIPE_WIDTH = 160


def print_plan(planned: PlannedScore) -> None:
    """Print the opening, a table of all changes, and the findings."""
    console = console_for_results()
    part, plan = planned.part, planned.plan
    console.print(Text(heading(part), style="bold"))
    for movement in plan.movements:
        bar = part.printed_bar(movement.first_bar)
        console.print(Text(f"Opening, bar {bar}: {movement.opening}"))
    _print_assumptions(console, planned)
    _print_decisions(console, planned)
    if plan.changes:
        console.print(_changes_table(part, plan.changes))
    else:
        console.print(Text("No pedal moves."))
    for line in _respelled_lines(part, plan):
        console.print(Text(line))
    print_findings(console, part, plan.findings, tried=planned.mends_tried)
    console.print(Text(counts(planned)))
    console.print(Text(best_told(plan)))
    console.print(Text(PROPOSAL))


def _respelled_lines(part: HarpPart, plan: PedalPlan) -> Iterator[str]:
    """One line for all notes that are struck together and played on strings of one name."""
    notes = {head.id: (part.place_of(event), head.pitch) for event, head in part.notes()}
    together: dict[tuple[Place, str], list[Pitch]] = {}
    for use in plan.respelled:
        if use.sounding is not None:
            together.setdefault((notes[use.note][0], use.sounding.name), []).append(use.written)
    for use in plan.neighbours:
        if use.sounding is not None:
            place, pitch = notes[use.note]
            what = f"{use.written} beside {pitch} is played on {use.sounding.name}."
            yield f"{part.told_place(place)}: {what}"
    for (place, name), written in together.items():
        pitches = list(dict.fromkeys(sorted(written, key=lambda pitch: pitch.midi)))
        verb = "is" if len(pitches) == 1 else "are"
        yield f"{part.told_place(place)}: {listed(map(str, pitches))} {verb} played on {name}."


def print_summary(result: EngravedScore, written: Sequence[Path]) -> None:
    """Print what was made: counts, findings, notices, the layout's figures, files."""
    console = console_for_results()
    planned = result.planned
    console.print(Text(heading(planned.part), style="bold"))
    console.print(Text(counts(planned)))
    if planned.edition is None or planned.edition.is_planned:
        console.print(Text(best_told(planned.plan)))
    _print_assumptions(console, planned)
    _print_decisions(console, planned)
    if planned.edition is not None:
        from pedalsetter.engrave.output.edition_report import edition_lines

        for line in edition_lines(planned.part, planned.edition):
            console.print(Text(line))
    print_findings(
        console,
        planned.part,
        planned.plan.findings,
        tried=planned.mends_tried,
        flagged=bool(result.flagged),
        remarks_in=next(
            (path.name for path in written if path.name.endswith(".plan.json")), "plan --json"
        ),
    )
    for notice in result.notices:
        console.print(Text(f"Notice: {notice}"))
    for warning in result.engraver_warnings:
        console.print(Text(f"Engraver: {warning}"))
    console.print(Text(_layout(result.proof)))
    if written:
        folder = written[0].parent
        console.print(Text(f"Written to {folder}: {', '.join(path.name for path in written)}"))
    console.print(Text(PROPOSAL))


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


def console_for_results() -> Console:
    """Where results are printed: as wide as the terminal, or wide and plain in a pipe."""
    console = Console(highlight=False, soft_wrap=False)
    if not console.is_terminal:
        console = Console(highlight=False, width=_PIPE_WIDTH, no_color=True)
    return console


def heading(part: HarpPart) -> str:
    """The line above every report: file, title and composer."""
    named = [name for name in (part.title, part.composer) if name]
    return f"{part.source.file}: {', '.join(named)}" if named else part.source.file


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
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("bar", justify="right", no_wrap=True)
    for column in ("beat", "change", "from", "foot", "needed", "free since"):
        table.add_column(column, no_wrap=True)
    table.add_column("seconds", justify="right", no_wrap=True)
    table.add_column("why")
    for change in changes:
        free = change.seconds_free
        table.add_row(
            part.printed_bar(change.place.bar),
            part.printed_beat(change.place),
            change.text,
            f"{change.letter.value}{change.old.sign}",
            f"{change.foot.value}{change.aside}",
            _short(part, change.needed),
            _short(part, change.free_since),
            "" if free is None else f"{float(free):.2f}",
            change.why,
        )
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
    flagged: bool = False,
    remarks_in: str = "--json",
) -> None:
    """Print the graver findings, with the numbers of their flags if they have any.

    Below each stand the mends that help, if any were ``tried``. ``remarks_in`` is where the user
    finds the others.
    """
    graver = [finding for finding in findings if finding.severity is not Severity.REMARK]
    for number, finding in enumerate(graver, 1):
        flag = f"[{number}] " if flagged else ""
        where = finding.where(part)
        console.print(Text(f"{flag}{finding.severity.value}, {where}: {finding.what}"))
        for mend in finding.mends:
            what = mend.what.rstrip(".")
            console.print(Text(f"    mend: {what} ({effect_told(mend)})."))
    for finding in findings:
        if finding.kind is FindingKind.SHAREABLE:
            console.print(Text(finding.what))
    # What belongs to a chromatic run is mended with it.
    of_runs = {
        note
        for finding in graver
        if finding.kind is FindingKind.CHROMATIC_RUN and finding.mends
        for note in finding.notes
    }
    hopeless = sum(
        finding.severity is Severity.UNPLAYABLE
        and not finding.mends
        and of_runs.isdisjoint(finding.notes)
        for finding in graver
    )
    if tried and hopeless:
        what = "a finding that" if hopeless == 1 else f"{hopeless} findings that"
        verb = "has" if hopeless == 1 else "have"
        console.print(
            Text(f"No single mend was found for {what} cannot be played and {verb} none above.")
        )
    remarks = sum(finding.severity is Severity.REMARK for finding in findings)
    if remarks:
        verb = "is" if remarks == 1 else "are"
        console.print(Text(f"{many(remarks, 'remark')} {verb} told by {remarks_in}."))
