"""What the planner says: one sentence for each thing that cannot be done, and one for its mend."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Foot, Letter, Position
from pedalsetter.analysis.instrument.respelling import Pitch, Sounding, strings_for
from pedalsetter.analysis.naming.wording import listed
from pedalsetter.analysis.part import Head, Place
from pedalsetter.analysis.pedal_plan import Finding, FindingKind, Severity

__all__ = [
    "Why",
    "decision_refused",
    "double_alteration",
    "foot_too_fast",
    "glissando_not_in_setting",
    "idle_decision",
    "lost_notes",
    "no_time_for",
    "out_of_compass",
    "respelled_notes",
    "rings_on",
    "seconds_told",
    "stands_already",
    "tuned_by_hand",
    "two_tunings",
]


def seconds_told(seconds: Fraction) -> str:
    """Seconds to a hundredth, as in ``0.25 s``."""
    return f"{float(seconds):.2f} s"


def lost_notes(
    place: Place,
    lost: Sequence[tuple[int, Head, Pitch]],
    kept: Sequence[str],
    during: str,
) -> Finding:
    """Notes of one moment that no setting sounds together with the others.

    ``during`` names the trill, tremolo or glissando that holds their pedals; empty if none does.
    """
    names = [_read(head, pitch) for _, head, pitch in lost]
    letters = {pitch.letter for _, _, pitch in lost}
    clash = sorted({name for name in kept if Letter(name[0]) in letters and name not in names})
    notes = tuple(dict.fromkeys(head.id for _, head, _ in lost))
    while_held = f" during {during}" if during else ""
    subject = listed(names)
    if clash:
        kind = FindingKind.TWO_POSITIONS
        what = (
            f"{subject} cannot sound together with {listed(clash)}{while_held}: one pedal cannot "
            f"stand in two positions, and no other string is free for it."
        )
    else:
        kind = FindingKind.NO_SETTING
        with_what = f" together with {listed(kept)}" if kept else ""
        what = f"{subject} cannot sound{with_what}{while_held}: no setting has a string for it."
    several = len(dict.fromkeys(names)) > 1
    what = what.replace(" for it.", " for them.") if several else what
    mend = f"Leave out {subject}, play it a little later, or give it to another instrument."
    if several:
        mend = f"Leave out {subject}, play them later, or give them to another instrument."
    if all(pitch != head.pitch for _, head, pitch in lost):
        mend = "Leave out the ornament, or give it to another instrument."
    return Finding(kind, Severity.UNPLAYABLE, place, lost[0][0], notes, what, mend)


def _read(head: Head, pitch: Pitch) -> str:
    """A note by its name, or what an ornament adds to it: ``A beside G♯``."""
    return pitch.name if pitch == head.pitch else f"{pitch.name} beside {head.pitch.name}"


class Why(Enum):
    """Why notes are played on other letters than written."""

    CLASH = "the written letters would want one pedal in two positions at once"
    TIME = "the written letters would give one foot too little time"
    RINGING = "the written letters would move a pedal under a note that is written to sound on"
    FEWER_CHANGES = "that takes fewer changes"
    DECIDED = "so it was decided"
    MARKED = "the printed pedals have it so"


def respelled_notes(
    place: Place, moved: Sequence[tuple[int, Head, Pitch, Sounding]], why: Why
) -> Finding:
    """Notes, and neighbours in their trills, on another letter than written, with the reason."""
    told = listed(f"{_read(head, pitch)} as {sounding.name}" for _, head, pitch, sounding in moved)
    written = any(pitch == head.pitch for _, head, pitch, _ in moved)
    kind = {
        Why.CLASH: FindingKind.TWO_POSITIONS,
        Why.TIME: FindingKind.FOOT_TOO_FAST,
        Why.RINGING: FindingKind.RINGING,
        Why.FEWER_CHANGES: FindingKind.FEWER_CHANGES,
        Why.DECIDED: FindingKind.DECISION,
        Why.MARKED: FindingKind.DECISION,
    }[why]
    what = f"Play {told}: {why.value}."
    mend = "Write the note as it is played, if the harmony allows it."
    if not written:
        mend = "Say so to the player at the ornament."
    notes = tuple(head.id for _, head, *_ in moved)
    return Finding(kind, Severity.REMARK, place, moved[0][0], notes, what, mend)


def decision_refused(told: str, place: Place | None, why: str) -> Finding:
    """A decision of the musician that cannot hold; no place where the score has no such one."""
    what = f"The decision '{told}' cannot hold: {why}."
    mend = "The plan is made without it."
    at = place or Place(0, Fraction(0))
    return Finding(
        FindingKind.DECISION, Severity.RISKY, at, None, (), what, mend, located=place is not None
    )


def idle_decision(
    place: Place, text: str, where: str, dropped: Sequence[str], until: str = ""
) -> Finding:
    """A change that is only made because it is decided; ``until`` is where another undoes it."""
    before = f" before {until}" if until else ""
    what = f"{text} in {where} is moved only because it is decided: no note needs it{before}."
    told = listed([f"'{one}'" for one in dropped])
    those = "that decision serves" if len(dropped) == 1 else "those decisions serve"
    mend = f"Take {told} out of the decisions, if {those} nothing else."
    return Finding(FindingKind.IDLE_DECISION, Severity.REMARK, place, None, (), what, mend)


def stands_already(letter: Letter, position: Position, away: Position | None = None) -> str:
    """Why a pedal is not moved to where it stands; ``away`` is where it moves right there."""
    text = f"{letter.value}{position.sign}"
    if away is None:
        return f"the pedal stands at {text} already"
    return f"the pedal stands at {text} until then, and moves to {letter.value}{away.sign} there"


def out_of_compass(place: Place, staff: int, head: Head, pitch: Pitch) -> Finding:
    """A note, or the neighbour of an ornamented one, for which the instrument has no string."""
    what = f"{pitch} lies outside the compass of the harp."
    mend = "Write it an octave nearer the middle, or leave it out."
    return Finding(
        FindingKind.OUT_OF_RANGE, Severity.UNPLAYABLE, place, staff, (head.id,), what, mend
    )


def tuned_by_hand(place: Place, staff: int, head: Head, sounding: Sounding) -> Finding:
    """A string without mechanism that must be tuned before playing."""
    string = sounding.string
    what = (
        f"The lowest {string.letter.value} string has no pedal: it must be tuned to {head.pitch}."
    )
    mend = f"Tune it to {sounding.name} by hand before the movement."
    return Finding(FindingKind.NO_PEDAL, Severity.REMARK, place, staff, (head.id,), what, mend)


def two_tunings(
    place: Place, staff: int, head: Head, sounding: Sounding, tuned: Position
) -> Finding:
    """A string without mechanism that is wanted in a second tuning."""
    letter = sounding.string.letter.value
    what = (
        f"{head.pitch} cannot sound: the lowest {letter} string has no pedal and is already "
        f"tuned to {letter}{tuned.sign} in this movement."
    )
    mend = "Write the note an octave higher."
    return Finding(FindingKind.NO_PEDAL, Severity.UNPLAYABLE, place, staff, (head.id,), what, mend)


def double_alteration(place: Place, notes: tuple[str, ...], name: str, played: str) -> Finding:
    """A double alteration, which no pedal reaches, on its equivalent."""
    what = f"{name} is played as {played}: a pedal reaches flat, natural and sharp only."
    return Finding(FindingKind.DOUBLE_ALTERATION, Severity.REMARK, place, None, notes, what)


def glissando_not_in_setting(
    place: Place, staff: int, notes: tuple[str, ...], letters: Sequence[Letter]
) -> Finding:
    """Notes struck with a glissando want other positions than the glissando."""
    names = listed(letter.value for letter in letters)
    what = f"The glissando and the notes played with it want {names} in different positions."
    mend = "Begin the glissando after these notes, or write its setting at its start."
    return Finding(FindingKind.GLISSANDO, Severity.RISKY, place, staff, notes, what, mend)


def no_time_for(place: Place, staff: int, head: Head, reason: str) -> Finding:
    """A note that is lost because no moment is left for its pedal."""
    soundings = [one.name for one in strings_for(head.pitch)]
    what = f"{head.pitch.name} cannot sound: {reason}."
    mend = "Leave it out or play it later."
    if len(soundings) > 1:
        mend = f"Leave it out, play it later, or try it as {soundings[-1]}."
    return Finding(
        FindingKind.FOOT_TOO_FAST, Severity.UNPLAYABLE, place, staff, (head.id,), what, mend
    )


def foot_too_fast(
    place: Place,
    notes: tuple[str, ...],
    foot: Foot,
    text: str,
    seconds: Fraction,
    *,
    impossible: bool,
    old: str | None,
    crossing: bool = False,
) -> Finding:
    """One foot has less time than it wants; ``old`` names the note that leaves it so little.

    ``crossing`` tells that it has to cross in that time, or to come back.
    """
    if old is not None:
        several = " and " in old
        if "the " in old or not seconds:
            # A trill, a tremolo or a glissando, which is more than a stroke.
            until = f"until {seconds_told(seconds)} before" if seconds else "right up to there"
            cause = f"{old} go{'' if several else 'es'} on {until}"
        else:
            cause = f"{old} {'are' if several else 'is'} played only {seconds_told(seconds)} before"
    else:
        cause = f"the {foot.value} foot has moved another pedal {seconds_told(seconds)} before"
        if crossing:
            cause += " and has to cross"
    if impossible:
        kind, severity = FindingKind.FOOT_TOO_FAST, Severity.UNPLAYABLE
        what = f"{text} comes too fast for the {foot.value} foot: {cause}."
        mend = "Slow down here, respell a note, or leave one out."
    else:
        kind, severity = FindingKind.FOOT_HURRIED, Severity.UNCOMFORTABLE
        what = f"{text} is hurried: {cause}."
        mend = "It can be played, but not at a faster tempo."
    return Finding(kind, severity, place, None, notes, what, mend)


def rings_on(place: Place, text: str, old: str, notes: tuple[str, ...]) -> Finding:
    """A pedal moves while a note on its strings is still written to sound."""
    verb, it = ("are", "them") if " and " in old else ("is", "it")
    what = (
        f"{text} moves under {old}, which {verb} written to sound on: the string slides or buzzes."
    )
    mend = f"Damp {old} before the pedal moves, or shorten {it}."
    return Finding(FindingKind.RINGING, Severity.RISKY, place, None, notes, what, mend)
