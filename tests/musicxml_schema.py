"""The W3C's schema of MusicXML 4.0, as the package ``musicxml`` ships it; no network is used.

The schema imports two others, for ``xlink:`` and ``xml:`` attributes, by address. Both are given
here, cut down to the attributes that MusicXML uses.
"""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from lxml import etree

__all__ = ["is_valid", "schema_errors"]

_XLINK = """
<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
    targetNamespace="http://www.w3.org/1999/xlink">
  <xs:attribute name="href" type="xs:anyURI"/>
  <xs:attribute name="type" type="xs:token" fixed="simple"/>
  <xs:attribute name="role" type="xs:token"/>
  <xs:attribute name="title" type="xs:token"/>
  <xs:attribute name="show" type="xs:token" default="replace"/>
  <xs:attribute name="actuate" type="xs:token" default="onRequest"/>
</xs:schema>
"""

_XML = """
<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
    targetNamespace="http://www.w3.org/XML/1998/namespace">
  <xs:attribute name="lang" type="xs:language"/>
  <xs:attribute name="space" type="xs:NCName"/>
</xs:schema>
"""


class _Local(etree.Resolver):
    def resolve(self, system_url: str, *others: Any) -> Any:
        for end, schema in (("xlink.xsd", _XLINK), ("/xml.xsd", _XML)):
            if system_url.endswith(end):
                return self.resolve_string(schema, *others[1:], base_url=system_url)
        assert not system_url.startswith(("http:", "https:")), "the schema must not use the network"
        return None


@cache
def _schema() -> etree.XMLSchema:
    # The package itself is not imported: that takes longer than all these tests.
    package = find_spec("musicxml")
    assert package is not None
    assert package.submodule_search_locations
    folder = Path(package.submodule_search_locations[0])
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Local())
    path = folder / "generate_classes" / "musicxml_4_0.xsd"
    return etree.XMLSchema(etree.parse(str(path), parser))


def schema_errors(document: bytes) -> list[str]:
    """What the schema has against a document, without the numbers of lines."""
    schema = _schema()
    schema.validate(etree.fromstring(document.lstrip()))
    errors: Any = schema.error_log
    return [str(error.message) for error in errors]


def is_valid(document: bytes) -> bool:
    """Whether the schema accepts a document."""
    return not schema_errors(document)
