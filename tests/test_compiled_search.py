"""The inner search is compiled where that can be done, and says the same where it cannot."""

from __future__ import annotations

import ast
import json
import os
import shutil
import subprocess
import sys
import tomllib
from importlib import import_module
from importlib.machinery import EXTENSION_SUFFIXES
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from typer.testing import CliRunner

from pedalsetter.analysis.planning.search import COMPILED
from pedalsetter.engrave.command_line import app

ROOT = Path(__file__).resolve().parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
EXTENSIONS: list[dict[str, Any]] = PROJECT["tool"]["setuptools"]["ext-modules"]
NAMES = [extension["name"] for extension in EXTENSIONS]
PLANS = (
    ["plan", str(ROOT / "examples" / "evening-water.musicxml"), "--json"],
    [
        *("plan", str(ROOT / "examples" / "orchestral-nocturne.musicxml"), "--json"),
        *("--allow", "crossing", "--allow", "two-pedals"),
    ],
)
PRINT_PLANS = """
import json, sys
from typer.testing import CliRunner
from pedalsetter.analysis import planning
from pedalsetter.analysis.planning import search
from pedalsetter.engrave.command_line import app

assert not search.COMPILED
assert planning.__file__.startswith(sys.argv[1]) and search.__file__.startswith(sys.argv[1])
for words in json.loads(sys.argv[2]):
    sys.stdout.buffer.write(CliRunner().invoke(app, words).stdout_bytes)
"""


@pytest.fixture(params=NAMES)
def module(request: pytest.FixtureRequest) -> ModuleType:
    """Each module that may be compiled."""
    return import_module(request.param)


def is_compiled(module: ModuleType) -> bool:
    """Whether it was loaded from machine code."""
    return str(module.__file__).endswith(tuple(EXTENSION_SUFFIXES))


@pytest.mark.parametrize("extension", EXTENSIONS, ids=NAMES)
def test_a_module_may_be_compiled_and_need_not(extension: dict[str, Any]) -> None:
    """It is plain Python typed for Cython, and without a C compiler it is installed as it is."""
    (source,) = extension["sources"]
    named = extension["name"].removeprefix("pedalsetter.").replace(".", "/")
    tree = ast.parse((ROOT / source).read_text(encoding="utf-8"))

    assert source == f"{named}.py"
    assert extension["optional"] is True
    assert any(
        isinstance(node, ast.Import) and [name.name for name in node.names] == ["cython"]
        for node in tree.body
    )
    assert all((ROOT / path).is_file() for path in extension["depends"])


def test_what_builds_them_needs_what_runs_them() -> None:
    """Cython compiles the modules, and is imported by them where they are not compiled."""
    (built,) = (need for need in PROJECT["build-system"]["requires"] if need.startswith("cython"))

    assert built in PROJECT["project"]["dependencies"]


def test_all_are_compiled_or_none(module: ModuleType) -> None:
    """``COMPILED`` and ``--version`` speak of the search, and mean all of them."""
    assert is_compiled(module) == COMPILED


def test_what_is_compiled_is_no_older_than_its_source(module: ModuleType) -> None:
    """Else what is tested here is not what is written: ``pip install -e .`` builds it again."""
    if not is_compiled(module):
        pytest.skip("runs from its source")
    file = Path(str(module.__file__))
    source = file.with_name(f"{module.__name__.rpartition('.')[2]}.py")

    assert file.stat().st_mtime >= source.stat().st_mtime, f"build {source.name} again"


def test_the_plans_are_the_same_interpreted(tmp_path: Path) -> None:
    """A copy of the package without machine code prints the same plans, byte for byte."""
    package = tmp_path / "pedalsetter"
    for folder in ("analysis", "engrave", "templates"):
        origin = Path(str(import_module(f"pedalsetter.{folder}").__file__)).parent
        ignored = shutil.ignore_patterns("__pycache__", "*.c", "*.so", "*.pyd")
        shutil.copytree(origin, package / folder, ignore=ignored)
    (package / "__init__.py").touch()
    interpreted = subprocess.run(
        [sys.executable, "-c", PRINT_PLANS, str(tmp_path), json.dumps(PLANS)],
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
        capture_output=True,
        check=True,
    ).stdout

    here = b"".join(CliRunner().invoke(app, words).stdout_bytes for words in PLANS)
    assert b'"changes"' in here
    assert interpreted == here
