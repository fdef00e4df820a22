"""Reads the musician's decisions in one score: what each claims, or why it cannot hold at all."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.decisions.values import (
    NO_DECISIONS,
    ChangePin,
    Decisions,
    DiagramPin,
    FootPin,
    OpeningPin,
    Pin,
    RespellingPin,
    SettingPin,
    Spot,
    WrittenNote,
)
from pedalsetter.analysis.errors import PlaceError
from pedalsetter.analysis.instrument.harp import MIDDLE, Foot, Letter, Position
from pedalsetter.analysis.instrument.respelling import Pitch, strings_of_pitch_class
from pedalsetter.analysis.naming.places import place_named
from pedalsetter.analysis.part import Event, HarpPart, Head, Place
from pedalsetter.analysis.pedal_plan import DecisionResult
from pedalsetter.analysis.planning.pins import Choice, Claim, Stand, beside
from pedalsetter.analysis.planning.two_pedals import are_neighbours
from pedalsetter.analysis.playing.moments import Moments, is_struck, place_of
from pedalsetter.analysis.playing.sustained import Keys, neighbours

__all__ = ["read_claims"]


def read_claims(
    decisions: Decisions,
    part: HarpPart,
    moments: Moments,
    graces: Mapping[str, int],
    afresh: Collection[int],
) -> tuple[tuple[Claim, ...], tuple[DecisionResult, ...]]:
    """The claims of all decisions, in their order, and the decisions that cannot hold at all.

    ``afresh`` names the movements whose first bar no repeat and no jump leads to.
    """
    return _Reader(part, moments, graces, afresh).read(decisions)


class _RefusedError(Exception):
    """Why a decision cannot hold."""


class _Reader:
    def __init__(
        self,
        part: HarpPart,
        moments: Moments,
        graces: Mapping[str, int],
        afresh: Collection[int],
    ) -> None:
        self._afresh = afresh
        self._part = part
        self._moments = moments
        self._graces = graces
        self._struck: dict[Place, list[tuple[Event, Head]]] = {}
        for event, head in part.notes():
            if is_struck(event):
                self._struck.setdefault(place_of(part, event, graces), []).append((event, head))
        self._grace_places = {place for place in self._struck if place.grace}
        self._stands: dict[tuple[Place, Letter], tuple[Stand, str]] = {}
        self._feet: dict[tuple[Place, Foot], tuple[Letter, str]] = {}
        self._barred: dict[str, tuple[frozenset[Choice], str]] = {}
        self._diagrams: dict[Place, tuple[bool, str]] = {}
        self._crossed: set[Letter] = set()
        self._decisions = NO_DECISIONS

    def read(self, decisions: Decisions) -> tuple[tuple[Claim, ...], tuple[DecisionResult, ...]]:
        claims: list[Claim] = []
        refused: list[DecisionResult] = []
        self._decisions = decisions
        # What is said of one note goes before what is said of many.
        notes_first = sorted(
            decisions.pins, key=lambda pin: isinstance(pin, RespellingPin) and pin.spot is None
        )
        order = {id(pin): number for number, pin in enumerate(decisions.pins)}
        found: dict[int, Claim] = {}
        for pin in notes_first:
            place: Place | None = None
            try:
                place = self._place(pin)
                claim = self._claim(pin, place)
                self._keep(claim)
            except PlaceError as error:
                mend = f". {error.mend}" if error.mend else ""
                mend = mend.replace("Say which with --movement", "Give the key 'movement'")
                refused.append(DecisionResult(str(pin), None, f"{error.what}{mend}".rstrip(".")))
            except _RefusedError as error:
                refused.append(DecisionResult(str(pin), place, str(error)))
            else:
                found[order[id(pin)]] = claim
        claims = [found[number] for number in sorted(found)]
        return tuple(claims), tuple(refused)

    def _place(self, pin: Pin) -> Place:
        match pin:
            case OpeningPin(movement=movement):
                return Place(self._first_bar(movement), Fraction(0))
            case FootPin():
                return Place(0, Fraction(0))
            case RespellingPin(spot=None):
                return Place(self._span(pin)[0], Fraction(0))
            case _:
                assert pin.spot is not None  # noqa: S101 - for the type checker
                return self._spot(pin.spot)

    def _first_bar(self, movement: int) -> int:
        numbers = sorted({bar.movement for bar in self._part.bars})
        if movement > len(numbers):
            raise _RefusedError(f"the score has no movement {movement}")
        number = numbers[movement - 1]
        return next(bar.index for bar in self._part.bars if bar.movement == number)

    def _spot(self, spot: Spot) -> Place:
        part = self._part
        if spot.piece is not None:
            number = spot.at.partition(":")[0].strip()
            pieces = [
                bar.index
                for bar in part.bars
                if bar.number == number
                and (spot.movement is None or bar.movement == spot.movement - 1)
            ]
            if spot.piece > len(pieces):
                raise _RefusedError(f"bar {number} has no piece {spot.piece}")
            only = pieces[spot.piece - 1]
            part = replace(
                part,
                bars=tuple(
                    bar if bar.index == only or bar.number != number else replace(bar, number="")
                    for bar in part.bars
                ),
            )
        place = place_named(part, spot.at, spot.movement)
        if spot.grace:
            place = replace(place, grace=-spot.grace)
            if place not in self._grace_places:
                raise _RefusedError("no such grace note stands there")
        return place

    def _span(self, pin: RespellingPin) -> tuple[int, int]:
        first, last = (
            place_named(self._part, bar, pin.movement).bar for bar in pin.bars or ("", "")
        )
        number = self._part.bars[last].number
        while last + 1 < len(self._part.bars) and self._part.bars[last + 1].number == number:
            last += 1
        if last < first:
            raise _RefusedError("its last bar comes before its first")
        return first, last

    def _claim(self, pin: Pin, place: Place) -> Claim:
        told = str(pin)
        match pin:
            case OpeningPin(pedals=pedals):
                movement = self._part.bars[place.bar].movement
                stands: tuple[tuple[Place, Letter, Stand], ...] = ()
                if movement in self._afresh:
                    # There nothing moves before the first notes, so they find the opening.
                    first = self._moments.places[self._moments.first_of_bar[place.bar]]
                    stands = _standing(first, pedals)
                return Claim(told, place, stands, opening=(movement, pedals))
            case SettingPin(pedals=pedals):
                return Claim(told, place, _standing(place, pedals))
            case ChangePin(letter=letter, position=position, needed=needed):
                goal = None if needed is None else self._spot(needed)
                if goal is not None and goal < place:
                    raise _RefusedError("it stands after what needs it")
                stand = (place, letter, Stand(position, True))
                return Claim(told, place, (stand,), needed=goal)
            case RespellingPin():
                return Claim(told, place, barred=self._respelled(pin, place))
            case FootPin(letter=letter, foot=foot):
                return Claim(told, place, crossed=letter if foot is not letter.foot else None)
            case DiagramPin(wanted=wanted):
                return Claim(told, place, diagram=wanted)

    def _respelled(
        self, pin: RespellingPin, place: Place
    ) -> tuple[tuple[str, frozenset[Choice]], ...]:
        found: dict[str, frozenset[Choice]] = {}
        if pin.neighbour:
            return self._neighbours(pin, place)
        if pin.spot is not None:
            for _, head in self._named(pin, place):
                if head.tie_stop:
                    raise _RefusedError("the note is tied over; name it where it is played")
                barred = _barred(pin, head.pitch)
                if isinstance(barred, str):
                    raise _RefusedError(barred)
                found[head.id] = barred
            return tuple(found.items())
        first, last = self._span(pin)
        reasons: list[str] = []
        for event, head in self._part.notes():
            if not first <= event.bar <= last or not is_struck(event) or head.tie_stop:
                continue
            if not _is_named(pin, event, head) or head.id in self._barred:
                continue
            barred = _barred(pin, head.pitch)
            if isinstance(barred, str):
                reasons.append(barred)
            else:
                found[head.id] = barred
        if not found and pin.note is not None:
            raise _RefusedError(reasons[0] if reasons else f"no {pin.note} is played there")
        return tuple(found.items())

    def _neighbours(
        self, pin: RespellingPin, place: Place
    ) -> tuple[tuple[str, frozenset[Choice]], ...]:
        found: dict[str, frozenset[Choice]] = {}
        reasons: list[str] = []
        keys = Keys(self._part)
        for event, head in self._named(pin, place):
            if head is not event.heads[-1]:
                continue
            for pitch, _ in neighbours(event, keys):
                barred = _barred(pin, pitch)
                if isinstance(barred, str):
                    reasons.append(barred)
                else:
                    found[beside(head.id)] = barred
        if not found:
            raise _RefusedError(reasons[0] if reasons else f"{pin.note} has no ornament")
        return tuple(found.items())

    def _named(self, pin: RespellingPin, place: Place) -> list[tuple[Event, Head]]:
        struck = self._struck.get(place, [])
        found = [(event, head) for event, head in struck if _is_named(pin, event, head)]
        if found:
            return found
        others = list(dict.fromkeys(str(head.pitch) for _, head in struck))
        rest = f", but {', '.join(others)}" if others else "; nothing is"
        raise _RefusedError(f"no {pin.note} is played there{rest}")

    def _keep(self, claim: Claim) -> None:
        """Remember a claim, unless it contradicts one remembered before."""
        for place, letter, stand in claim.stands:
            known = self._stands.get((place, letter))
            if known is not None and known[0].position is not stand.position:
                raise _RefusedError(f"it contradicts '{known[1]}'")
            foot = letter.foot if letter not in self._crossed else letter.foot.other
            moving = self._feet.get((place, foot))
            if (
                stand.moved
                and moving is not None
                and moving[0] is not letter
                and not self._may_share(place, letter, moving[0], stand.position)
            ):
                raise _RefusedError(
                    f"the {foot.value} foot cannot move two pedals at once (see '{moving[1]}')"
                )
        for head, choices in claim.barred:
            other = self._barred.get(head)
            if other is not None and other[0] != choices:
                raise _RefusedError(f"it contradicts '{other[1]}'")
        if claim.diagram is not None:
            diagram = self._diagrams.get(claim.place)
            if diagram is not None and diagram[0] is not claim.diagram:
                raise _RefusedError(f"it contradicts '{diagram[1]}'")
            self._diagrams[claim.place] = (claim.diagram, claim.told)
        for place, letter, stand in claim.stands:
            self._stands[place, letter] = (stand, claim.told)
            foot = letter.foot if letter not in self._crossed else letter.foot.other
            if stand.moved:
                self._feet[place, foot] = (letter, claim.told)
        for head, choices in claim.barred:
            self._barred[head] = (choices, claim.told)
        if claim.crossed is not None:
            self._crossed.add(claim.crossed)

    def _may_share(self, place: Place, letter: Letter, other: Letter, position: Position) -> bool:
        """Whether two letters may move at one place.

        A section's diagram shows all that move with it; else the feet must have freedoms.
        """
        if place == self._moments.places[self._moments.first_of_bar[place.bar]] and any(
            section.bar == place.bar for section in self._part.sections
        ):
            return True
        crossing = self._decisions.crossing and not {letter, other}.isdisjoint(MIDDLE)
        two = self._decisions.two_pedals and are_neighbours(letter, other)
        return bool(crossing or (two and self._stands[place, other][0].position is position))


def _standing(place: Place, pedals: Sequence[Choice]) -> tuple[tuple[Place, Letter, Stand], ...]:
    return tuple((place, letter, Stand(position, False)) for letter, position in pedals)


def _is_named(pin: RespellingPin, event: Event, head: Head) -> bool:
    if pin.staff is not None and event.staff != pin.staff:
        return False
    return pin.note is None or _is(pin.note, head.pitch)


def _is(note: WrittenNote, pitch: Pitch) -> bool:
    same = note.letter is pitch.letter and note.alter == pitch.alter
    return same and note.octave in (None, pitch.octave)


def _barred(pin: RespellingPin, pitch: Pitch) -> frozenset[Choice] | str:
    """The strings that the note may not have, or why the decision makes no sense for it."""
    choices = frozenset(strings_of_pitch_class(pitch.midi))
    own = None if abs(pitch.alter) == 2 else (pitch.letter, Position(pitch.alter))
    if not pin.wanted:
        if own is None:
            return f"{pitch.name} has no string of its own"
        return choices - {own}
    others = choices - {own}
    if not others:
        return f"{pitch.name} is sounded by no other letter"
    if pin.played is not None:
        if pin.played not in others:
            letter, position = pin.played
            return f"{letter.value}{position.sign} does not sound {pitch.name}"
        others = frozenset((pin.played,))
    return choices - others
