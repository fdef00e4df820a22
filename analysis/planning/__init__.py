"""From the part to the plan: when each foot moves which pedal.

The steps, a file each: the bars as played (``playing_order``), seconds (``clock``), the moments at
which a pedal may move (``moments``), what the music asks at each of them (``demands``, with
``chord`` for notes struck together and ``sustained`` for trills, tremolos and glissandi), the
barlines that several ways meet at (``junctions``), the changes that must be (``windows``), when
each foot makes them (``feet``), and the walk that times them (``timing``). ``plan`` puts them
together; ``sentences`` words what cannot be done; ``weights`` holds every limit.

Begin with :func:`plan_changes`.
"""

from __future__ import annotations

from pedalsetter.analysis.planning.plan import plan_changes
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["Weights", "plan_changes"]
