"""The road runs one way: each file imports only from what stands above it, and nothing circles."""

from __future__ import annotations

import ast
import importlib
import pkgutil
import sys
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import pedalsetter.analysis
import pedalsetter.engrave

ROOT = Path(__file__).resolve().parent.parent

PLACES = (
    "analysis.errors",
    "analysis.instrument",
    "analysis.part",
    "analysis.naming",
    "analysis.pedal_plan",
    "analysis.decisions",
    "analysis.reading",
    "analysis.ensemble",
    "analysis.playing",
    "analysis.planning",
    "analysis.patience",
    "analysis.findings",
    "analysis.splitting",
    "analysis.asking",
    "analysis.marks",
    "analysis.collation",
    "analysis.editing",
    "analysis.glissandi",
    "templates",
    "engrave.style_options",
    "engrave.house_style",
    "engrave.mark_text",
    "engrave.notation",
    "engrave.layout",
    "engrave.output",
    "engrave.plan_road",
    "engrave.road",
    "engrave.library",
    "engrave.second_harp",
    "engrave.batch",
    "engrave.commands",
    "engrave.command_line",
    "engrave.start",
)
"""From top to bottom; a folder is one place. A new file is given its place here."""


def source_files() -> list[Path]:
    """Every Python file of the package."""
    return sorted(
        path for folder in ("analysis", "engrave") for path in (ROOT / folder).rglob("*.py")
    )


def module_of(path: Path) -> str:
    """The dotted name below ``pedalsetter``: ``analysis.reading.limits``."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def place_of(module: str) -> str:
    """The place on the road of a module: its folder, or itself."""
    return ".".join(module.split(".")[:2]) if not module.startswith("templates") else "templates"


def imported(path: Path) -> Iterator[str]:
    """Modules of the project that a file imports, wherever in the file it does so."""
    modules = {module_of(file) for file in source_files()}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are absolute"
            # "from folder import module" names a module, "from module import value" does not.
            names = [f"{node.module}.{alias.name}" for alias in node.names]
            names = [
                name if name.removeprefix("pedalsetter.") in modules else str(node.module)
                for name in names
            ]
        else:
            continue
        for name in names:
            assert name.split(".")[0] not in ("analysis", "engrave", "templates"), path
            if name.startswith("pedalsetter."):
                yield name.removeprefix("pedalsetter.")


@pytest.mark.parametrize("path", source_files(), ids=module_of)
def test_a_file_imports_only_from_above(path: Path) -> None:
    """What stands lower on the road knows what stands higher, never the other way."""
    module = module_of(path)
    if module in ("analysis", "engrave"):
        assert not list(imported(path)), "the two folders import nothing by themselves"
        return
    own = PLACES.index(place_of(module))
    for other in imported(path):
        inside_own_folder = place_of(other) == place_of(module) and path.parent.name != "analysis"

        assert PLACES.index(place_of(other)) < own or inside_own_folder, f"{module}: {other}"


def test_analysis_never_imports_engrave() -> None:
    """What the harp must do is told without knowing how a page looks."""
    for path in (ROOT / "analysis").rglob("*.py"):
        assert not [name for name in imported(path) if name.startswith(("engrave", "templates"))]


def test_no_imports_run_in_a_circle() -> None:
    """Inside a folder too, files build on each other in one direction."""
    graph = {module_of(path): set(imported(path)) for path in source_files()}

    assert list(TopologicalSorter(graph).static_order())


def test_nothing_is_installed_at_the_top_level() -> None:
    """The folders are ``pedalsetter.analysis`` and ``pedalsetter.engrave`` and nothing else.

    A second copy under a bare name would have its own classes, which no ``except`` would catch.
    """
    for package in (pedalsetter.analysis, pedalsetter.engrave):
        for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            importlib.import_module(found.name)

    assert not {"analysis", "engrave", "templates"} & set(sys.modules)
