"""A search that takes long: how it is asked for, and what comes out where it is ended early."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from part_builder import build_part
from slow_scores import write_slow_score
from typer.testing import CliRunner, Result

from pedalsetter.analysis import splitting
from pedalsetter.analysis.errors import LimitError, ScoreError
from pedalsetter.analysis.findings import mending, with_all_findings, with_mends
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.patience import Stopped, is_searching, searched, trials_ended
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import QUICK, THOROUGH, USUAL, Effort, plan_changes
from pedalsetter.engrave import command_line, plan_road
from pedalsetter.engrave.commands import budget
from pedalsetter.engrave.commands.budget import Budget, SearchClock
from pedalsetter.engrave.commands.watching import _Stop

FILE = "slow.musicxml"
HOW_FAR = re.compile(r"No plan is more than \d+ % better\.$", re.MULTILINE)
ENDED = f"pedalsetter: {FILE}: the search was ended {{}}; this is the best plan so far.\n"

on_posix = pytest.mark.skipif(sys.platform == "win32", reason="signals are sent as POSIX has them")


@pytest.fixture(scope="module")
def score(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A score of which no plan is proved in a minute."""
    return write_slow_score(tmp_path_factory.mktemp("slow"))


def run(*arguments: object) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(command_line.app, [str(argument) for argument in arguments])


# How it is asked for.


@pytest.mark.parametrize(
    "command",
    [
        ("plan",),
        ("check",),
        ("setting", "--at", "1"),
        ("chart", "-o", "{folder}/chart.svg"),
        ("practice", "-o", "{folder}/practice.svg"),
        ("mark", "-o", "{folder}"),
        ("mark", "-o", "{folder}", "--split"),
        ("mark", "-o", "{folder}", "--reading-score"),
        ("mark", "-o", "{folder}", "--source-marks", "keep"),
        ("mark", "-o", "{folder}", "--watch"),
    ],
    ids=" ".join,
)
def test_every_command_that_plans_can_be_thorough(
    command: tuple[str, ...], score: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The option reaches the planner; without it the usual effort is made."""
    efforts: list[Effort] = []

    def planned(_part: HarpPart, *, effort: Effort, **_more: object) -> PedalPlan:
        assert is_searching()
        efforts.append(effort)
        raise ScoreError("seen")

    monkeypatch.setattr(plan_road, "plan_changes", planned)
    name, *options = (one.format(folder=tmp_path) for one in command)
    for more in ((), ("--thorough",)):
        result = run(name, score, *options, *more)
        assert (result.exit_code, result.stderr) == (2, "pedalsetter: seen\n")
    assert efforts == [USUAL, THOROUGH]


def test_both_harps_are_planned_as_thoroughly(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is engraved is searched for with the effort that was asked for, the rest quickly."""
    shown: list[Effort] = []
    tried: list[Effort] = []

    def planned(part: HarpPart, *arguments: object, effort: Effort = USUAL) -> PedalPlan:
        (shown if is_searching() else tried).append(effort)
        return plan_changes(part, effort=QUICK)

    monkeypatch.setattr(splitting, "plan_changes", planned)
    monkeypatch.setattr(splitting.search, "plan_changes", planned)
    part = build_part("G4+Ab4+A4/w")
    assert splitting.split_part(part, effort=THOROUGH).suffices
    assert set(shown) == {THOROUGH}
    assert set(tried) == {QUICK}


def test_before_and_after_a_mend_are_searched_for_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    """With one effort for all that is tried, whatever the plan itself has cost to find.

    So the difference that a mend is said to make is the mend's, and the same each time.
    """
    part = build_part("C4/q C#4/s C4/s C#4/s C4/s r/h", "G4+Ab4+A4/w", tempo=72)
    efforts: list[Effort] = []

    def noted(find: Callable[..., PedalPlan]) -> Callable[..., PedalPlan]:
        def planned(*arguments: object, effort: Effort) -> PedalPlan:
            efforts.append(effort)
            return find(*arguments, effort=effort)

        return planned

    for name in ("plan_as_written", "plan_changes"):
        monkeypatch.setattr(mending, name, noted(getattr(mending, name)))
    differences = []
    for effort in (USUAL, THOROUGH):
        plan = with_all_findings(part, plan_changes(part, effort=effort))
        mended = with_mends(part, plan)
        differences.append(
            [
                (mend.what, mend.cost[1] - mend.cost[0])
                for finding in mended.findings
                for mend in finding.mends
            ]
        )
    assert set(efforts) == {QUICK}
    assert differences[0]
    assert differences[0] == differences[1]


# What comes out where the time is up.


@on_posix
def test_plan_tells_the_best_so_far_when_its_time_is_up(score: Path) -> None:
    """No error: the plan, how far it may be from the best, and that the search was ended."""
    result = run("plan", score, "--thorough", "--no-mends", "--time-limit", 4)

    assert (result.exit_code, result.stderr) == (0, ENDED.format("after 4 seconds"))
    assert HOW_FAR.search(result.stdout)
    assert "30 bars, " in result.stdout
    document = run("plan", score, "--thorough", "--no-mends", "--time-limit", 4, "--json", "-q")
    assert (document.exit_code, document.stderr) == (0, "")
    cost = json.loads(document.stdout)["cost"]
    assert 0 < cost["bound"] < cost["total"]
    assert cost["proved_optimal"] is False
    assert HOW_FAR.match(cost["told"])


@on_posix
@pytest.mark.engraving
def test_mark_engraves_the_best_so_far_when_its_time_is_up(score: Path, tmp_path: Path) -> None:
    """The pages are those of the plan that was found; they have their own time."""
    result = run(
        *("mark", score, "-o", tmp_path, "--thorough", "--no-mends", "--no-png"),
        *("--time-limit", 8),
    )

    assert (result.exit_code, result.stderr) == (0, ENDED.format("after 8 seconds"))
    assert HOW_FAR.search(result.stdout)
    assert (tmp_path / "slow.pdf").read_bytes().startswith(b"%PDF")
    cost = json.loads((tmp_path / "slow.plan.json").read_text("utf-8"))["cost"]
    assert HOW_FAR.match(cost["told"])


def a_search(patience: float) -> Callable[[Effort], str]:
    """A search for so many seconds that has a plan from the beginning, as the planner's."""

    def find(_effort: Effort) -> str:
        end = time.monotonic() + patience
        try:
            while time.monotonic() < end:
                pass
        except KeyboardInterrupt:
            return "the best so far"
        return "the best"

    return find


@pytest.mark.parametrize("alarm", [pytest.param(True, marks=on_posix), False])
def test_the_rest_has_as_long_again(alarm: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """The search ends when the time is up, the work after it goes on, and not for ever.

    With the system's alarm, and with the clock that serves where there is none.
    """
    if not alarm:
        monkeypatch.delattr(signal, "setitimer", raising=False)
    monkeypatch.setattr(budget, "_REST", 0)
    start = time.monotonic()

    def work() -> None:
        assert searched(a_search(60), USUAL) == "the best so far"
        assert time.monotonic() - start > 1.9
        a_search(60)(USUAL)

    with pytest.raises(LimitError) as error, Budget(2, file=FILE):
        work()
    assert 3.9 < time.monotonic() - start < 50
    assert str(error.value) == f"{FILE}: stopped after 2 seconds. Allow more with --time-limit."


@on_posix
def test_a_plan_that_was_found_in_time_is_not_lost(capsys: pytest.CaptureFixture[str]) -> None:
    """Time that runs out over suggestions ends those alone; what is left of the work is done."""
    part = build_part(*["C4+C#4/w"] * 2, tempo=72)
    with Budget(1, file=FILE):
        plan = searched(lambda effort: plan_changes(part, effort=effort), USUAL)
        plan = with_all_findings(part, plan)
        while not trials_ended():
            pass
        untried = with_mends(part, plan)
        time.sleep(0.5)

    assert plan.findings
    assert untried == plan
    assert capsys.readouterr().err == (
        f"pedalsetter: {FILE}: the time was up after 1 second; "
        "not everything that might help was tried.\n"
    )


@on_posix
def test_a_further_search_is_ended_too(capsys: pytest.CaptureFixture[str]) -> None:
    """Two harps are planned one after the other; the second has a quarter of the time."""
    start = time.monotonic()
    with Budget(4, file=FILE):
        assert searched(a_search(60), USUAL) == "the best so far"
        assert searched(a_search(60), USUAL) == "the best so far"
    assert time.monotonic() - start > 4.9
    assert capsys.readouterr().err == ENDED.format("after 4 seconds")


@pytest.mark.parametrize("alarm", [pytest.param(True, marks=on_posix), False])
def test_what_is_no_search_ends_in_time(alarm: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """A search for a plan that is only tried cannot take the alarm for its own."""
    if not alarm:
        monkeypatch.delattr(signal, "setitimer", raising=False)
    start = time.monotonic()
    with pytest.raises(LimitError), Budget(1, file=FILE):
        a_search(60)(USUAL)
    assert time.monotonic() - start < 50


# Ctrl-C.


def press_ctrl_c() -> None:
    """As the terminal does; the interruption comes before the next line."""
    os.kill(os.getpid(), signal.SIGINT)


@on_posix
def test_ctrl_c_is_a_search_s_own_once(capsys: pytest.CaptureFixture[str]) -> None:
    """The first ends the search, the next one all; and outside of a search each one all."""

    def find(_effort: Effort) -> str:
        try:
            press_ctrl_c()
            a_search(30)(USUAL)
        except KeyboardInterrupt:
            return "the best so far"
        return ""

    with Budget(60, file=FILE):
        assert searched(find, USUAL) == "the best so far"
    assert capsys.readouterr().err == ENDED.format("by Ctrl-C")

    def twice() -> None:
        searched(find, USUAL)
        searched(find, USUAL)

    with pytest.raises(KeyboardInterrupt), Budget(60, file=FILE):
        twice()
    with pytest.raises(KeyboardInterrupt), Budget(60, file=FILE):
        find(USUAL)
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    assert capsys.readouterr().err == ""


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux has /proc")
@pytest.mark.parametrize("times", [1, 2])
def test_ctrl_c_takes_the_best_plan_and_a_second_one_none(score: Path, times: int) -> None:
    """Once: exit code 0 and the plan. Twice: 130, as shells have it, and nothing else."""
    process = subprocess.Popen(
        [
            *(sys.executable, "-c", "from pedalsetter.engrave.command_line import main; main()"),
            *("plan", str(score), "--thorough"),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONUTF8": "1"},
        # A shell's jobs in the background, which the tests may be, ignore interruptions.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    # Once it has worked for so long, there is a plan.
    _wait_for_work(process.pid, 6.0)
    process.send_signal(signal.SIGINT)
    if times == 2:
        _wait_for_work(process.pid, 6.5)
        process.send_signal(signal.SIGINT)
    printed, complained = process.communicate(timeout=120)

    if times == 2:
        assert (process.returncode, printed, complained) == (130, "", "")
    else:
        assert (process.returncode, complained) == (0, ENDED.format("by Ctrl-C"))
        assert HOW_FAR.search(printed)


def _wait_for_work(pid: int, seconds: float) -> None:
    """Until a process has used so much of the processor, on a busy machine too."""
    ticks = os.sysconf("SC_CLK_TCK")
    until = time.monotonic() + 120
    while time.monotonic() < until:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        if int(fields[11]) + int(fields[12]) >= seconds * ticks:
            return
        time.sleep(0.02)


# While a score is watched.


@on_posix
def test_each_search_of_a_watch_has_the_time_limit() -> None:
    """Nothing else has; and after the next save a search has it anew."""
    for _ in range(2):
        start = time.monotonic()
        with SearchClock(1):
            assert searched(a_search(60), THOROUGH) == "the best so far"
            assert a_search(1.5)(USUAL) == "the best"
        assert 2.4 < time.monotonic() - start < 50


@on_posix
def test_ctrl_c_ends_a_watch_in_the_middle_of_a_search() -> None:
    """Who ends the watch does not wait for a plan that is searched for at length."""

    def find(_effort: Effort) -> str:
        press_ctrl_c()
        return a_search(30)(USUAL)

    with pytest.raises(Stopped), _Stop() as stop:
        searched(find, THOROUGH)
    assert stop.is_set()
    with _Stop() as stop:
        press_ctrl_c()
        assert stop.is_set()
