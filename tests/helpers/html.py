"""Reading pages in tests: elements with their attributes and their own text."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Protocol


class Answer(Protocol):
    """What the test client returns, as far as a reader of pages cares."""

    @property
    def content(self) -> bytes: ...


@dataclass
class Element:
    tag: str
    attrs: dict[str, str]
    text: str = ""
    parents: list["Element"] = field(default_factory=list)


class _Reader(HTMLParser):
    VOID = ("meta", "link", "input", "br", "hr", "img")

    def __init__(self) -> None:
        super().__init__()
        self.found: list[Element] = []
        self.open: list[Element] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs}, parents=list(self.open))
        self.found.append(element)
        if tag not in self.VOID:
            self.open.append(element)

    def handle_endtag(self, tag: str) -> None:
        while self.open and self.open.pop().tag != tag:
            pass

    def handle_data(self, data: str) -> None:
        for element in self.open:
            element.text += data


def elements(page: str, tag: str = "", **attrs: str) -> list[Element]:
    """All elements of a page, in order, with this tag and these attributes ('_' stands for '-', 'class_')."""
    reader = _Reader()
    reader.feed(page)
    wanted = {name.strip("_").replace("_", "-"): value for name, value in attrs.items()}
    return [element for element in reader.found if tag in ("", element.tag) and wanted.items() <= element.attrs.items()]


def what_breaks_the_policy(page: str) -> Iterator[str]:
    """Everything in a page that a strict content security policy would refuse: inline or from elsewhere."""
    for element in elements(page):
        if element.tag == "style" or (element.tag == "script" and element.text.strip()):
            yield f"<{element.tag}> with text"
        for name, value in element.attrs.items():
            if name == "style" or name.startswith(("on", "hx-on")):
                yield f"{name}= on <{element.tag}>"
            if name in {"src", "href", "action", "data"} and not value.startswith(("/", "#", "?")) and value:
                yield f"{name}={value}"


def text_of(answer: Answer) -> str:
    """The whole page as it was sent."""
    return answer.content.decode()


def words_of(answer: Answer) -> str:
    """The words of a page's main part, with single spaces."""
    return re.sub(r"\s+", " ", elements(text_of(answer), "main")[0].text).strip()
