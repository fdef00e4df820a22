"""From the part to the plan: when each foot moves which pedal. Begin with :func:`plan_changes`.

The road: what the notes ask of each letter (``chord``, ``needs``, ``gathered``, ``demands``, from
what is played when, which :mod:`pedalsetter.analysis.playing` tells), what the musician has decided
(``pins``, ``claims``, ``acceptance``), the places one after the other (``junctions``, ``form``,
``laying``, ``rests``) and what a move costs at each (``weights``, ``sounded``, ``prices``); the
notes as the search shares them out (``struck``, ``notes``); the search of one letter (``states``,
``bounds``, ``letter``), of one foot (``foot``, ``dominance``, ``layer``, ``search``, ``exactly``)
and of both (``teams``, ``meetings``, ``solve``); then one plan followed once more (``attempt``,
``walk``, ``bill``, ``timing``) and worded (``plan``, ``telling``, ``sentences``, ``whys``,
``alternatives``).

**One search.** A plan is a path through the places of the part. The *state* says for each letter
where it stands, what has sounded on it (the last stroke, how long a note is written to sound, when
each register was plucked, what trills on), where it has moved since its last note, and how it stood
at barlines that a later pass comes back to; and for each foot when it last moved. A *transition*
makes at one place any moves that a foot can make there, one after the other, and then answers the
notes: each may be sounded by one of two strings, and one whose letter stands elsewhere is lost, at
the price of a lost note. So repeats, decisions, trills, glissandi, crossing feet, two pedals at
once and lost notes are states and prices, and there is always an answer. A move is paid for when it
is made, but for being early or late, which is paid for at the note that it serves; one that the
diagram of a section tells costs a fifth after a breath, also at the end of a way that leads to it,
so that a diagram shows what is played from there.

**Dominance.** The search is label-setting: of labels in the same state the cheapest is kept. One is
also dropped for another in the same positions if that is cheaper by at least what its memory could
cost more whatever comes (``dominance``), or if the other has made a move already that it
must make before the next note of the letter.

**Bounds.** The same costs are solved at three levels, each the bound of the next. *A letter* by
itself, from the end backwards, knowing of the past only what is certain; the sum over the letters
bounds a foot. By how much a label exceeds it is its *rank*; no transition lowers it, since a letter
by itself is among the ways that its bound has weighed, so a label whose rank is too high for the
plan that is known can be dropped (A*). *A foot*, of which ``exactly`` finds from the end backwards
by how much the ranks must still rise from each place, in excerpts that begin with every letter
wherever suits it best. *Both feet* share only notes that a letter of either can sound: the price of
a respelling is cut in two, a Lagrangian share for each, so that the feet searched one by one never
cost more than the plan. Where they answer a note differently the shares are shifted, around these
notes alone if they are few; one foot is made to follow the other for a plan, and where they never
agree the note is decided both ways (branch and bound). Where a foot may cross, both are searched
as one.

**Always an answer.** Without limits on the ranks, but with so many labels kept at each place, the
search is a beam: it gives a first plan at once, and the least rank that it left out is a bound too.
Wider beams, then proofs, go on while the ``effort`` lasts, which counts labels and not seconds.
What is inside the search is compiled where a C compiler was at hand (the files with a ``.pxd``).
"""

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
