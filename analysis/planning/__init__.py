"""From the part to the plan: when each foot moves which pedal.

The plan is an optimum, not a heuristic: of all openings, strings and moments it takes those that
cost least under the named prices of :class:`Weights`, and says whether that is proved.

The steps, a file each. *What is asked*: the bars as played (``playing_order``), seconds
(``clock``), the moments at which a pedal may move (``moments``), what is struck at each of them
(``strikes``, with ``sustained`` for ties, trills, tremolos and glissandi), and which letter must
therefore stand where (``demands``; of one moment, ``needs`` and ``chord``). *What follows*: the
barlines that several ways meet at (``junctions``), the changes that must be, each with its window
(``windows``), and what each costs at each place (``prices``, ``weights``). *What is chosen*: a
quick schedule of one foot (``feet``), the best one (``optimum``, which solves ``clusters`` of
changes that hurry each other), the settings at the junctions (``junction_settings``), and all of
that for given strings (``placing``). *Strings, moves and settings together*: ``string_search``
shares out notes that two letters can sound (``shared_notes``, and ``weighed_trills`` for what
lasts over several moments), bounds each letter by itself (``letter_bound``) and solves each foot
exactly within that bound (``foot_programme``, with ``foot_step`` for one place, and ``best_way``
where the music is hard); ``proof`` tells at once where no other string can pay, and where the
search has to be given up ``equivalents`` and ``variants`` seek better strings step by step.
``timing`` walks through the music as played and times the feet, ``bill`` adds up the cost,
``telling`` and ``sentences`` word why and what is hard, ``plan`` puts all together.

The feet share nothing but the notes that a letter of either could sound, unless they may cross:
then ``crossing`` tries which of them makes a change of E or B, ``foot_programme`` lets each foot
give its middle pedal to the other one (which is taken to be free, so that the bound holds), and
``both_feet`` follows both at once where that leaves a doubt. ``two_pedals`` says which changes one
movement of a foot can make. Begin with :func:`plan_changes`.
"""

from __future__ import annotations

from pedalsetter.analysis.planning.plan import plan_as_written, plan_changes
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["Weights", "plan_as_written", "plan_changes"]
