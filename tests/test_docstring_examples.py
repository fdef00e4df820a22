"""Every example in a docstring runs, and gives what it says."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import pedalsetter.analysis
import pedalsetter.engrave

MODULES = sorted(
    found.name
    for package in (pedalsetter.analysis, pedalsetter.engrave)
    for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}.")
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings_are_true(name: str) -> None:
    """What a docstring shows after ``>>>`` is what a reader gets."""
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples() -> None:
    """The walk finds the modules and their examples, so that the check above cannot be empty."""
    harp = importlib.import_module("pedalsetter.analysis.instrument.harp")

    assert harp.__name__ in MODULES
    assert doctest.testmod(harp).attempted > 0
