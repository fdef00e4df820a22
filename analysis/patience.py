"""How a search for a plan is ended before it is done: by the musician, or by the clock.

The planner takes a ``KeyboardInterrupt`` for the wish to end the search, and hands out the best
plan so far. The wish must reach the search for a plan that will be shown and no other: one of the
many small searches for plans that are only tried would swallow it, and all would go on. So a plan
that will be shown is searched for by :func:`searched`, and whoever wants to end a search (a handler
of signals) asks :func:`is_searching` first, and raises :class:`Stopped` where that says no.

>>> from pedalsetter.analysis.planning import QUICK
>>> searched(lambda effort: (effort == QUICK, is_searching()), QUICK)
(True, True)
>>> is_searching()
False
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from pedalsetter.analysis.planning import Effort

__all__ = [
    "OutOfTime",
    "SearchEnded",
    "Stopped",
    "begin_anew",
    "end_search",
    "end_trials",
    "has_plan",
    "is_searching",
    "searched",
    "trials_ended",
    "trials_were_left",
    "was_ended",
]

Found = TypeVar("Found")


class SearchEnded(KeyboardInterrupt):
    """The search is to end with the best plan so far."""


class OutOfTime(SearchEnded):
    """The same, because the time is up."""


class Stopped(BaseException):
    """All work is to end: an interruption that no search takes for its own."""


class _Now:
    """What this process is at; one command at a time."""

    searching = False
    ended = False
    planned = False
    trials_ended = False
    trials_left = False


def searched(find: Callable[[Effort], Found], effort: Effort) -> Found:
    """What ``find`` finds with an effort; meanwhile it may be ended early.

    Where the time is up before there is any plan, a quick one is made. Once a search was ended
    early, later ones no longer go on to the proof.

    Raises:
        SearchEnded: only by hand, before there is any plan.
    """
    from pedalsetter.analysis.planning import QUICK, USUAL

    if _Now.ended:
        effort = min(effort, USUAL, key=lambda one: one.for_each_place)
    try:
        _Now.searching = True
        found = find(effort)
    except OutOfTime:
        _Now.searching = False
        found = find(QUICK)
    finally:
        _Now.searching = False
    _Now.planned = True
    return found


def is_searching() -> bool:
    """Whether a plan is searched for that will be shown, so that the search may be ended early."""
    return _Now.searching


def end_search(how: type[SearchEnded] = SearchEnded) -> None:
    """End the search that is under way; to be called by a handler of signals.

    Raises:
        SearchEnded: always; the planner takes it for its own.
    """
    _Now.ended = True
    raise how


def was_ended() -> bool:
    """Whether a search was ended early since :func:`begin_anew`."""
    return _Now.ended


def begin_anew() -> None:
    """Another command, or the same work once more: nothing is found and nothing ended yet."""
    _Now.ended = _Now.planned = _Now.trials_ended = _Now.trials_left = False


def has_plan() -> bool:
    """Whether a plan has been found since :func:`begin_anew`, which should not be lost any more."""
    return _Now.planned


def end_trials() -> None:
    """Let what is only tried for the sake of advice be left from now on."""
    _Now.trials_ended = True


def trials_ended() -> bool:
    """Whether nothing more is to be tried: whoever goes through many trials asks before each."""
    _Now.trials_left = _Now.trials_left or _Now.trials_ended
    return _Now.trials_ended


def trials_were_left() -> bool:
    """Whether there was more to try when :func:`trials_ended` said so."""
    return _Now.trials_left
