"""One profile for all generated examples, one check of all plan documents, one fresh beginning.

Generated examples are the same ones in every run, without a clock. Every plan document that any
test has the program make is held against its published schema.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import fastjsonschema
import pytest
from hypothesis import settings

from pedalsetter.analysis.patience import begin_anew
from pedalsetter.engrave.output.reports import plan_document

settings.register_profile("fixed", derandomize=True, deadline=None, database=None)
settings.load_profile("fixed")

SCHEMA = Path(__file__).resolve().parents[1] / "examples" / "guide" / "plan.schema.json"
_valid = fastjsonschema.compile(json.loads(SCHEMA.read_text(encoding="utf-8")))
_made = plan_document.plan_document


def _checked(*arguments: Any) -> dict[str, Any]:
    document = _made(*arguments)
    _valid(document)
    return document


plan_document.plan_document = _checked


@pytest.fixture(autouse=True)
def _anew() -> None:
    """Each test begins as a command does, whatever search an earlier one has ended."""
    begin_anew()
