# ruff: noqa: T201
"""Prints the test files that a change can concern: ``pytest $(python tests/changed.py [COMMIT])``.

Compared with COMMIT (``HEAD`` if none is given) and with what is not committed. A test file counts
if it has changed, or imports a changed file itself or through helpers of the tests; what is reached
through other files of the project is left to the whole suite.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def changed_files(commit: str) -> set[Path]:
    """What differs from a commit, and what git does not know yet."""
    lines: list[str] = []
    for command in (
        ["git", "diff", "--name-only", "--relative", commit],
        ["git", "ls-files", "--others", "--exclude-standard"],
    ):
        lines += subprocess.run(
            command, cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout.splitlines()
    return {ROOT / line for line in lines}


def imports(path: Path) -> set[Path]:
    """The files of the project and the helpers of the tests that a file imports."""
    found: set[Path] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
        for name in names:
            own = name.startswith("pedalsetter.")
            base = (ROOT if own else ROOT / "tests").joinpath(
                *name.removeprefix("pedalsetter.").split(".")
            )
            found |= {
                file for file in (base.with_suffix(".py"), base / "__init__.py") if file.exists()
            }
    return found


def concerned(changed: set[Path]) -> list[Path]:
    """The test files that a change of some files can concern, in order."""
    tests = ROOT / "tests"
    known = {path: imports(path) for path in tests.rglob("*.py")}
    reached = set(changed)
    helpers = {path for path in known if not path.name.startswith("test_")}
    while more := {path for path in helpers - reached if known[path] & reached}:
        reached |= more
    return sorted(
        path
        for path, others in known.items()
        if path.name.startswith("test_") and (path in changed or others & reached)
    )


if __name__ == "__main__":
    for test in concerned(changed_files(sys.argv[1] if len(sys.argv) > 1 else "HEAD")):
        print(test.relative_to(ROOT))
