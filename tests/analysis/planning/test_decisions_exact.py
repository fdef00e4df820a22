"""Plans around decisions are the cheapest: held against an independent exact solver.

The solver (OR-tools CP-SAT, ``exact_solver``) knows nothing of the planner: a decided setting,
change or string is one more constraint of its model.
"""

from __future__ import annotations

from fractions import Fraction
from random import Random

import pytest
from exact_solver import Pinned, least_points
from replay import unfold
from seeded_parts import small_part

from pedalsetter.analysis.decisions.values import (
    ChangePin,
    Decisions,
    OpeningPin,
    Pin,
    RespellingPin,
    SettingPin,
    Spot,
    WrittenNote,
)
from pedalsetter.analysis.instrument.harp import LETTERS, Position
from pedalsetter.analysis.instrument.respelling import strings_for
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.planning import Weights, plan_changes

POINTS = Weights().change


def spot(part: HarpPart, place: Place) -> Spot:
    """A place as a file of decisions names it."""
    return Spot(f"{part.printed_bar(place.bar)}:{part.printed_beat(place)}")


def some_decisions(part: HarpPart, seed: int) -> list[Pin]:
    """Decisions drawn without a plan in mind: many of them cannot hold."""
    random = Random(seed)  # noqa: S311 - music, not secrets
    pins: list[Pin] = []
    for _ in range(random.randint(1, 3)):
        bar = random.choice(part.bars)
        place = Place(bar.index, Fraction(random.randrange(int(bar.length))))
        letter, position = random.choice(LETTERS), random.choice(tuple(Position))
        kind = random.randrange(4)
        if kind == 0:
            pins.append(SettingPin(spot(part, place), ((letter, position),)))
        elif kind == 1:
            pins.append(ChangePin(spot(part, place), letter, position))
        elif kind == 2:
            pins.append(OpeningPin(((letter, position),)))
        else:
            struck = [
                (event, head)
                for event, head in part.notes()
                if not head.tie_stop and len(strings_for(head.pitch)) > 1
            ]
            if struck:
                event, head = random.choice(struck)
                pitch = head.pitch
                note = WrittenNote(pitch.letter, pitch.alter, pitch.octave)
                pins.append(RespellingPin(spot(part, part.place_of(event)), note=note))
    return pins


def for_the_solver(part: HarpPart, pins: list[Pin]) -> Pinned:
    """The same decisions as constraints of the model."""
    bars = {bar.number: bar for bar in part.bars}
    pinned = Pinned()

    def at(where: Spot) -> tuple[int, Fraction]:
        number, beat = where.at.split(":")
        bar = bars[number]
        half = beat.endswith("½")
        count = (
            Fraction(beat.removesuffix("½")) + Fraction(int(half), 2)
            if "+" not in beat
            else (sum(map(Fraction, beat.split("+")), Fraction(0)))
        )
        return bar.index, (count - 1) * bar.time.count_unit

    for pin in pins:
        if isinstance(pin, SettingPin):
            pinned.standing += [(*at(pin.spot), *pedal) for pedal in pin.pedals]
        elif isinstance(pin, ChangePin):
            pinned.moving.append((*at(pin.spot), pin.letter, pin.position))
        elif isinstance(pin, OpeningPin):
            pinned.opening |= dict(pin.pedals)
            if list(unfold(part)).count(0) == 1:
                # The opening is what the first notes find, unless a repeat leads back to them.
                pinned.standing += [(0, Fraction(0), *pedal) for pedal in pin.pedals]
        elif isinstance(pin, RespellingPin) and pin.spot is not None:
            for event, head in part.notes():
                place = part.place_of(event)
                if (place.bar, place.offset) != at(pin.spot) or head.tie_stop:
                    continue
                written = WrittenNote(head.pitch.letter, head.pitch.alter, head.pitch.octave)
                if written == pin.note:
                    others = [
                        one.letter
                        for one in strings_for(head.pitch)
                        if one.letter is not head.pitch.letter
                    ]
                    pinned.strings[head.id] = others[0]
    return pinned


@pytest.mark.parametrize("seed", range(300, 324))
def test_no_plan_that_honours_the_decisions_is_cheaper(seed: int) -> None:
    """For the strings that the plan gives, CP-SAT finds nothing cheaper that holds to them too."""
    part = small_part(seed, most_onsets=7)
    pins = some_decisions(part, seed)
    plan = plan_changes(part, decisions=Decisions(tuple(pins)))
    refused = {result.told for result in plan.decisions if result.refused}
    held = [pin for pin in pins if str(pin) not in refused]
    points = int(plan.cost * POINTS)
    strings = {note: use.sounding for note, use in plan.strings.items()}
    pinned = for_the_solver(part, held)

    assert least_points(part, Weights(), strings, known=points, pinned=pinned) == points


@pytest.mark.parametrize("seed", range(600, 612))
def test_no_strings_are_cheaper_either(seed: int) -> None:
    """With the strings free too, the plan is the cheapest that holds to all of it, and says so."""
    part = small_part(seed, most_onsets=5)
    pins = some_decisions(part, seed)
    plan = plan_changes(part, decisions=Decisions(tuple(pins)))
    refused = {result.told for result in plan.decisions if result.refused}
    pinned = for_the_solver(part, [pin for pin in pins if str(pin) not in refused])
    points = int(plan.cost * POINTS)
    least = least_points(part, Weights(), known=points, pinned=pinned)

    assert least == points
    assert plan.proved_optimal
