"""Which part of a score is read: the harp, or the one that the user asks for."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from pedalsetter.analysis.errors import PartError, SeveralHarpsError
from pedalsetter.analysis.naming.wording import likely
from pedalsetter.analysis.reading.part_list import (
    PartInfo,
    describe,
    folded_name,
    hand_of,
)

__all__ = ["ChosenPart", "choose_part", "may_be_chosen", "numbered_name"]

_MEND = "Choose one with --part NAME or NUMBER."

_KEYBOARD = frozenset(
    re.findall(
        r"\S+",
        """
        piano klavier clavier pianoforte pianoforte keyboard harpsichord cembalo clavecin
        clavicembalo organ orgel orgue organo celesta celeste manual manuals hand staff part
        music musicxml instrument spine track stimme voix voice treble bass upper lower right
        left rh lh hi lo pno hpsd unnamed acoustic grand electric solo
        """,
    )
)
"""Words in names that leave open whether two staves belong to one player at a keyboard or harp."""


@dataclass(frozen=True, slots=True)
class ChosenPart:
    """One part, or two one-staff parts that are read as upper and lower staff."""

    parts: tuple[PartInfo, ...]

    @property
    def halves(self) -> tuple[int | None, ...]:
        """The staff that each part stands on as half of a harp; None for a part that is whole."""
        return (1, 2) if len(self.parts) == 2 else (None,)

    @property
    def name(self) -> str:
        """The part's name; of two halves the name without the hand."""
        first = self.parts[0]
        if len(self.parts) == 1:
            return first.name
        stem, hand = hand_of(first.name)
        return first.name[: len(stem)] if hand else first.name or self.parts[1].name


def numbered_name(chosen: ChosenPart, parts: Sequence[PartInfo]) -> str:
    """The name of a part; with its number where the score has several harps of that name.

    So two parts that are both called Harp are told apart on their pages, as *Harp 1* and *Harp 2*.
    """
    harps = _joined([part for part in parts if part.is_harp_by_name], parts)
    alike = [harp.parts for harp in harps if folded_name(harp.name) == folded_name(chosen.name)]
    if len(alike) < 2 or chosen.parts not in alike:
        return chosen.name
    return f"{chosen.name} {alike.index(chosen.parts) + 1}"


def choose_part(parts: Sequence[PartInfo], asked: str | None, file: str) -> ChosenPart:
    """The part that ``asked`` names (name, number from 1, id, or two joined by ``+``), or the harp.

    Raises:
        PartError: nothing or more than one fits; the message lists the parts.
    """
    if not parts:
        raise PartError("the score has no parts", file=file)
    if asked is not None and asked.strip():
        return _asked_for(parts, asked.strip(), file)
    harps = _joined([part for part in parts if part.is_harp_by_name], parts)
    if not harps:
        harps = _joined([part for part in parts if part.is_harp_by_program], parts)
    if len(harps) == 1:
        return harps[0]
    if harps:
        listed = describe([part for harp in harps for part in harp.parts])
        raise SeveralHarpsError(
            f"the score has {len(harps)} harps: {listed}",
            tuple((one.name, "+".join(str(part.number) for part in one.parts)) for one in harps),
            file=file,
            mend=_MEND,
        )
    if len(parts) == 1:
        if parts[0].staves <= 2:
            return ChosenPart((parts[0],))
        raise PartError(
            f"the only part, {parts[0].shown_name}, has {parts[0].staves} staves",
            file=file,
            mend="If it is the harp, choose it with --part 1.",
        )
    if len(parts) == 2 and all(part.staves == 1 for part in parts) and _may_be_one_player(parts):
        return ChosenPart(tuple(parts))
    mend = _MEND
    if len(parts) == 2 and all(part.staves == 1 for part in parts):
        mend = "Choose one with --part NAME or NUMBER, or join both with --part 1+2."
    raise PartError(f"no part is a harp; the parts are {describe(parts)}", file=file, mend=mend)


def may_be_chosen(heads: Sequence[PartInfo], asked: str | None) -> set[str]:
    """Ids of the parts that :func:`choose_part` may choose, told from the list of parts alone.

    All but surely: how many staves a part has, and whether it has music, is not known yet.
    """
    if len(heads) <= 2:
        return {part.id for part in heads}
    found = [part for part in heads if part.is_harp_by_name]
    found = found or [part for part in heads if part.is_harp_by_program]
    wanted = (asked or "").strip()
    for each in (wanted, *wanted.split("+")):
        found += _matches(heads, each.strip())
    return {part.id for part in found}


def _asked_for(parts: Sequence[PartInfo], asked: str, file: str) -> ChosenPart:
    exact = _matches(parts, asked)
    if not exact and "+" in asked:
        halves = tuple(_one(parts, half.strip(), file) for half in asked.split("+"))
        if len(halves) != 2 or halves[0] is halves[1]:
            raise PartError(f"'{asked}' does not name two different parts", file=file, mend=_MEND)
        for half in halves:
            if half.staves != 1:
                raise PartError(
                    f"part {half.number} {half.shown_name} has {half.staves} staves of its own "
                    "and cannot be one of two halves",
                    file=file,
                    mend=f"Choose it alone with --part {half.number}.",
                )
        return ChosenPart(halves)
    pairs = _joined([part for part in parts if part.is_harp_by_name], parts)
    if len(exact) > 1:
        for pair in pairs:
            if {id(part) for part in pair.parts} == {id(part) for part in exact}:
                return pair
    part = _one(parts, asked, file)
    for pair in pairs:
        if any(half is part for half in pair.parts):
            return pair
    return ChosenPart((part,))


def _one(parts: Sequence[PartInfo], asked: str, file: str) -> PartInfo:
    found = _matches(parts, asked)
    if not found:
        raise PartError(
            f"there is no part '{asked}'; the parts are {describe(parts)}",
            file=file,
            mend=f"{likely(asked, (part.name for part in parts))} {_MEND}".strip(),
        )
    if len(found) > 1:
        raise PartError(
            f"'{asked}' fits several parts: {describe(found)}",
            file=file,
            mend="Choose one by its number with --part NUMBER.",
        )
    return found[0]


def _matches(parts: Sequence[PartInfo], asked: str) -> list[PartInfo]:
    """By number, then id, then whole name, then the beginning of a name."""
    if asked.isdecimal() and 1 <= int(asked) <= len(parts):
        return [parts[int(asked) - 1]]
    by_id = [part for part in parts if part.id == asked]
    if by_id:
        return by_id
    wanted = folded_name(asked)
    if not wanted:
        return []
    whole = [
        part
        for part in parts
        if wanted in {folded_name(name) for name in (part.name, part.abbreviation)}
        or wanted in {folded_name(name) for name in part.instruments}
    ]
    if whole:
        return whole
    return [part for part in parts if f"{folded_name(part.name)} ".startswith(f"{wanted} ")]


def _joined(harps: Sequence[PartInfo], parts: Sequence[PartInfo]) -> list[ChosenPart]:
    """Harps in order, halves that belong together as one."""
    chosen: list[ChosenPart] = []
    used: set[int] = set()
    for part in harps:
        if part.number in used:
            continue
        lower = parts[part.number] if part.number < len(parts) else None
        if lower is not None and _are_halves(part, lower):
            used.add(lower.number)
            chosen.append(ChosenPart((part, lower)))
        else:
            chosen.append(ChosenPart((part,)))
    return chosen


def _are_halves(upper: PartInfo, lower: PartInfo) -> bool:
    if upper.staves != 1 or lower.staves != 1:
        return False
    upper_stem, upper_hand = hand_of(upper.name)
    lower_stem, lower_hand = hand_of(lower.name)
    if upper_hand == 1 and lower_hand == 2:
        return folded_name(upper_stem) == folded_name(lower_stem)
    if upper_hand or lower_hand:
        return False
    if folded_name(upper.name) == folded_name(lower.name):
        return True
    # An unnamed staff in one brace with the harp above it is its lower staff.
    return not lower.name and upper.brace is not None and upper.brace == lower.brace


def _may_be_one_player(parts: Sequence[PartInfo]) -> bool:
    names = [folded_name(part.name) for part in parts]
    words = {word for name in names for word in name.split() if not word.isdigit()}
    return words <= _KEYBOARD
