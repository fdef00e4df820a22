"""Ending a search early: it reaches the search that matters, and a plan comes out."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from pedalsetter.analysis.patience import (
    OutOfTime,
    SearchEnded,
    begin_anew,
    end_search,
    is_searching,
    searched,
    was_ended,
)
from pedalsetter.analysis.planning import QUICK, THOROUGH, USUAL, Effort


@pytest.fixture(autouse=True)
def _afresh() -> Iterator[None]:
    """No search was ended before, and none stays ended."""
    begin_anew()
    yield
    begin_anew()


def test_only_the_search_for_a_plan_that_is_shown_may_be_ended() -> None:
    """Outside of it an interruption is none of the planner's business."""
    assert not is_searching()
    assert searched(lambda effort: (is_searching(), effort), USUAL) == (True, USUAL)
    assert not is_searching()
    assert not was_ended()


def test_what_is_ended_by_hand_before_there_is_a_plan_is_given_up() -> None:
    """Nobody who presses Ctrl-C waits for a first plan."""

    def find(_effort: Effort) -> None:
        end_search()

    with pytest.raises(SearchEnded):
        searched(find, USUAL)
    assert not is_searching()
    assert was_ended()


def test_where_the_time_is_up_before_there_is_a_plan_a_quick_one_is_made() -> None:
    """A limit of time gives the best that it allows, and that is more than nothing."""
    efforts: list[Effort] = []

    def find(effort: Effort) -> str:
        efforts.append(effort)
        if is_searching():
            end_search(OutOfTime)
        return "a plan"

    assert searched(find, THOROUGH) == "a plan"
    assert efforts == [THOROUGH, QUICK]


def test_after_a_search_was_ended_none_goes_on_to_the_proof() -> None:
    """As the parts of two harps, which are planned one after the other; until all begins anew."""
    with pytest.raises(SearchEnded):
        searched(lambda _effort: end_search(), THOROUGH)
    assert searched(lambda effort: effort, THOROUGH) == USUAL
    assert searched(lambda effort: effort, QUICK) == QUICK
    begin_anew()
    assert searched(lambda effort: effort, THOROUGH) == THOROUGH
