"""All findings of a part: those of the plan, and those of hands and strings."""

from __future__ import annotations

from dataclasses import replace

from pedalsetter.analysis.findings.hands import judge_hands
from pedalsetter.analysis.findings.limits import Limits
from pedalsetter.analysis.findings.plucks import find_moments
from pedalsetter.analysis.findings.repeats import judge_repeats
from pedalsetter.analysis.findings.runs import judge_runs
from pedalsetter.analysis.instrument.harp import Harp
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Finding, PedalPlan, Severity

__all__ = ["by_place", "judge_playing", "with_all_findings"]


def judge_playing(
    part: HarpPart,
    plan: PedalPlan,
    harp: Harp = Harp(),  # noqa: B008 - frozen
    limits: Limits = Limits(),  # noqa: B008 - frozen
) -> tuple[Finding, ...]:
    """Return what is hard for the hands and the strings, by place; linear in the notes."""
    moments = find_moments(part, plan, harp)
    found = [
        *judge_hands(moments, limits),
        *judge_repeats(part, moments, limits),
        *judge_runs(part, plan, limits),
    ]
    return tuple(sorted(found, key=by_place))


def with_all_findings(
    part: HarpPart,
    plan: PedalPlan,
    harp: Harp = Harp(),  # noqa: B008 - frozen
    limits: Limits = Limits(),  # noqa: B008 - frozen
) -> PedalPlan:
    """Return the plan with the findings of :func:`judge_playing` among its own."""
    found = (*plan.findings, *judge_playing(part, plan, harp, limits))
    return replace(plan, findings=tuple(sorted(found, key=by_place)))


def by_place(finding: Finding) -> tuple[Place, int, str]:
    """The order of findings: by place, gravest first."""
    return finding.place, list(Severity).index(finding.severity), finding.what
