"""What the musician decides: the plan honours it at least cost, or says why it cannot."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from decided_plans import planned, refusals, told
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from part_builder import build_part
from part_strategies import parts
from replay import replay

from pedalsetter.analysis.decisions.values import (
    ChangePin,
    Decisions,
    OpeningPin,
    Pin,
    RespellingPin,
    SettingPin,
    Spot,
)
from pedalsetter.analysis.errors import DecisionsError
from pedalsetter.analysis.instrument.harp import Foot, Setting
from pedalsetter.analysis.marks.marking import Origin, place_marks
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import FindingKind, PedalPlan
from pedalsetter.analysis.planning import plan_as_written, plan_changes
from pedalsetter.analysis.playing.clock import Clock
from pedalsetter.analysis.playing.moments import find_moments, number_graces
from pedalsetter.analysis.reading import read_part

TUNE = build_part("C4/q D4/q E4/q F4/q", "G4/q A4/q F#4/q G4/q", "G4/w", "F4/q C#4/q C4/q B4/q")
"""F♯ is needed in bar 2, beat 3, and F♮ again in bar 4."""

_EXAMPLES = Path(__file__).resolve().parents[3] / "examples"


def test_nothing_decided_is_the_plain_plan() -> None:
    """Without decisions, or with an empty file, nothing changes."""
    assert planned(TUNE, "") == plan_changes(TUNE)
    assert told(TUNE, plan_changes(TUNE)) == ["F♯ 2:2", "F♮ 3:4", "C♯ 4:1", "C♮ 4:3"]


@pytest.mark.parametrize(
    ("text", "change"),
    [
        ('change = [{ at = "2:1", pedal = "F♯" }]', "F♯ 2:1"),
        ('change = [{ at = "2:3", pedal = "F♯" }]', "F♯ 2:3"),
        ('change = [{ at = "2:1½", pedal = "F♯" }]', "F♯ 2:1½"),
        ('change = [{ at = "2:1", pedal = "F♯", needed = { at = "2:3" } }]', "F♯ 2:1"),
        ('change = [{ at = "3:2", pedal = "A♭" }]', "A♭ 3:2"),
    ],
)
def test_a_decided_change_is_printed_exactly_there(text: str, change: str) -> None:
    """On a beat, on the note itself, between the beats, and where no note asks for it."""
    plan = planned(TUNE, text)

    assert refusals(plan) == []
    assert change in told(TUNE, plan)
    assert sum(one.startswith(change[0]) for one in told(TUNE, plan)) <= 2
    assert next(one for one in plan.changes if one.decided).text == change.split()[0]


def test_the_rest_is_the_best_around_it() -> None:
    """F♯ made earlier than the plan would have it costs a little; nothing else moves."""
    plan = planned(TUNE, 'change = [{ at = "2:1", pedal = "F♯" }]')

    assert told(TUNE, plan) == ["F♯ 2:1", "F♮ 3:4", "C♯ 4:1", "C♮ 4:3"]
    assert plan.cost > plan_changes(TUNE).cost


def test_a_decided_setting_holds_when_its_notes_are_struck() -> None:
    """All seven pedals in bar 3, beat 2: what no note asks for is set too, and set back."""
    plan = planned(TUNE, 'setting = [{ at = "3:2", pedals = "D C B E F♯ G A♯" }]')

    assert refusals(plan) == []
    assert plan.setting_at(Place(2, Fraction(1))) == Setting.parse("D C B E F♯ G A♯")
    assert "A♯ 3:2" in told(TUNE, plan)


def test_a_decided_setting_may_respell_what_it_leaves_no_letter_for() -> None:
    """With F♮ decided, the written F♯ is played as G♭ rather than lost."""
    plan = planned(TUNE, 'setting = [{ at = "2:3", pedals = "F" }]')

    assert refusals(plan) == []
    assert [use.sounding.name for use in plan.respelled if use.sounding] == ["G♭"]


def test_a_decided_opening() -> None:
    """A♯ to begin with, though no note asks for it; the A of bar 2 then costs a change."""
    plan = planned(TUNE, 'opening = [{ pedals = "A♯" }]')

    assert plan.movements[0].opening == Setting.parse("D C B E F G A♯")
    assert "A♮ 2:1" in told(TUNE, plan)
    assert refusals(plan) == []


def test_each_movement_has_an_opening_of_its_own() -> None:
    """The second movement's opening is named by its number."""
    part = build_part("C4/w", "D4/w", "C4/w", movements=(1,))
    plan = planned(part, 'opening = [{ movement = 2, pedals = "B♭" }]')

    assert [str(one.opening)[6:8] for one in plan.movements] == ["B♮", "B♭"]
    assert refusals(planned(part, 'opening = [{ movement = 3, pedals = "B♭" }]')) == [
        "the score has no movement 3"
    ]


def test_bars_of_two_movements_are_told_apart() -> None:
    """Where two movements have a bar 1, the decision must say which."""
    part = _renumbered(build_part("C4/w", "D4/w", movements=(1,)), "1")

    assert refusals(planned(part, 'change = [{ at = "1:3", pedal = "F♯" }]')) == [
        "movements 1, 2 each have a bar 1. Give the key 'movement'"
    ]
    plan = planned(part, 'change = [{ at = "1:3", movement = 2, pedal = "F♯" }]')
    assert refusals(plan) == []
    assert [(change.place, change.text) for change in plan.changes] == [
        (Place(1, Fraction(2)), "F♯")
    ]


def _renumbered(part: HarpPart, number: str) -> HarpPart:
    return replace(part, bars=tuple(replace(bar, number=number) for bar in part.bars))


def test_a_piece_of_a_split_bar() -> None:
    """Where a bar is split in two of one number, ``piece`` tells them apart."""
    part = _renumbered(build_part("C4/h", "D4/h", time="2/4"), "1")
    plan = planned(part, 'change = [{ at = "1:2", piece = 2, pedal = "F♯" }]')

    assert [change.place for change in plan.changes] == [Place(1, Fraction(1))]
    assert refusals(planned(part, 'diagram = [{ at = "1", piece = 3 }]')) == [
        "bar 1 has no piece 3"
    ]


def test_a_change_before_a_grace_note() -> None:
    """``grace = 1`` is the last grace note before the beat."""
    part = build_part("C4/h F#4/eg G4/eg C4/h")
    plan = planned(part, 'change = [{ at = "1:3", grace = 2, pedal = "F♯" }]')

    assert [change.place for change in plan.changes] == [Place(0, Fraction(2), -2)]
    assert refusals(planned(part, 'change = [{ at = "1:3", grace = 3, pedal = "F♯" }]')) == [
        "no such grace note stands there"
    ]


def test_a_note_on_another_letter_and_one_as_written() -> None:
    """C♯ is played on D♭ where that is wanted; F♯ is not, though the foot is too slow for it."""
    plan = planned(TUNE, 'respelling = [{ at = "4:2", note = "C♯4" }]')
    assert {use.sounding.name for use in plan.respelled if use.sounding} == {"D♭"}
    assert refusals(plan) == []

    fast = build_part("F4/s F#4/s F4/s r/s r/h.", tempo=100)
    assert len(plan_changes(fast).respelled) == 1
    for text in ('respelling = [{ bars = "1", wanted = false }]', 'respell = "never"'):
        plan = planned(fast, text)
        assert plan.respelled == ()
        assert any(finding.kind is FindingKind.FOOT_TOO_FAST for finding in plan.findings)


def test_one_note_goes_before_a_whole_span() -> None:
    """What is said of one note holds against what is said of its bars."""
    text = """
        respelling = [
            { bars = "1-4", wanted = false },
            { at = "4:2", note = "C♯4", played = "D♭" },
        ]
    """
    plan = planned(TUNE, text)

    assert refusals(plan) == []
    assert [use.sounding.name for use in plan.respelled if use.sounding] == ["D♭"]


def test_all_notes_of_a_span_on_other_letters() -> None:
    """Every F of bars 1 to 2 is played on E♯, and no other note."""
    plan = planned(TUNE, 'respelling = [{ bars = "1..2", note = "F" }]')

    assert [(str(use.written), use.sounding.name) for use in plan.respelled if use.sounding] == [
        ("F4", "E♯")
    ]


def test_never_loses_a_note_rather_than_respell_it() -> None:
    """F and F♯ at once: one of them is lost if no letter may be changed, and a finding says so."""
    part = build_part("F4+F#4/w")

    assert len(plan_changes(part).respelled) == 1
    strict = planned(part, 'respell = "never"')
    assert sum(use.sounding is None for use in strict.strings.values()) == 1
    assert any(finding.kind is FindingKind.TWO_POSITIONS for finding in strict.findings)


def test_a_double_alteration_is_played_on_its_equivalent_in_any_case() -> None:
    """No pedal reaches F♯♯."""
    plan = planned(build_part("F##4/w"), 'respell = "never"')

    assert [use.sounding.name for use in plan.respelled if use.sounding] == ["G♮"]


def test_freely_respells_to_save_a_change() -> None:
    """C, C♯, C as C, D♭, C needs no pedal at all."""
    part = build_part("C4/h C#4/h", "C4/w")

    assert len(plan_changes(part).changes) == 2
    plan = planned(part, 'respell = "freely"')
    assert plan.changes == ()
    assert [use.sounding.name for use in plan.respelled if use.sounding] == ["D♭"]


def test_the_left_foot_on_e() -> None:
    """Two changes of the right foot at one note are hurried; with E on the left foot they are not.

    Crossing to the neighbour pedal is common practice, no source.
    """
    part = build_part("E4+A4/q Eb4+Ab4/q r/h", tempo=200)
    plan = planned(part, 'foot = [{ pedal = "E", foot = "left" }]')

    feet = {change.letter.value: change.foot for change in plan.changes}
    assert feet == {"E": Foot.LEFT, "A": Foot.RIGHT}
    assert len({change.place for change in plan.changes}) == 1
    assert plan.cost < plan_changes(part).cost


def test_the_times_of_the_feet() -> None:
    """A slower player is hurried where another is not; times that contradict are refused."""
    part = build_part("F4/q F#4/q r/h", tempo=100)

    assert plan_changes(part).findings == ()
    slow = planned(part, "[times]\ncomfortable = 1\nleast = 0.5")
    assert [finding.kind for finding in slow.findings] == [FindingKind.FOOT_HURRIED]
    with pytest.raises(DecisionsError, match="contradict each other"):
        planned(part, "[times]\nleast = 2")


def test_diagrams_wanted_and_unwanted() -> None:
    """One is added in bar 3, and none taken away from the beginning."""
    plan = planned(TUNE, 'diagram = [{ at = "3" }, { at = "1", wanted = false }]')
    marks = place_marks(TUNE, plan)

    assert [(one.place.bar, one.origin) for one in marks.diagrams] == [
        (0, Origin.PLANNED),
        (2, Origin.USER),
    ]
    assert refusals(plan) == ["a movement begins there, and its first setting must be printed"]
    part = build_part("C4/w", "C#4/w", "r/w", "r/w", "r/w", "r/w", "C#4/w")
    assert len(place_marks(part, plan_changes(part)).diagrams) == 2
    plan = planned(part, 'diagram = [{ at = "7", wanted = false }]')
    assert len(place_marks(part, plan).diagrams) == 1


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ('change = [{ at = "9:1", pedal = "F♯" }]', "there is no bar 9. Its bars go from 1 to 4"),
        (
            'change = [{ at = "2:7", pedal = "F♯" }]',
            "there is no beat 7, the bar has beats 1 to 4. Beats are counted in the lower figure "
            "of the signature",
        ),
        ('change = [{ at = "2:1", pedal = "F" }]', "the pedal stands at F♮ already"),
        (
            'change = [{ at = "2:4", pedal = "F♯", needed = { at = "2:3" } }]',
            "it stands after what needs it",
        ),
        (
            'change = [{ at = "2:1", pedal = "F♯", needed = { at = "3:3" } }]',
            "bar 3, beat 3 is not the first to need F♯ after it",
        ),
        ('setting = [{ at = "2:1", pedals = "G♯" }]', "G4 in bar 2, beat 1 could not sound"),
        ('opening = [{ pedals = "C♯" }]', None),
        (
            'respelling = [{ at = "2:3", note = "F4" }]',
            "no F4 is played there, but F♯4",
        ),
        ('respelling = [{ at = "3:2", note = "F4" }]', "no F4 is played there; nothing is"),
        ('respelling = [{ at = "2:1", note = "G4" }]', "G is sounded by no other letter"),
        (
            'respelling = [{ at = "2:3", note = "F♯4", played = "A♭" }]',
            "A♭ does not sound F♯",
        ),
        ('respelling = [{ bars = "3-2" }]', "its last bar comes before its first"),
        (
            'change = [{ at = "3", pedal = "A♭" }, { at = "3", pedal = "E♭" }]',
            "the right foot cannot move two pedals at once (see 'change A♭ in bar 3')",
        ),
        (
            'setting = [{ at = "3", pedals = "A♭" }, { at = "3", pedals = "A♯" }]',
            "it contradicts 'setting in bar 3: A♭'",
        ),
    ],
)
def test_what_cannot_hold_is_told_and_left_aside(text: str, reason: str | None) -> None:
    """No such bar, beat or note, one against another, against the notes: each with its reason."""
    plan = planned(TUNE, text)

    if reason is not None:
        assert refusals(plan) == [reason]
    assert sum(bool(result.refused) for result in plan.decisions) == (reason is not None)
    alone = [result for result in plan.decisions if not result.refused]
    if not alone:
        assert plan.changes == plan_changes(TUNE).changes


def test_no_pedal_moves_during_a_glissando() -> None:
    """A change decided for the middle of a glissando is refused, if its strings are to come."""
    part = build_part("C4/hgl< C5/hgl>", "F#4+D#4/w")
    plan = planned(part, 'change = [{ at = "1:2", pedal = "F♯" }]')

    assert len(refusals(plan)) == 1
    assert plan.changes == plan_changes(part).changes
    assert not refusals(planned(part, 'change = [{ at = "1:2", pedal = "D♯" }]'))
    assert not refusals(planned(part, 'change = [{ at = "1:3", pedal = "F♯" }]'))


def test_a_trill_holds_its_pedals() -> None:
    """D is trilled with E: neither of the two can be decided otherwise meanwhile."""
    plan = planned(build_part("D4/wtr", "C4/w"), 'setting = [{ at = "1:3", pedals = "E♭" }]')

    assert refusals(plan) == ["a trill, tremolo or glissando holds the pedal elsewhere"]


def test_the_first_of_two_that_exclude_each_other_holds() -> None:
    """Order decides, and what is held is told as held."""
    text = """
        change = [
            { at = "2:1", pedal = "F♯", needed = { at = "2:3" } },
            { at = "2:2", pedal = "F♯" },
        ]
    """
    plan = planned(TUNE, text)

    assert [bool(result.refused) for result in plan.decisions] == [False, True]
    assert "F♯ 2:1" in told(TUNE, plan)


def test_a_note_tied_over_is_named_where_it_is_struck() -> None:
    """The second head of a tie is no note to respell."""
    part = build_part("C#4/w~", "C#4/w")

    assert refusals(planned(part, 'respelling = [{ at = "2", note = "C♯4" }]')) == [
        "the note is tied over; name it where it is played"
    ]


def _spot(part: HarpPart, place: Place) -> Spot:
    return Spot(
        f"{part.printed_bar(place.bar)}:{part.printed_beat(Place(place.bar, place.offset))}",
        grace=-place.grace,
        piece=None,
    )


def _silent(plan: PedalPlan) -> int:
    return sum(use.sounding is None for use in plan.strings.values())


def _without_time(plan: PedalPlan) -> bool:
    return any("no moment is left" in finding.what for finding in plan.findings)


@settings(
    max_examples=20,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
@given(parts(most_bars=3), st.data())
def test_decisions_drawn_from_another_plan_are_honoured(
    part: HarpPart, data: st.DataObject
) -> None:
    """What holds in one valid plan can be decided, and the marks then give every playable note.

    The best plan with decisions never costs less than the best without. Places between the beats
    where nothing stands are left out: only a decision may put a mark there, so that the plan
    without decisions is none of those compared.
    """
    other = plan_as_written(part)
    best = plan_changes(part)
    assume(not _without_time(other) and not _without_time(best))
    assume(_silent(other) == _silent(best))
    moments = set(find_moments(part, Clock(part), number_graces(part)).places)
    pins: list[Pin] = [
        ChangePin(_spot(part, change.place), change.letter, change.new)
        for change in other.changes
        if change.place in moments and data.draw(st.booleans())
    ]
    pins += [
        OpeningPin(tuple(movement.opening), movement.movement + 1)
        for movement in other.movements
        if data.draw(st.booleans())
    ]
    for bar in data.draw(st.sets(st.sampled_from(part.bars), max_size=2)):
        place = Place(bar.index, Fraction(0))
        pedals = [pedal for pedal in other.setting_at(place) if data.draw(st.booleans())]
        if pedals:
            pins.append(SettingPin(_spot(part, place), tuple(pedals)))
    plan = plan_changes(part, decisions=Decisions(tuple(pins)))

    assert [result.refused for result in plan.decisions if result.refused] == []
    made = {(change.place, change.letter, change.new) for change in plan.changes if change.decided}
    assert len(made) == sum(isinstance(pin, ChangePin) for pin in pins)
    assert replay(part, plan, place_marks(part, plan)) == []
    assert not best.proved_optimal or plan.cost >= best.cost


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(parts(most_bars=2), st.data())
def test_whatever_is_decided_the_plan_comes_out(part: HarpPart, data: st.DataObject) -> None:
    """Decisions drawn blindly: each is honoured or told, and the marks are right either way."""
    pins: list[Pin] = []
    for bar in data.draw(st.lists(st.sampled_from(part.bars), min_size=1, max_size=4)):
        place = Place(bar.index, Fraction(data.draw(st.integers(0, int(bar.length) * 2 - 1)), 2))
        setting = data.draw(st.sampled_from(tuple(Setting.every())))
        pedals = tuple(pedal for pedal in setting if data.draw(st.booleans())) or tuple(setting)
        letter, position = pedals[0]
        spot = _spot(part, place)
        drawn: list[Pin] = [
            SettingPin(spot, pedals[:2]),
            ChangePin(spot, letter, position),
            OpeningPin(pedals),
            RespellingPin(None, (bar.number, bar.number), wanted=data.draw(st.booleans())),
        ]
        pins.append(data.draw(st.sampled_from(drawn)))
    plan = plan_changes(part, decisions=Decisions(tuple(pins)))

    assert len(plan.decisions) == len(pins)
    assert replay(part, plan, place_marks(part, plan)) == []
    refused = [result for result in plan.decisions if result.refused]
    findings = [finding for finding in plan.findings if "cannot hold: " in finding.what]
    assert len(findings) == len(refused)


def test_what_one_diagram_tells_can_all_be_decided() -> None:
    """Several pedals of one foot are set with the diagram of a section, and may be decided so."""
    part = read_part(_EXAMPLES / "orchestral-nocturne.musicxml")
    best = plan_changes(part)
    sections = {section.bar for section in part.sections}
    told = [change for change in best.changes if change.place.bar in sections]
    assert max(Counter((change.place, change.foot) for change in told).values()) > 1
    pins = tuple(ChangePin(_spot(part, one.place), one.letter, one.new) for one in told)
    plan = plan_changes(part, decisions=Decisions(pins))

    assert [result.refused for result in plan.decisions if result.refused] == []
    assert plan.cost == best.cost
    assert replay(part, plan, place_marks(part, plan)) == []
