"""The published schema of the plan document tells right from wrong, and every key is in it."""

from __future__ import annotations

import json
from typing import Any

import fastjsonschema
import pytest
from conftest import SCHEMA
from example_scores import CHROMATIC_STUDY

from pedalsetter.engrave.output.reports.plan_document import plan_json
from pedalsetter.engrave.road import plan_score

SCHEMA_DOCUMENT = json.loads(SCHEMA.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    """The plan of a piece with findings, suggestions and notes on other letters."""
    planned = plan_score(CHROMATIC_STUDY.path, mends=True)
    loaded: dict[str, Any] = json.loads(plan_json(planned.part, planned.plan, planned.markings))
    return loaded


def test_every_key_is_described(document: dict[str, Any]) -> None:
    """Nothing stands in the document that the schema does not name."""
    fastjsonschema.validate(SCHEMA_DOCUMENT, document)

    def named(data: object, schema: dict[str, Any]) -> None:
        if "$ref" in schema:
            schema = SCHEMA_DOCUMENT["definitions"][schema["$ref"].rpartition("/")[2]]
        schema = schema.get("anyOf", [schema])[0] if data is not None else {}
        if "$ref" in schema:
            named(data, schema)
        elif isinstance(data, dict) and "properties" in schema:
            assert set(data) <= set(schema["properties"])
            for key, value in data.items():
                named(value, schema["properties"][key])
        elif isinstance(data, list):
            for value in data:
                named(value, schema["items"])

    named(document, SCHEMA_DOCUMENT)


@pytest.mark.parametrize(
    ("path", "wrong"),
    [
        (("version",), 2),
        (("changes", 0, "to"), "#"),
        (("changes", 0, "offset_quarters"), 0.5),
        (("opening", 0, "pedals", "D"), 2),
        (("findings", 0, "severity"), "bad"),
        (("cost", "bound"), "none"),
    ],
)
def test_what_is_wrong_is_found(
    document: dict[str, Any], path: tuple[str | int, ...], wrong: object
) -> None:
    """A value of another kind, or beyond what there is, makes the document invalid."""
    spoiled = json.loads(json.dumps(document))
    place = spoiled
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = wrong

    with pytest.raises(fastjsonschema.JsonSchemaValueException):
        fastjsonschema.validate(SCHEMA_DOCUMENT, spoiled)
