"""What is said about hands and strings: one sentence for each thing that is hard."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from pedalsetter.analysis.findings.plucks import Pluck
from pedalsetter.analysis.instrument.respelling import strings_for
from pedalsetter.analysis.naming.wording import listed
from pedalsetter.analysis.part import Event, Place
from pedalsetter.analysis.pedal_plan import Finding, FindingKind, Mend, MendKind, Severity
from pedalsetter.analysis.planning.sentences import seconds_told

__all__ = [
    "all_fingers",
    "chromatic_run",
    "counted",
    "effect_told",
    "full_hand",
    "repeated_strings",
    "wide_span",
]

_NUMBERS = (
    *("no", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)

_INTERVALS = {11: "an eleventh", 12: "a twelfth", 13: "a thirteenth", 14: "a fourteenth"}


def counted(number: int) -> str:
    """``five`` up to twelve, then figures."""
    return _NUMBERS[number] if 0 <= number < len(_NUMBERS) else str(number)


def _names(plucks: Sequence[Pluck]) -> str:
    return listed(str(one.head.pitch) for one in plucks)


def _ids(plucks: Sequence[Pluck]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.head.id for one in plucks))


def _staff(plucks: Sequence[Pluck]) -> int | None:
    staves = {one.event.staff for one in plucks}
    return staves.pop() if len(staves) == 1 else None


def all_fingers(place: Place, plucks: Sequence[Pluck], most: int, severity: Severity) -> Finding:
    """More notes than both hands have fingers."""
    what = (
        f"{counted(len(plucks)).capitalize()} strings are plucked at once ({_names(plucks)}), and "
        f"two hands have {counted(most)} fingers for them."
    )
    kind = FindingKind.HAND_FULL
    return Finding(kind, severity, place, _staff(plucks), _ids(plucks), what)


def full_hand(
    place: Place, hand: str, plucks: Sequence[Pluck], most: int, severity: Severity
) -> Finding:
    """More notes than one hand has fingers, and the other hand too far away."""
    what = (
        f"The {hand} hand has {counted(len(plucks))} notes ({_names(plucks)}) for "
        f"{counted(most)} fingers, and the other hand cannot reach any of them."
    )
    kind = FindingKind.HAND_FULL
    return Finding(kind, severity, place, _staff(plucks), _ids(plucks), what)


def wide_span(
    place: Place,
    hand: str,
    plucks: Sequence[Pluck],
    span: int,
    severity: Severity,
    *,
    struck: bool,
) -> Finding:
    """One hand must reach further than a tenth."""
    reach = _INTERVALS.get(span, f"{span} strings")
    what = f"The {hand} hand spans {reach}, {plucks[0].head.pitch} to {plucks[-1].head.pitch}"
    if severity is Severity.UNPLAYABLE:
        what += ", and the sign forbids breaking the chord."
    elif severity is Severity.RISKY:
        what += ": it can only be broken, the lowest note first."
    elif struck:
        what += ", played together."
    else:
        what += ", more than a tenth."
    kind = FindingKind.WIDE_SPAN
    return Finding(kind, severity, place, _staff(plucks), _ids(plucks), what)


def repeated_strings(
    place: Place,
    plucks: Sequence[Pluck],
    times: Sequence[int],
    seconds: Fraction,
    severity: Severity,
    *,
    tremolo: bool,
) -> Finding:
    """Strings plucked again before they can ring; ``times`` says how often each string is."""
    pitches = list(dict.fromkeys(one.head.pitch for one in plucks))
    if tremolo:
        how = f"repeated in a tremolo, every {seconds_told(seconds)}"
    else:
        most = "" if len(set(times)) == 1 else "up to "
        how = f"played {most}{counted(max(times))} times on end, every {seconds_told(seconds)}"
    one = len(pitches) == 1
    result = f"the returning finger chokes {'it' if one else 'them'}"
    if severity is Severity.UNCOMFORTABLE:
        result = "it hardly rings" if one else "they hardly ring"
    alone = [str(pitch) for pitch in pitches if len(strings_for(pitch)) < 2]
    no_pair = f"; no other string sounds {listed(alone)}" if alone else ""
    what = f"{_names(plucks)} {'is' if one else 'are'} {how}: {result}{no_pair}."
    kind = FindingKind.REPEATED_STRING
    return Finding(kind, severity, place, _staff(plucks), _ids(plucks), what)


def chromatic_run(
    place: Place,
    run: Sequence[Event],
    seconds: Fraction,
    impossible: int,
    hard: int,
    severity: Severity,
) -> Finding:
    """Notes a semitone apart, faster than the feet."""
    first, last = run[0].heads[0], run[-1].heads[0]
    moves = "one pedal moves" if hard == 1 else f"{counted(hard)} pedals move"
    late = f", {counted(impossible)} of them too late" if impossible else " in a hurry"
    if impossible == hard:
        late = " too late"
    what = (
        f"A chromatic run of {len(run)} notes from {first.pitch} to {last.pitch}, "
        f"{seconds_told(seconds)} a note: {moves}{late}."
    )
    notes = tuple(event.heads[0].id for event in run)
    return Finding(FindingKind.CHROMATIC_RUN, severity, place, run[0].staff, notes, what)


def effect_told(mend: Mend) -> str:
    """What is gained, as in ``one impossible thing less``."""
    gone = mend.unplayable[0] - mend.unplayable[1]
    if gone > 0:
        return f"{counted(gone)} impossible {'thing' if gone == 1 else 'things'} less"
    if mend.removes:
        return f"{counted(mend.removes)} hard {'thing' if mend.removes == 1 else 'things'} less"
    if mend.kind is MendKind.MISPRINT:
        return "fewer changes"
    return "easier for the feet" if mend.cost[1] < mend.cost[0] else "nothing gets harder"
