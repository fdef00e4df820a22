# ruff: noqa: T201, S311
"""A catalogue that is killed (signal 9) at moments made by chance, over and over, and gone on with.

    PYTHONPATH=tests python tests/benchmarks/killed_runs.py [KILLS] [SECONDS]

Each run lives SECONDS at most (6 if not given; a busy machine needs more to get on at all).
Every round is one catalogue of twelve small scores and as many kills as it takes to its end. After
each kill every folder of results must be whole and none that was there before may have been made
again; at the end all bytes must be those of a run that nobody disturbed.
"""

from __future__ import annotations

import hashlib
import json
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from batch_runs import catalogue_of, folder_states, journal_lines, kitchen_in, results


def halves(out: Path) -> int:
    """Folders of results whose files are not those of their record."""
    found = 0
    for path in out.rglob("*.xml"):
        if ".unfinished" in path.parts or not path.is_dir():
            continue
        named = json.loads((path / "record.json").read_bytes())["files"]
        there = {
            file.name: hashlib.sha256(file.read_bytes()).hexdigest()
            for file in path.iterdir()
            if file.name != "record.json"
        }
        found += named != there
    return found


def main(wanted: int, longest: float) -> None:
    """Print the figures."""
    chance = random.Random(1)
    names = {f"{number:02}.xml": f"Takes a while, {number}" for number in range(12)}
    kills = rounds = broken = again = differing = twice = 0
    with tempfile.TemporaryDirectory() as name:
        top = Path(name)
        catalogue = catalogue_of(top / "in", names)
        kitchen = kitchen_in(top / "kitchen", top / "kept", pause=0.1)
        assert kitchen.run(catalogue, "-o", top / "undisturbed").exit_code == 0
        expected = results(top / "undisturbed")
        while kills < wanted:
            out = top / f"out{rounds}"
            before = folder_states(out)
            while True:
                process = subprocess.Popen(
                    kitchen.command(catalogue, "-o", out, "--resume", "--quiet"),
                    env=kitchen.environment,
                )
                try:
                    # Starting takes a second or two; then a score ends every few tenths.
                    process.wait(chance.uniform(0.3, longest))
                    break
                except subprocess.TimeoutExpired:
                    process.send_signal(signal.SIGKILL)
                    process.wait()
                    kills += 1
                time.sleep(chance.choice((0, 0, 0.5)))
                now = folder_states(out)
                broken += halves(out)
                again += sum(now.get(folder) != state for folder, state in before.items())
                before = now
            assert process.returncode == 0, process.returncode
            lines = [line["score"] for line in journal_lines(out)]
            twice += len(lines) - len(set(lines))
            differing += results(out) != expected
            again += sum(folder_states(out).get(key) != state for key, state in before.items())
            rounds += 1
    print("| kills | catalogues | halves | made again | told twice | other bytes |")
    print("| --: | --: | --: | --: | --: | --: |")
    print(f"| {kills} | {rounds} | {broken} | {again} | {twice} | {differing} |")


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 40,
        float(sys.argv[2]) if len(sys.argv) > 2 else 6.0,
    )
