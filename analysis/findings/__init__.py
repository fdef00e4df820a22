"""What cannot be played or is hard, and what would mend it.

The planner finds what the pedals cannot do. Here is found what the hands and the strings cannot
(``hands``, ``repeats``, ``runs``, within the limits of ``limits``; ``plucks`` lists what the
fingers do), and all of it comes together in ``judge``. ``shared`` looks at two harps' parts.

A mend is a small change of the notes. ``scene`` looks up what stands around a finding,
``proposals`` thinks of mends as a composer would, and ``mending`` tries each of them: the altered
part (``edits``) is planned again in a window of bars (``windows``), and only what helps is offered,
with what it changes. Begin with :func:`with_all_findings` and :func:`with_mends`.
"""

from __future__ import annotations

from pedalsetter.analysis.findings.edits import altered
from pedalsetter.analysis.findings.judge import judge_playing, with_all_findings
from pedalsetter.analysis.findings.limits import Limits
from pedalsetter.analysis.findings.mending import with_mends
from pedalsetter.analysis.findings.sentences import effect_told
from pedalsetter.analysis.findings.shared import shareable

__all__ = [
    "Limits",
    "altered",
    "effect_told",
    "judge_playing",
    "shareable",
    "with_all_findings",
    "with_mends",
]
