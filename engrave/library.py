"""The library: the few names that a program or a notebook needs, and may rely on.

Everything else in the package may move; these names keep their meaning until the version says
otherwise. Results are frozen values; plans, charts and everything engraved show themselves in a
notebook, and what is drawn or engraved is written by ``save(path)``.

====================================  ============================================================
to read and plan a score              :func:`plan_score`, :func:`plan_part`, :func:`decisions_for`
to engrave and mark it                :func:`mark_score`, :func:`load_house_style`
to ask how the pedals stand           :func:`place_named`, :func:`standing_at`
to ask "what if"                      :func:`respelled_bars`, :func:`altered`, :func:`compare_plans`
to see it                             :func:`draw_chart`, :func:`draw_practice_sheet`,
                                      :func:`draw_diagram`, :func:`draw_glissandi`
to find a glissando                   :func:`read_pitch_set`, :func:`glissando_settings`
to say how long to search             :data:`QUICK`, :data:`USUAL`, :data:`THOROUGH`
values                                :class:`Setting`, :class:`HarpPart`, :class:`PedalPlan`,
                                      :class:`Wanted`, :class:`SourceMarks`,
                                      :class:`PlannedScore`, :class:`EngravedScore`
errors                                :class:`PedalsetterError` and what is derived from it
====================================  ============================================================

>>> from pedalsetter.engrave.library import Setting, glissando_settings, read_pitch_set
>>> answer = glissando_settings(read_pitch_set("Cdim7").pitch_classes, Setting.of_key(0))
>>> print(answer.exact[0].setting, answer.exact[0].moves)
D♯ C♮ B♯ | E♭ F♯ G♭ A♮ 5
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import wraps
from importlib.metadata import version
from typing import ParamSpec, TypeVar

from pedalsetter.analysis.asking.comparison import Comparison, compare_plans
from pedalsetter.analysis.asking.standing import Standing, standing_at
from pedalsetter.analysis.asking.what_if import Spelling, respelled_bars
from pedalsetter.analysis.decisions.values import NO_DECISIONS, Decisions
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.errors import PedalsetterError
from pedalsetter.analysis.findings import altered, with_all_findings
from pedalsetter.analysis.glissandi.glissando import (
    GlissandoAnswer,
    GlissandoSetting,
    glissando_settings,
)
from pedalsetter.analysis.glissandi.pitch_sets import PitchSet, read_pitch_set
from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.naming.places import place_named
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Change, Finding, NoteEdit, PedalPlan, Severity
from pedalsetter.analysis.planning import QUICK, THOROUGH, USUAL, Effort, plan_changes
from pedalsetter.engrave import road
from pedalsetter.engrave.house_style import HouseStyle, house_style_names, load_house_style
from pedalsetter.engrave.output.chart.chart import Chart, draw_chart
from pedalsetter.engrave.output.pictures.diagram import draw_diagram
from pedalsetter.engrave.output.pictures.glissando_example import draw_glissandi
from pedalsetter.engrave.output.pictures.picture import EngravedPicture
from pedalsetter.engrave.output.pictures.practice_sheet import draw_practice_sheet
from pedalsetter.engrave.output.results import EngravedScore, PlannedScore
from pedalsetter.engrave.road import Wanted, decisions_for

__all__ = [
    "QUICK",
    "THOROUGH",
    "USUAL",
    "Change",
    "Chart",
    "Comparison",
    "Decisions",
    "Effort",
    "EngravedPicture",
    "EngravedScore",
    "Finding",
    "GlissandoAnswer",
    "GlissandoSetting",
    "HarpPart",
    "HouseStyle",
    "Letter",
    "NoteEdit",
    "PedalPlan",
    "PedalsetterError",
    "PitchSet",
    "Place",
    "PlannedScore",
    "Position",
    "Setting",
    "Severity",
    "SourceMarks",
    "Spelling",
    "Standing",
    "Wanted",
    "__version__",
    "altered",
    "compare_plans",
    "decisions_for",
    "draw_chart",
    "draw_diagram",
    "draw_glissandi",
    "draw_practice_sheet",
    "glissando_settings",
    "house_style_names",
    "load_house_style",
    "mark_score",
    "place_named",
    "plan_part",
    "plan_score",
    "read_pitch_set",
    "respelled_bars",
    "standing_at",
]


__version__ = version("pedalsetter")


Asked = ParamSpec("Asked")
Given = TypeVar("Given")


def _in_arguments(function: Callable[Asked, Given]) -> Callable[Asked, Given]:
    """The function, with errors that say ``part=`` where the command line says ``--part``."""

    @wraps(function)
    def asked(*arguments: Asked.args, **more: Asked.kwargs) -> Given:
        try:
            return function(*arguments, **more)
        except PedalsetterError as error:
            raise error.in_words(_as_argument) from error.__cause__

    return asked


def _as_argument(text: str) -> str:
    return re.sub(
        r"--([a-z][a-z-]*)(?: ([A-Z|]+|\d+))?",
        lambda found: f"{found[1].replace('-', '_')}={(found[2] or '…').lower()}",
        text,
    )


plan_score = _in_arguments(road.plan_score)
mark_score = _in_arguments(road.mark_score)


def plan_part(
    part: HarpPart, decisions: Decisions = NO_DECISIONS, *, effort: Effort = USUAL
) -> PlannedScore:
    """Plan a part that is read already, for example one that was altered, and mark it.

    ``effort`` is how much the plan may cost to find.

    Raises:
        DecisionsError: the decisions contradict themselves.
    """
    plan = with_all_findings(part, plan_changes(part, decisions=decisions, effort=effort))
    return PlannedScore(part, plan, place_marks(part, plan), decisions)
