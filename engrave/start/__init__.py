"""Pedalsetter: plans, proves and engraves the pedal changes of a concert-harp part.

Programs and notebooks use :mod:`pedalsetter.engrave.library`; ``python -m pedalsetter`` is the
command.
"""

from __future__ import annotations

from importlib.metadata import version

__all__ = ["__version__"]

__version__ = version("pedalsetter")
