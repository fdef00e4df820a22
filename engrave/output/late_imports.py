"""Modules that a library imports and that this program never uses, loaded only if it does.

abjad 3.19 imports the tools that build its own manual, and with them Sphinx: a quarter of a second
in every run.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder
from importlib.util import LazyLoader
from types import ModuleType

__all__ = ["loaded_late"]


class _LateFinder(MetaPathFinder):
    """Finds one module, and lets it run only when something of it is asked for."""

    def __init__(self, name: str) -> None:
        self.name = name

    def find_spec(
        self,
        fullname: str,
        path: Sequence[str] | None,
        target: ModuleType | None = None,
    ) -> ModuleSpec | None:
        """The module's own spec with a lazy loader; None for any other module."""
        if fullname != self.name:
            return None
        spec = PathFinder.find_spec(fullname, path, target)
        if spec is not None and spec.loader is not None:
            spec.loader = LazyLoader(spec.loader)
        return spec


@contextmanager
def loaded_late(name: str) -> Iterator[None]:
    """While this holds, an import of the module ``name`` does not run it until it is used."""
    finder = _LateFinder(name)
    sys.meta_path.insert(0, finder)
    try:
        yield
    finally:
        sys.meta_path.remove(finder)
