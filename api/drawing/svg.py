"""The few SVG elements that drawings are made of."""

from __future__ import annotations

import re
from xml.etree import ElementTree

Element = ElementTree.Element

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def canvas(width: float, height: float, title: str, description: str) -> Element:
    """An empty drawing on white, with a name and a description for who can't see it."""
    root = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {width:.0f} {height:.0f}",
            "width": f"{width:.0f}",
            "height": f"{height:.0f}",
            "role": "img",
            "aria-labelledby": "drawing-title drawing-description",
            "font-family": "system-ui, 'DejaVu Sans', sans-serif",
        },
    )
    named(root, title, id="drawing-title")
    add(root, "desc", id="drawing-description").text = clean(description)
    add(root, "rect", width="100%", height="100%", fill="#ffffff")
    return root


def add(parent: Element, tag: str, **attributes: str | float) -> Element:
    """A new child; `text_anchor` is written `text-anchor` and `class_` `class`."""
    names = {name: name.rstrip("_").replace("_", "-") for name in attributes}
    values = {
        names[name]: value if isinstance(value, str) else f"{value:.2f}".rstrip("0").rstrip(".")
        for name, value in attributes.items()
    }
    return ElementTree.SubElement(parent, tag, values)


def write(parent: Element, x: float, y: float, words: str, **attributes: str | float) -> Element:
    """A line of text whose baseline starts (or ends, or is centred) at x, y."""
    attributes = {"font_size": 12, "fill": "#1b1f24", **attributes}
    element = add(parent, "text", x=x, y=y, **attributes)
    element.text = clean(words)
    return element


def named(parent: Element, name: str, **attributes: str) -> None:
    """Give an element a title: its accessible name, shown by a pointer that rests on it."""
    add(parent, "title", **attributes).text = clean(name)


def clean(words: str) -> str:
    """The text without the characters that no XML document may hold."""
    return _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", words)


def text_of(root: Element) -> str:
    """The drawing as text."""
    return ElementTree.tostring(root, encoding="unicode")
