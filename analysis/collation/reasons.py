"""Slips in words: what should stand at the place, and why."""

from __future__ import annotations

from collections.abc import Sequence

from pedalsetter.analysis.collation.entries import EntryKind
from pedalsetter.analysis.collation.score_walk import Ask
from pedalsetter.analysis.collation.sentences import called
from pedalsetter.analysis.collation.slips import Slip
from pedalsetter.analysis.naming.wording import listed
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import PedalPlan

__all__ = ["reason_of"]


def reason_of(slip: Slip, part: HarpPart, plan: PedalPlan) -> tuple[str, str]:
    """What should stand where a slip was found, and one sentence why."""
    names = _notes(slip.asks)
    many = len(dict.fromkeys(ask.name for ask in slip.asks)) > 1
    need, is_ = ("need", "are") if many else ("needs", "is")
    needed = slip.place if slip.needed_at is None else slip.needed_at
    at = f" in {part.told_place(needed)}"
    wanted = " ".join(called(letter, position) for letter, position in slip.wanted)
    stands = " ".join(
        f"{letter.value}{slip.standing.sign}"
        for letter in slip.letters
        if slip.standing is not None
    )
    match slip.kind:
        case EntryKind.MISSING:
            return (
                wanted,
                f"{names} {need} {wanted}, and the marks leave the pedal at {stands}.",
            )
        case EntryKind.LATE:
            return (
                f"{wanted} before {part.told_place(needed)}",
                f"{names}{at} {need} {wanted} already.",
            )
        case EntryKind.EARLY:
            moved = called(slip.moves[0].letter, slip.moves[0].position)
            return (
                f"{moved} after {part.told_place(needed)}",
                f"{names}{at} still {need} {wanted}.",
            )
        case EntryKind.WRONG:
            return _reason_of_wrong(slip, f"{names}{at} {need}")
        case EntryKind.CONTRADICTORY_DIAGRAM:
            return wanted, (
                f"The marks before leave the pedal at {wanted}, as {names}{at} {need} it."
            )
        case EntryKind.TWO_POSITIONS:
            both = listed(called(move.letter, move.position) for move in slip.moves)
            wanted_there = plan.setting_at(slip.place)[slip.letters[0]]
            return called(slip.letters[0], wanted_there), f"{both} cannot both be meant."
        case EntryKind.SAME_FOOT:
            foot = slip.letters[0].foot.value
            both = listed(letter.value for letter in slip.letters)
            return "one after the other", (
                f"The {foot} foot moves one pedal at a time, and there is no time for {both}."
            )
        case EntryKind.RINGING:
            moved = called(slip.moves[0].letter, slip.moves[0].position)
            return f"{moved} later", f"{names} {is_} still written to sound."
        case _:
            moved = called(slip.moves[0].letter, slip.moves[0].position)
            return (
                f"{moved} before or after it",
                f"The glissando has strings of {moved[0]} to come.",
            )


def _reason_of_wrong(slip: Slip, need: str) -> tuple[str, str]:
    move = slip.moves[0]
    given = called(move.letter, move.position)
    if not slip.wanted:
        stood = f"{move.letter.value} as it stood before"
        return "", f"{need} {stood}, and nothing needs {given}."
    letter, position = slip.wanted[0]
    wanted = called(letter, position)
    if letter is move.letter:
        return wanted, f"{need} {wanted}, not {given}."
    return wanted, f"Nothing needs {given} here, but {wanted} is needed and not marked."


def _notes(asks: Sequence[Ask]) -> str:
    return listed(dict.fromkeys(ask.name for ask in asks))
