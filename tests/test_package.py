"""What is installed is what is in the repository."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pedalsetter

ROOT = Path(__file__).resolve().parents[1]
FOLDERS = ("analysis", "engrave", "templates")


def test_every_folder_is_installed() -> None:
    """A folder that is not named in pyproject.toml would be missing from the installed package."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    packages = set(project["tool"]["setuptools"]["packages"])
    found = {
        "pedalsetter." + ".".join(file.parent.relative_to(ROOT).parts)
        for folder in FOLDERS
        for file in (ROOT / folder).rglob("__init__.py")
    }

    # The package itself lies where the command starts.
    found = found - {"pedalsetter.engrave.start"} | {"pedalsetter"}
    assert packages == found


def test_the_package_runs_as_a_program() -> None:
    """``python -m pedalsetter`` is the command, and the version is the package's own."""
    done = subprocess.run(
        [sys.executable, "-m", "pedalsetter", "--version"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.startswith(f"pedalsetter {pedalsetter.__version__} ")


def test_every_kind_of_data_is_installed() -> None:
    """Stylesheets, house styles and type markers go with the package."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    patterns = project["tool"]["setuptools"]["package-data"]
    for folder in FOLDERS:
        data = {
            file
            for file in (ROOT / folder).rglob("*")
            if file.is_file() and file.suffix not in (".py", ".pxd", ".pyc", ".c", ".so", ".pyd")
        }
        taken = {
            file
            for pattern in patterns[f"pedalsetter.{folder}"]
            for file in (ROOT / folder).glob(pattern)
        }
        assert data == taken, folder
