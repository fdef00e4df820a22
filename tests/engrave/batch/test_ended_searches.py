"""A catalogue that is searched thoroughly: a score whose time is up comes out as good as it is."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from batch_runs import catalogue_of, journal_lines, kitchen_in
from slow_scores import write_slow_score

pytestmark = [
    pytest.mark.engraving,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="a desk without children ends no search"),
]


def test_a_search_is_ended_when_the_time_of_its_score_is_up(tmp_path: Path) -> None:
    """It is engraved with the best plan so far; what needs no such time is proved as ever."""
    scores = catalogue_of(tmp_path / "in", {"short.xml": "Short"})
    write_slow_score(scores)
    out = tmp_path / "out"
    ran = kitchen_in(tmp_path / "kitchen", tmp_path / "kept").run(
        *(scores, "-o", out, "--thorough", "--no-mends", "--no-png"),
        *("--time-limit", 10, "--jobs", 1),
    )

    assert ran.exit_code == 0, ran.output
    told = {line["score"]: (line["outcome"], line["what"]) for line in journal_lines(out)}
    assert told == {"short.xml": ("done", None), "slow.musicxml": ("done", None)}
    proved = {
        path.name: json.loads(path.read_text("utf-8"))["cost"]["proved_optimal"]
        for path in out.rglob("*.plan.json")
    }
    assert proved == {"short.plan.json": True, "slow.plan.json": False}


def test_a_thorough_run_is_another_one(tmp_path: Path) -> None:
    """``--resume`` goes on with a run of the same options alone."""
    kitchen = kitchen_in(tmp_path / "kitchen", tmp_path / "kept")
    scores = catalogue_of(tmp_path / "in", {"short.xml": "Short"})
    out = tmp_path / "out"
    assert kitchen.run(scores, "-o", out, "--no-png").exit_code == 0
    again = kitchen.run(scores, "-o", out, "--no-png", "--resume", "--thorough")
    assert again.exit_code == 2
