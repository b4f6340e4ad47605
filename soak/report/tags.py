"""HTML made of parts that escape what they hold: text from a file can never become a tag. Pure."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")


@dataclass(frozen=True, slots=True)
class Html:
    """Text that is HTML already."""

    text: str


Part = str | Html


def clean(text: str) -> str:
    """Text without characters that no page may hold; each becomes a replacement mark."""
    return _CONTROL.sub("\N{REPLACEMENT CHARACTER}", text)


def escaped(part: Part) -> str:
    return part.text if isinstance(part, Html) else html.escape(clean(part))


def tag(name: str, *inner: Part, **attributes: str) -> Html:
    """One element. Attribute names: a leading `cls` is class; an underscore is a hyphen.

    >>> tag("p", "a < b", cls="note").text
    '<p class="note">a &lt; b</p>'
    """
    said = "".join(
        f' {"class" if key == "cls" else key.replace("_", "-")}="{html.escape(clean(value))}"'
        for key, value in attributes.items()
    )
    return Html(f"<{name}{said}>{''.join(escaped(part) for part in inner)}</{name}>")


def join(parts: Iterable[Part]) -> Html:
    return Html("\n".join(escaped(part) for part in parts))


def listed(items: Iterable[Part], **attributes: str) -> Html:
    return tag("ul", join(tag("li", item) for item in items), **attributes)


def table(heads: Sequence[Part], rows: Iterable[Sequence[Part]], caption: Part = "", **attributes: str) -> Html:
    """A table with a head row; it scrolls sideways on a narrow screen."""
    head = tag("thead", tag("tr", *(tag("th", h, scope="col") for h in heads)))
    body = tag("tbody", join(tag("tr", *(tag("td", cell) for cell in row)) for row in rows))
    title = (tag("caption", caption),) if caption else ()
    return tag("div", tag("table", *title, head, body, **attributes), cls="scroll")
