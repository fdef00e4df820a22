"""The stretches of a part set one after the other, with what a move costs at each place."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace

from pedalsetter.analysis.part import Place
from pedalsetter.analysis.planning.form import Form
from pedalsetter.analysis.planning.junctions import Route, Stretch
from pedalsetter.analysis.planning.rests import Rests
from pedalsetter.analysis.planning.weights import Weights
from pedalsetter.analysis.playing.moments import Moments, Strength

__all__ = ["lay_form"]

_MOST_TURNS = 4
"""One foot has four pedals, so no more of its moves can share a gap."""


def lay_form(
    route: Route,
    moments: Moments,
    bar_ends: Sequence[int],
    sounding: Sequence[bool],
    until: Sequence[int],
    afresh: Collection[int],
    sections: AbstractSet[int],
    decided: Collection[Place],
    weights: Weights,
) -> Form:
    """Set the stretches one after the other; ``bar_ends`` are microseconds on the page.

    ``sounding`` tells at which moments the hands play, and ``until`` how long what begins there is
    written to sound, microseconds on the page. At junctions ``afresh`` pedals are set as the first
    notes want them. At the barlines of bars that begin ``sections`` a diagram stands. Where it
    tells what is moved at the end of all that leads to it alone, nothing moves after the barline
    but where that is ``decided``.
    """
    form = Form()
    reserved: set[int] = set()
    entries = [one.entry for one in route.stretches]
    exits = [one.exit for one in route.stretches]
    led = _led(route, sections)
    for number, stretch in enumerate(route.stretches):
        begin = len(form.moments)
        form.begins.append(begin)
        _lay(form, stretch, moments, bar_ends)
        length = len(form.moments) - begin
        form.stretch_of.extend([number] * length)
        form.exits.append(stretch.exit)
        last = stretch.exit in route.ends
        form.capacities.extend(
            _capacity(form, begin, place, moments, last) for place in range(begin, begin + length)
        )
        if (
            stretch.entry in led
            and entries.count(stretch.entry) == 1
            and moments.places[form.moments[begin]] not in decided
        ):
            form.capacities[begin] = 0
        prices = [
            weights.after_last
            if moment < 0
            else _mark_price(moments, moment, weights) + weights.under_notes * sounding[moment]
            for moment in form.moments[begin:]
        ]
        ways = exits.count(stretch.exit) if stretch.exit in led else 0
        # Where other ways lead on without a diagram, it cannot tell what has to stand on all.
        own = sections - {stretch.bars[0]} if stretch.entry not in led else sections
        rests = Rests(form, begin, moments, sounding, until, own, ways, weights)
        rests.price(prices)
        if length > 1:
            # Within a movement a line begins only after a repeat or jump; where the pedals are set
            # afresh nothing moves at its first place.
            prices[0] += weights.at_turn
        for at in range(length - 2, -1, -1):
            if moments.strengths[form.moments[begin + at]] is Strength.BETWEEN:
                # As a change that shares the gap before the next place.
                reserved.add(begin + at)
                prices[at] += prices[at + 1] + weights.between * (at + 2 < length)
        form.place_prices.extend(prices)
    form.begins.append(len(form.moments))
    _remember(form, route, afresh)
    place_of = {moment: place for place, moment in enumerate(form.moments) if moment >= 0}
    return replace(form, reserved=frozenset(reserved), place_of=place_of)


def _led(route: Route, sections: AbstractSet[int]) -> set[int]:
    """The junctions after which a diagram stands whatever comes next.

    It shows what is played from there, so that each way in may come with other pedals: a letter
    that only sets back before a repeat what its diagram tells anyway would be read in vain.
    """
    found = {one.entry for one in route.stretches} & {one.exit for one in route.stretches}
    found -= {one.entry for one in route.stretches if one.bars[0] not in sections}
    return found - route.ends


def _lay(form: Form, stretch: Stretch, moments: Moments, bar_ends: Sequence[int]) -> None:
    """Add the moments of a stretch, and its end."""
    shift = -moments.microseconds[moments.first_of_bar[stretch.bars[0]]]
    end = time = 0
    for place, bar in enumerate(stretch.bars):
        if place and bar != stretch.bars[place - 1] + 1:
            begin = bar_ends[bar - 1] if bar else 0
            shift = end - begin
        for index in moments.of_bar(bar):
            time = max(0, moments.microseconds[index] + shift)
            form.moments.append(index)
            form.times.append(time)
            form.ends.append(False)
        end = bar_ends[bar] + shift
    form.moments.append(-1)
    form.times.append(max(end, time))
    form.ends.append(True)


def _mark_price(moments: Moments, moment: int, weights: Weights) -> int:
    by_strength = {
        Strength.BARLINE: 0,
        Strength.BEAT: weights.beat,
        Strength.OFF_BEAT: weights.off_beat,
        Strength.FINE: weights.off_beat + weights.fine,
        Strength.GRACE: weights.at_grace,
        Strength.BETWEEN: 0,
    }
    graces = weights.after_grace * moments.ends_graces(moment)
    return by_strength[moments.strengths[moment]] + graces


def _capacity(
    form: Form,
    begin: int,
    place: int,
    moments: Moments,
    last: bool,
) -> int:
    moment = form.moments[place]
    if moment < 0:
        if last or place == begin or form.times[place - 1] >= form.times[place]:
            return 0
        return _MOST_TURNS
    if place == begin or moments.places[form.moments[place - 1]].grace:
        # No mark can stand before the first moment, or between a grace note and the next.
        return 1
    return _MOST_TURNS


def _remember(form: Form, route: Route, afresh: Collection[int]) -> None:
    """Find out what is remembered along each stretch, and how one leads to the next."""
    stretches = route.stretches
    later: list[set[int]] = [set()]
    for stretch in reversed(stretches):
        later.append(later[-1] | {stretch.entry, stretch.exit})
    later.reverse()
    seen: set[int] = set()
    for number, stretch in enumerate(stretches):
        seen.add(stretch.entry)
        ahead = (later[number + 1] | {stretch.exit}) & seen
        form.open.append(tuple(sorted(ahead - set(afresh) - set(route.ends))))
        seen.add(stretch.exit)
    form.open.append(())
    for number in range(-1, len(stretches)):
        held = form.open[number] if number >= 0 else ()
        leave = stretches[number].exit if number >= 0 else -1
        free = number < 0 or leave in route.ends
        slot = held.index(leave) if leave in held else -1
        if number + 1 == len(stretches):
            form.crossings.append((free, slot, -3, -1, ()))
            continue
        entry = stretches[number + 1].entry
        if entry in afresh:
            begin = -3
        elif entry == leave:
            begin = -1
        else:
            begin = held.index(entry) if entry in held else -4
        codes = tuple(
            -1 if one == leave else held.index(one) if one in held else -2
            for one in form.open[number + 1]
        )
        form.crossings.append((free, slot, begin, entry, codes))
