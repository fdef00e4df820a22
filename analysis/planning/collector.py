"""Python's collector of cyclic garbage, left idle while a plan is made.

A plan is made of many small objects that refer to each other in one direction only. The collector
would look through all of them again and again, the more the longer the part is, and find nothing.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["idle_collector"]


@contextmanager
def idle_collector() -> Iterator[None]:
    """Leave the collector idle; it goes on afterwards if it was at work before."""
    at_work = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if at_work:
            gc.enable()
