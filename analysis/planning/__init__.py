"""From the part to the plan: when each foot moves which pedal."""

from __future__ import annotations

from pedalsetter.analysis.planning.effort import QUICK, THOROUGH, USUAL, Effort
from pedalsetter.analysis.planning.plan import plan_as_written, plan_changes
from pedalsetter.analysis.planning.weights import Weights

__all__ = [
    "QUICK",
    "THOROUGH",
    "USUAL",
    "Effort",
    "Weights",
    "plan_as_written",
    "plan_changes",
]
