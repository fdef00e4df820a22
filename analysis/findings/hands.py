"""What the hands must hold at one moment: fingers and spans.

Each staff is taken for one hand first. Where that asks too much, the notes of the moment are shared
anew, the lower ones to the left hand: a harpist takes a note of the other staff without being told.
Sources: four notes a hand, N. Rimsky-Korsakov, *Principles of Orchestration*, ch. I, "Harp", who
also has chords broken unless the score forbids it; the tenth, common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pedalsetter.analysis.findings.limits import Limits
from pedalsetter.analysis.findings.plucks import Moment, Pluck
from pedalsetter.analysis.findings.sentences import all_fingers, full_hand, wide_span
from pedalsetter.analysis.pedal_plan import Finding, Severity

__all__ = ["judge_hands"]

Group = Sequence[Pluck]


def judge_hands(moments: Sequence[Moment], limits: Limits) -> Iterator[Finding]:
    """Yield a finding for each moment at which no sharing of the notes fits two hands."""
    for moment in moments:
        if len(moment.plucks) < 2:
            continue
        lower, upper = _by_staff(moment.plucks)
        if _fits(lower, limits) and _fits(upper, limits):
            continue
        shares = _shares(_each_string_once(moment.plucks))
        if any(_fits(low, limits) and _fits(high, limits) for low, high in shares):
            continue
        yield _finding(moment, (lower, upper), shares, limits)


def _finding(
    moment: Moment,
    by_staff: tuple[Group, Group],
    shares: Sequence[tuple[Group, Group]],
    limits: Limits,
) -> Finding:
    rolled = _signs(moment.plucks) & {"plain", "up", "down"}
    struck = "bracket" in _signs(moment.plucks)
    plucks = _each_string_once(moment.plucks)
    if len(plucks) > 2 * limits.fingers:
        severity = Severity.RISKY if rolled else Severity.UNPLAYABLE
        return all_fingers(moment.place, plucks, 2 * limits.fingers, severity)
    full = [(hand, group) for hand, group in enumerate(by_staff) if len(group) > limits.fingers]
    if full:
        hand, group = full[0]
        severity = Severity.RISKY if rolled else Severity.UNPLAYABLE
        return full_hand(moment.place, _HANDS[hand], group, limits.fingers, severity)
    # As the staves have it, if the fingers suffice: the hand that spans too much is then named.
    low, high = by_staff
    least = max(_span(low), _span(high))
    for one, other in shares:
        enough = max(len(one), len(other)) <= limits.fingers
        if enough and max(_span(one), _span(other)) < least:
            low, high, least = one, other, max(_span(one), _span(other))
    hand, group = max(enumerate((low, high)), key=lambda one: _span(one[1]))
    span = _span(group)
    severity = Severity.UNCOMFORTABLE
    if span > limits.greatest_span:
        severity = Severity.RISKY
        if struck:
            severity = Severity.UNPLAYABLE
        elif rolled:
            severity = Severity.UNCOMFORTABLE
    elif rolled:
        severity = Severity.REMARK
    return wide_span(moment.place, _HANDS[hand], group, span, severity, struck=struck)


_HANDS = ("left", "right")


def _by_staff(plucks: Group) -> tuple[Group, Group]:
    """The notes of the lower staff and of the upper one, each string once."""
    lower = [one for one in plucks if one.event.staff > 1]
    upper = [one for one in plucks if one.event.staff <= 1]
    return _each_string_once(lower), _each_string_once(upper)


def _each_string_once(plucks: Group) -> list[Pluck]:
    """Voices that meet on one string pluck it once."""
    found = {one.string: one for one in reversed(plucks)}
    return sorted(found.values(), key=lambda one: one.string.step)


def _shares(plucks: Group) -> list[tuple[Group, Group]]:
    """Every way to give the lower notes to the left hand and the rest to the right."""
    return [(plucks[:cut], plucks[cut:]) for cut in range(len(plucks) + 1)]


def _span(group: Group) -> int:
    """Strings from the lowest to the highest, both counted."""
    return group[-1].string.step - group[0].string.step + 1 if group else 0


def _fits(group: Group, limits: Limits) -> bool:
    return len(group) <= limits.fingers and _span(group) <= limits.comfortable_span


def _signs(plucks: Group) -> set[str]:
    return {one.event.arpeggio.kind for one in plucks if one.event.arpeggio is not None}
