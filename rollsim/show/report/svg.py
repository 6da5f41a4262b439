"""Pictures set into a page: as SVG elements without style sheets, and with their own names."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from xml.etree import ElementTree as ET

from markupsafe import Markup
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.show import style
from rollsim.show.report.blocks import Picture

SVG = "http://www.w3.org/2000/svg"
LINK = "http://www.w3.org/1999/xlink"
HREF = f"{{{LINK}}}href"
DROPPED = frozenset({f"{{{SVG}}}metadata", f"{{{SVG}}}style"})
REFERENCE = re.compile(r"url\(#([^)]+)\)")
LONG = re.compile(r"-?\d+\.\d{3,}")


def picture(figure: Figure, name: str, caption: str) -> Picture:
    """A figure with its caption; `name` keeps its inner names apart from those of others.

    The notes at the picture's foot go into the caption, where they can be read in full size; the
    cautions, which every picture carries, stand on the page itself.
    """
    notes = _lifted(figure)
    drawn = inline_svg(figure, name, caption)
    words = " ".join(part for part in (caption, notes) if part)
    return Picture(drawn, words, figure.get_figheight() > TALL)


def _lifted(figure: Figure) -> str:
    """Take the title and the small print off a picture; the notes among the print."""
    foot = next(text for text in figure.texts if text.get_gid() == "cautions")
    words = " ".join(foot.get_text().replace(r"\$", "$").split())
    for caution in (CAUTION, LOLL_WARNING):
        words = words.replace(caution, "")
    foot.remove()
    figure.suptitle("")
    engine = figure.get_layout_engine()
    assert isinstance(engine, ConstrainedLayoutEngine)
    left, low, width, _ = engine.get()["rect"]
    figure.set_figheight(figure.get_figheight() * (1.0 - low) - TITLE_HEIGHT)
    engine.set(rect=(left, 0.0, width, 1.0))
    return words.strip()


TALL = 8.5
"""The height [in] from which a picture is called tall."""
TITLE_HEIGHT = 2.3 * style.TITLE / 72.0
"""Height [in] that the title of a picture takes."""


@style.styled
def inline_svg(figure: Figure, name: str, label: str) -> Markup:
    """A figure as one SVG element: no style sheet, inner names that begin with `name`."""
    written = io.StringIO()
    figure.savefig(written, format="svg", metadata=style.METADATA[".svg"])
    root = ET.fromstring(written.getvalue())
    _without(root)
    names = _names(root, name)
    for element in root.iter():
        _plain(element, names)
    for size in ("width", "height", "version"):
        root.attrib.pop(size, None)
    # What the style sheet that was dropped set for everything.
    root.attrib |= {"stroke-linejoin": "round", "stroke-linecap": "butt"}
    root.attrib |= {"role": "img", "aria-label": label}
    ET.register_namespace("", SVG)
    ET.register_namespace("xlink", LINK)
    # The writer of XML has escaped every text in it.
    return Markup(ET.tostring(root, encoding="unicode"))


def _without(root: ET.Element) -> None:
    """Drop what speaks to programs and not to the reader."""
    for parent in list(root.iter()):
        for child in [child for child in parent if child.tag in DROPPED]:
            parent.remove(child)


def _names(root: ET.Element, name: str) -> dict[str, str]:
    """A new name for every inner one that is used: a short one, the same in equal pictures.

    Those that matplotlib makes hold the last digits of places, which vary in equal pictures.
    """
    used: dict[str, str] = {}
    for element in root.iter():
        for key, value in element.attrib.items():
            links = [value[1:]] if key == HREF else REFERENCE.findall(value)
            for link in links:
                used.setdefault(link, f"{name}-{len(used)}")
    return used


def _plain(element: ET.Element, names: Mapping[str, str]) -> None:
    """Style as attributes, which a strict page allows; new names; two decimals in paths."""
    for declaration in element.attrib.pop("style", "").split(";"):
        key, _, value = declaration.partition(":")
        if value:
            element.set(key.strip(), value.strip())
    new = names.get(element.attrib.pop("id", ""))
    if new:
        element.set("id", new)
    for key, value in element.attrib.items():
        if key == HREF:
            element.set(key, f"#{names[value[1:]]}")
        elif key == "d":
            element.set(key, LONG.sub(lambda match: f"{float(match[0]):.2f}", value))
        elif "url(#" in value:
            element.set(key, REFERENCE.sub(lambda match: f"url(#{names[match[1]]})", value))
