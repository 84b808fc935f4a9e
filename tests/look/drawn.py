"""Reads a drawing back: parsed SVG, and lists of what stands where."""

from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"


def parsed(drawing: str) -> ElementTree.Element:
    """Parse one drawing; the name space is added because inline SVG needs none."""
    return ElementTree.fromstring(f'<g xmlns="http://www.w3.org/2000/svg">{drawing}</g>')


def of_class(drawing: str, css: str) -> list[ElementTree.Element]:
    """Find every stroke of a class."""
    return [part for part in parsed(drawing).iter() if css in part.get("class", "").split()]


def words_of(drawing: str) -> list[str]:
    """List the words in a drawing."""
    return ["".join(part.itertext()) for part in parsed(drawing).iter(f"{SVG}text")]


def label_of(drawing: str) -> str:
    """Read what a screen reader says."""
    return str(next(parsed(drawing).iter(f"{SVG}svg")).get("aria-label"))
