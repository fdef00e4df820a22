"""The same work on a Dask cluster, one of whose two workers is killed in the middle of it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from batch_runs import catalogue_of, folder_states, journal_lines, kitchen_in, results

pytestmark = pytest.mark.engraving

NAMES = tuple(f"{number}.xml" for number in range(6))


@contextmanager
def running(module: str, *arguments: object, environment: dict[str, str]) -> Iterator[int]:
    """A part of a cluster, ended when the test ends; gives its process."""
    process = subprocess.Popen(
        [sys.executable, "-m", module, *map(str, arguments)],
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield process.pid
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def test_a_killed_worker_loses_nothing(tmp_path: Path) -> None:
    """Signal 9 for a worker at work: every score comes out once, the same as on one machine."""
    catalogue = catalogue_of(tmp_path / "in", {name: f"Takes a while, {name}" for name in NAMES})
    kitchen = kitchen_in(tmp_path / "kitchen", tmp_path / "kept", pause=1.0)
    out, address = tmp_path / "out", tmp_path / "scheduler.json"
    common = ("--scheduler-file", address)
    with (
        running(
            "distributed.cli.dask_scheduler",
            *(*common, "--host", "127.0.0.1", "--port", 0, "--no-dashboard"),
            environment=kitchen.environment,
        ) as scheduling,
        running(
            "distributed.cli.dask_worker",
            *(*common, "--nthreads", 1, "--no-nanny", "--no-dashboard", "--name", "one"),
            environment=kitchen.environment,
        ) as first,
        running(
            "distributed.cli.dask_worker",
            *(*common, "--nthreads", 1, "--no-nanny", "--no-dashboard", "--name", "two"),
            environment=kitchen.environment,
        ),
    ):
        scheduler = _address(address)
        command = kitchen.command(catalogue, "-o", out, "--cluster", scheduler)
        code, complained = run_and_kill(command, out, first, kitchen.environment)
        assert (code, complained) == (0, "")

        # The scheduler itself: nothing can go on, and that is one line.
        other = tmp_path / "other"
        command = kitchen.command(catalogue, "-o", other, "--cluster", scheduler)
        code, complained = run_and_kill(command, other, scheduling, kitchen.environment)
        assert (code, complained) == (
            2,
            "pedalsetter: the scheduler was lost. Go on with --resume when it is back.\n",
        )
    assert sorted(line["score"] for line in journal_lines(out)) == sorted(NAMES)
    assert {line["outcome"] for line in journal_lines(out)} == {"done"}
    assert sorted(folder_states(out)) == sorted(NAMES)
    assert not (out / ".unfinished").exists()

    alone = kitchen_in(tmp_path / "alone", tmp_path / "kept", pause=0)
    ran = alone.run(catalogue, "-o", tmp_path / "local")
    assert ran.exit_code == 0, ran.output
    assert results(out) == results(tmp_path / "local")
    # What was begun on a cluster is gone on with on this machine.
    begun = folder_states(other)
    assert alone.run(catalogue, "-o", other, "--resume").exit_code == 0
    assert results(other) == results(out)
    assert folder_states(other).items() >= begun.items()


def run_and_kill(
    command: list[str], out: Path, victim: int, environment: dict[str, str]
) -> tuple[int, str]:
    """Run a batch, and kill a process once two scores have ended; its exit code and complaints."""
    process = subprocess.Popen(
        command,
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    until = time.monotonic() + 120
    while len(journal_lines(out)) < 2:
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < until
        time.sleep(0.02)
    os.kill(victim, signal.SIGKILL)
    complained = process.communicate(timeout=200)[1]
    return process.returncode, complained


def _address(file: Path) -> str:
    """The address that the scheduler has written into its file, once both workers may join."""
    import json

    until = time.monotonic() + 60
    while time.monotonic() < until:
        if file.exists() and (text := file.read_text()):
            return str(json.loads(text)["address"])
        time.sleep(0.05)
    raise AssertionError("the scheduler did not come up")
