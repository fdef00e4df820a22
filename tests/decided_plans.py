"""Plans around the decisions of a file, and what became of them."""

from __future__ import annotations

from pedalsetter.analysis.decisions.file import parse_decisions
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import plan_changes


def planned(part: HarpPart, text: str) -> PedalPlan:
    """The plan around the decisions of a file."""
    return plan_changes(part, decisions=parse_decisions(text))


def refusals(plan: PedalPlan) -> list[str]:
    """Why decisions do not hold; each has its finding."""
    reasons = [result.refused for result in plan.decisions if result.refused]
    findings = [finding.what for finding in plan.findings if "cannot hold: " in finding.what]
    assert sorted(finding.split("cannot hold: ")[1] for finding in findings) == sorted(
        f"{reason}." for reason in reasons
    )
    return reasons


def told(part: HarpPart, plan: PedalPlan) -> list[str]:
    """The changes, each with its place."""
    return [
        f"{change.text} {part.printed_bar(change.place.bar)}:{part.printed_beat(change.place)}"
        for change in plan.changes
    ]
