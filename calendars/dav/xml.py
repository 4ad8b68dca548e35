"""The only way XML comes in and goes out. No document type, so no entities; few elements, not deep."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NoReturn
from xml.etree import ElementTree as ET
from xml.parsers import expat

DAV = "{DAV:}"
CAL = "{urn:ietf:params:xml:ns:caldav}"
CS = "{http://calendarserver.org/ns/}"
OWN = "{featherdays:dav}"  # what no standard has a name for
_PREFIXES = {"d": DAV, "c": CAL, "cs": CS, "f": OWN}

MOST_BYTES = 256 * 1024  # project default (judgement)
MOST_ELEMENTS = 5_000  # project default (judgement)
MOST_DEEP = 24  # project default (judgement)
#: What XML 1.0 cannot carry at all.
_UNSAYABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")

for _prefix, _space in _PREFIXES.items():
    ET.register_namespace(_prefix, _space[1:-1])


class Unreadable(ValueError):
    """What was sent is no XML we read."""


def read(body: bytes) -> ET.Element:
    """Return the root element. Raises Unreadable for what is not well-formed, too much, or has a document type."""
    if len(body) > MOST_BYTES:
        raise Unreadable("too large")
    reader = _Reader()
    parser = expat.ParserCreate(namespace_separator="}")
    parser.StartElementHandler = reader.start
    parser.EndElementHandler = reader.end
    parser.CharacterDataHandler = reader.tree.data
    parser.StartDoctypeDeclHandler = _refuse
    parser.EntityDeclHandler = _refuse
    parser.ExternalEntityRefHandler = _refuse
    try:
        parser.Parse(body, True)
    except (expat.ExpatError, LookupError, ValueError) as error:
        raise Unreadable(str(error)) from error
    return reader.tree.close()


class _Reader:
    """Builds the tree and counts."""

    def __init__(self) -> None:
        self.tree = ET.TreeBuilder()
        self.elements = self.depth = 0

    def start(self, name: str, attributes: dict[str, str]) -> None:
        self.elements += 1
        self.depth += 1
        if self.elements > MOST_ELEMENTS or self.depth > MOST_DEEP:
            raise Unreadable("too many elements")
        self.tree.start(_named(name), {_named(key): value for key, value in attributes.items()})

    def end(self, name: str) -> None:
        self.depth -= 1
        self.tree.end(_named(name))


def _named(name: str) -> str:
    return "{" + name if "}" in name else name


def _refuse(*_what: object) -> NoReturn:
    raise Unreadable("a document type")


def element(tag: str, *inside: ET.Element | str, **attributes: str) -> ET.Element:
    """Return an element with a text, or with elements, inside."""
    made = ET.Element(tag, attributes)
    for one in inside:
        if isinstance(one, str):
            made.text = (made.text or "") + _UNSAYABLE.sub("", one)
        else:
            made.append(one)
    return made


def href(path: str) -> ET.Element:
    """Return a DAV:href."""
    return element(f"{DAV}href", path)


def written(root: ET.Element) -> bytes:
    """Return the document of a root element."""
    return ET.tostring(root, encoding="utf-8", xml_declaration=True)


def names(found: Iterable[ET.Element]) -> list[str]:
    """Return the tags of some elements, each once, in order."""
    return list(dict.fromkeys(one.tag for one in found))
