"""An interruption ends the whole making of a plan, and is passed on where plans are only tried."""

from __future__ import annotations

import signal
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import pytest
from part_builder import build_part
from slow_scores import write_slow_score

from pedalsetter.analysis.decisions.file import parse_decisions
from pedalsetter.analysis.planning import QUICK, THOROUGH, Effort, attempt, plan, plan_changes
from pedalsetter.analysis.planning.pins import Pins
from pedalsetter.analysis.reading import read_part

on_posix = pytest.mark.skipif(sys.platform == "win32", reason="alarms are as POSIX has them")


@contextmanager
def interrupted_after(seconds: float) -> Iterator[None]:
    """A Ctrl-C that comes by itself."""

    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGALRM, interrupt)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


@on_posix
def test_the_best_plan_so_far_comes_out_unless_it_is_only_tried(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """A score of which no plan is proved in a minute, interrupted after some seconds."""
    part = read_part(write_slow_score(tmp_path_factory.mktemp("slow"), 80))
    freer = parse_decisions("crossing = true\ntwo-pedals = true")
    start = time.monotonic()
    with interrupted_after(2):
        found = plan_changes(part, effort=THOROUGH, decisions=freer)

    # The plans with less freedom would each be searched for as long again.
    assert time.monotonic() - start < 30
    assert not found.proved_optimal
    assert found.changes
    with interrupted_after(1), pytest.raises(KeyboardInterrupt):
        plan_changes(part, effort=replace(THOROUGH, yields=False))


def test_after_an_interruption_the_other_plans_are_quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Decisions are tried one by one: the first trial is interrupted, so the rest is not long."""
    part = build_part("C4/q C#4/q C4/q C#4/q", "F4/q F#4/q F4/q F#4/q", tempo=72)
    decisions = parse_decisions('change = [{ at = "1:2", pedal = "C♯" }]')
    efforts: list[Effort] = []

    def noted(source: attempt.Source, pins: Pins, effort: Effort) -> attempt.Attempt:
        efforts.append(effort)
        return replace(attempt.attempt(source, pins, effort), interrupted=len(efforts) == 1)

    monkeypatch.setattr(plan, "attempt", noted)
    plan_changes(part, effort=THOROUGH, decisions=decisions)

    assert len(efforts) > 1
    assert set(efforts[1:]) == {QUICK}
