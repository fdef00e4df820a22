# ruff: noqa: T201
"""Coverage-guided fuzzing with atheris, over reading, planning, write-back and settings files.

    python tests/fuzzing/coverage_guided.py --seconds 3600 [TARGET ...]

needs ``pip install -e '.[test,fuzz]'``. Without names all targets run one after another and share
the time. Scores are changed in two ways: as trees (elements removed, doubled, moved, put in from
other scores, filled with nonsense) and as bytes, by libFuzzer itself, which keeps what reaches new
branches of our code; files of settings by lines and as bytes. What breaks a promise is written into
``--found`` (default: a new folder), one file for each place in the code; the exit status is 1 if
there is any.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import random
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
SETTINGS = ("house-style", "decisions")
"""Targets that read TOML; the others read scores."""
SLOW_SECONDS = 20
"""An input that takes longer (of processor time) is noted like a fault."""


def seeds(target: str, most: int) -> list[bytes]:
    """Files to begin with; what was found before is always among them."""
    import fuzz_seeds

    known = sorted((TESTS / "fuzzing" / "found").glob(f"{target}-*"))
    given = fuzz_seeds.settings_files(target) if target in SETTINGS else fuzz_seeds.scores()
    return [*(path.read_bytes() for path in known), *given[:: -(-len(given) // most)]]


def fuzz(target: str, seconds: int, folder: Path, seed: int, most_seeds: int) -> None:
    """Fuzz one target in this process, which libFuzzer ends."""
    import atheris

    sys.path.insert(0, str(TESTS))
    with atheris.instrument_imports(include=["pedalsetter"]):
        import fuzz_targets

    from damaged_scores import damaged_tree
    from lxml import etree

    run = fuzz_targets.TARGETS[target]
    corpus = folder / f"corpus-{target}"
    corpus.mkdir(parents=True, exist_ok=True)
    pool = []
    pool_of_lines: list[bytes] = []
    for data in seeds(target, most_seeds):
        (corpus / hashlib.sha256(data).hexdigest()[:16]).write_bytes(data)
        if target in SETTINGS:
            pool_of_lines += data.splitlines()
        else:
            try:
                root = etree.fromstring(data)
            except etree.XMLSyntaxError:
                continue
            pool += [each for each in root.iter() if isinstance(each.tag, str) and len(each) < 12]
    known: set[str] = set()

    def note(kind: str, data: bytes, told: str) -> None:
        place = hashlib.sha256(kind.encode()).hexdigest()[:8]
        if place in known:
            return
        known.add(place)
        (folder / f"{target}-{place}").write_bytes(data)
        (folder / f"{target}-{place}.txt").write_text(f"{kind}\n{told}", "utf-8")
        print(f"FOUND {target}-{place}: {kind}", flush=True)

    def one(data: bytes) -> None:
        start = time.process_time()
        try:
            run(data)
        except Exception as error:
            frames = traceback.extract_tb(error.__traceback__)
            ours = [
                each
                for each in frames
                if "fuzz" not in each.filename
                and ("analysis" in each.filename or "engrave" in each.filename)
            ]
            last = (ours or frames)[-1]
            kind = f"{type(error).__name__} at {Path(last.filename).name}:{last.lineno}"
            note(kind, data, traceback.format_exc())
        taken = time.process_time() - start
        if taken > SLOW_SECONDS:
            note(f"slow: {len(data) // 10000}", data, f"{taken:.0f} seconds")

    def mutated(data: bytes, most: int, seed: int) -> bytes:
        chance = random.Random(seed)  # noqa: S311 - libFuzzer gives the seed
        if target not in SETTINGS and chance.random() < 0.7:
            try:
                root = etree.fromstring(data, etree.XMLParser(resolve_entities=False))
            except etree.XMLSyntaxError:
                root = None
            if root is not None:
                made = etree.tostring(
                    damaged_tree(root, chance, chance.choice((1, 1, 2, 3, 8)), pool)
                )
                if len(made) <= most:
                    return made
        if target in SETTINGS and chance.random() < 0.5:
            lines = data.splitlines()
            chosen = lines if chance.random() < 0.5 else chance.sample(lines, len(lines))
            chosen.insert(chance.randint(0, len(chosen)), chance.choice(pool_of_lines))
            return b"\n".join(chosen)[:most]
        return bytes(atheris.Mutate(data, most))

    arguments = [
        sys.argv[0],
        f"-max_total_time={seconds}",
        "-max_len=60000",
        "-rss_limit_mb=4096",
        "-timeout=120",
        f"-seed={seed}",
        "-print_final_stats=1",
        f"-artifact_prefix={folder}/",
        str(corpus),
    ]
    atheris.Setup(arguments, one, custom_mutator=mutated)
    atheris.Fuzz()


def main() -> int:
    """Run every target in a process of its own; 1 if anything was found."""
    sys.path.insert(0, str(TESTS))
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("targets", nargs="*")
    parser.add_argument("--seconds", type=int, default=60, help="time for all targets together")
    parser.add_argument("--found", type=Path, help="folder for what is found")
    parser.add_argument("--seed", type=int, default=1, help="of chance")
    parser.add_argument("--seeds", type=int, default=1000, help="files to begin with, at most")
    parser.add_argument("--alone", action="store_true", help=argparse.SUPPRESS)
    wanted = parser.parse_args()
    if wanted.alone:
        fuzz(wanted.targets[0], wanted.seconds, wanted.found, wanted.seed, wanted.seeds)
        return 0
    import fuzz_targets

    targets = wanted.targets or list(fuzz_targets.TARGETS)
    unknown = set(targets) - set(fuzz_targets.TARGETS)
    if unknown:
        parser.error(f"no such target: {', '.join(sorted(unknown))}")
    folder = wanted.found or Path(tempfile.mkdtemp(prefix="fuzzing-"))
    folder.mkdir(parents=True, exist_ok=True)
    failed = False
    for target in targets:
        share = max(1, wanted.seconds // len(targets))
        command = [sys.executable, __file__, "--alone", target, "--seconds", str(share)]
        command += ["--found", str(folder), "--seed", str(wanted.seed)]
        command += ["--seeds", str(wanted.seeds)]
        log = folder / f"{target}.log"
        with log.open("wb") as stream:
            ended = subprocess.run(
                command, stdout=stream, stderr=subprocess.STDOUT, env=dict(os.environ), check=False
            )
        lines = log.read_text("utf-8", errors="replace").splitlines()
        runs = next((x.split()[-1] for x in lines if "number_of_executed_units" in x), "0")
        covered = [line.split("cov:")[1].split()[0] for line in lines if " cov: " in line]
        print(f"{target}: {runs} inputs, {covered[-1] if covered else '0'} branches reached")
        if ended.returncode or int(runs) == 0:
            failed = True
            print("\n".join(lines[-20:]))
    found = sorted(path.name for path in folder.glob("*-*.txt"))
    for name in found:
        print((folder / name).read_text("utf-8"))
    print(f"{len(found)} faults found; all files are in {folder}")
    return int(failed or bool(found))


if __name__ == "__main__":
    sys.exit(main())
