"""A strict reading of a page: every element closed in order, nothing that asks the outside, ids unique."""

from __future__ import annotations

import re
from html.parser import HTMLParser

VOID = {"meta", "br"}
BARRED = {"script", "link", "img", "iframe", "object", "embed", "base", "form", "image", "foreignobject", "a"}
BLOCKS = {"p", "div", "table", "ul", "ol", "pre", "figure", "section", "h1", "h2", "h3", "h4", "header", "main"}
PARENTS = {
    "li": {"ul", "ol"},
    "thead": {"table"},
    "tbody": {"table"},
    "caption": {"table"},
    "tr": {"thead", "tbody"},
    "th": {"tr"},
    "td": {"tr"},
    "figcaption": {"figure"},
}


class Page(HTMLParser):
    """Reads a page; `faults` says what is wrong with it. `text` is what a person reads."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.faults: list[str] = []
        self.open: list[str] = []
        self.ids: list[str] = []
        self.pointed: list[str] = []
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.text = ""
        if not page.startswith("<!DOCTYPE html>\n<html "):
            self.faults.append("does not begin as HTML5")
        for bare in re.findall(r"&(?!(?:[a-z]+|#\d+|#x[0-9a-f]+);)", page):
            self.faults.append(f"a bare {bare}")
        self.feed(page)
        self.close()
        self.faults += [f"{name} is never closed" for name in self.open]
        self.faults += [f"id {name} twice" for name in set(self.ids) if self.ids.count(name) > 1]
        self.faults += [f"#{name} points nowhere" for name in self.pointed if name not in self.ids]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {key: value or "" for key, value in attrs}
        self.tags.append((tag, said))
        if len(said) != len(attrs):
            self.faults.append(f"{tag} says an attribute twice")
        if tag in BARRED:
            self.faults.append(f"{tag} is not allowed here")
        if tag in BLOCKS and "p" in self.open:
            self.faults.append(f"{tag} inside p")
        if tag in PARENTS and self.open[-1:] and self.open[-1] not in PARENTS[tag]:
            self.faults.append(f"{tag} inside {self.open[-1]}")
        for key, value in said.items():
            self._attribute(tag, key, value)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if "svg" not in self.open:
            self.faults.append(f"<{tag}/> outside a figure")
        self.handle_starttag(tag, attrs)
        self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open[-1] != tag:
            self.faults.append(f"</{tag}> closes {self.open[-1:]}")
        else:
            self.open.pop()

    def handle_data(self, data: str) -> None:
        if self.open[-1:] != ["style"]:
            self.text += data
        elif "url(" in data or "@import" in data:
            self.faults.append("the style sheet asks for a file")

    def _attribute(self, tag: str, key: str, value: str) -> None:
        if key.startswith("on"):
            self.faults.append(f"{tag} has {key}")
        if key in ("src", "href", "xlink:href", "action", "srcset", "data"):
            if value.startswith("#"):
                self.pointed.append(value[1:])
            else:
                self.faults.append(f"{tag} asks for {value}")
        if key == "id":
            self.ids.append(value)
        for place in re.findall(r"url\(([^)]*)\)", value):
            if place.startswith("#"):
                self.pointed.append(place[1:])
            else:
                self.faults.append(f"{tag} asks for {place}")
