"""Two plans side by side: what became better, and what became worse."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import Finding, PedalPlan, Severity

__all__ = ["Comparison", "compare_plans"]


@dataclass(frozen=True, slots=True)
class Comparison:
    """What a later plan has otherwise than an earlier one, of the same part or an altered one."""

    gone: tuple[Finding, ...]
    """Findings of the earlier plan that the later one has not, by place in the earlier part."""
    new: tuple[Finding, ...]
    """Findings of the later plan that the earlier one had not, by place in the later part."""
    changes: tuple[int, int]
    """How many pedal changes are made, before and after."""
    unplayable: tuple[int, int]
    """How many findings cannot be played, before and after."""
    cost: tuple[Fraction, Fraction]
    """Cost of the plan, before and after."""

    @property
    def same(self) -> bool:
        """Whether nothing that matters to a player has changed."""
        return not self.gone and not self.new and self.changes[0] == self.changes[1]


def compare_plans(
    before: tuple[HarpPart, PedalPlan], after: tuple[HarpPart, PedalPlan]
) -> Comparison:
    """Compare two plans, each with the part that it is for.

    A finding that says the same at another bar, because bars were put in or taken out, is neither
    gone nor new. Remarks are left aside. Linear in the findings.
    """
    old = [one for one in before[1].findings if one.severity is not Severity.REMARK]
    new = [one for one in after[1].findings if one.severity is not Severity.REMARK]

    def in_place(part: HarpPart) -> Callable[[Finding], Hashable]:
        return lambda one: (one.kind, one.severity, one.staff, one.what, part.told_place(one.place))

    def anywhere(one: Finding) -> Hashable:
        return one.kind, one.severity, one.staff, one.what

    old, new = _unmatched(old, new, in_place(before[0]), in_place(after[0]))
    old, new = _unmatched(old, new, anywhere, anywhere)
    return Comparison(
        gone=tuple(old),
        new=tuple(new),
        changes=(len(before[1].changes), len(after[1].changes)),
        unplayable=(_unplayable(before[1]), _unplayable(after[1])),
        cost=(before[1].cost, after[1].cost),
    )


def _unmatched(
    old: Iterable[Finding],
    new: Iterable[Finding],
    old_key: Callable[[Finding], Hashable],
    new_key: Callable[[Finding], Hashable],
) -> tuple[list[Finding], list[Finding]]:
    """What is left when findings of equal keys are taken out in pairs."""
    waiting: dict[Hashable, list[Finding]] = {}
    for one in old:
        waiting.setdefault(old_key(one), []).append(one)
    left = []
    for one in new:
        pairs = waiting.get(new_key(one))
        if pairs:
            pairs.pop(0)
        else:
            left.append(one)
    kept = {id(one) for pairs in waiting.values() for one in pairs}
    return [one for one in old if id(one) in kept], left


def _unplayable(plan: PedalPlan) -> int:
    return sum(finding.severity is Severity.UNPLAYABLE for finding in plan.findings)
