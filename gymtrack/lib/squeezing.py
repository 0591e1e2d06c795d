"""Leaves out of scripts and styles what a browser reads over: remarks, margins, blanks beside signs, unused properties.

It is no parser. It knows where a text begins and ends, touches nothing inside, and leaves a line of a script as it is
when it cannot be sure: one with a slash (a division, or a pattern?), a single quote, or backticks within backticks.
Lines of a script are joined after an opening bracket or a comma alone, where no statement can end.
"""

from __future__ import annotations

import re
from typing import Final

_TEXT: Final = r'"(?:[^"\\\n]|\\.)*"'
_COMMENT: Final = re.compile(r"^[ \t]*(?://.*|/\*\*(?:[^*]|\*(?!/))*\*/[ \t]*)\n", re.MULTILINE)
_ASIDE: Final = re.compile(r"[ \t]+//[^\"'`*\n]*$", re.MULTILINE)  # with a quote in it, it may be the end of a text
_MARGIN: Final = re.compile(r"^\s+", re.MULTILINE)
_WORDS: Final = rf"{_TEXT}|`(?:[^`\\$]|\\.|\$(?!\{{)|\$\{{[^`{{}}]*\}})*`"
_UNSURE: Final = re.compile(r"[/`']")
# No plus or minus: `a + +b` is not `a ++b`.
_BESIDE: Final = re.compile(_WORDS + r"|[ \t]*(=>|[=!]==?|&&|\|\||\?\?=?|[=?:,;{}()\[\]])[ \t]*")
_GOES_ON: Final = re.compile(r"(?<=[{(\[,])\n")

_KEPT: Final = rf"{_TEXT}|'(?:[^'\\\n]|\\.)*'|/\*!.*?\*/"
_STYLE: Final = re.compile(rf"(?P<kept>{_KEPT})|/\*.*?\*/|\s*(?P<sign>[{{}};>])\s*|(?P<after>[:,])\s+", re.DOTALL)
_ASKED: Final = re.compile(r"var\((--[\w-]+)")
_PROPERTY: Final = re.compile(rf"(?<=[{{;])(--[\w-]+):(?:{_TEXT}|[^;}}\"])*(?:;|(?=\}}))")
_EMPTY_RULE: Final = re.compile(r"(?:^|(?<=[{}]))[^{}@;]+\{\}")


def squeezed_script(text: str) -> str:
    """Return a script that does the same: as it is where a text in backticks goes over lines, it may hold anything."""
    if any(line.count("`") % 2 for line in text.splitlines()):
        return text
    bare = _MARGIN.sub("", _ASIDE.sub("", _COMMENT.sub("", text)))
    return "".join(_close(line) for line in bare.splitlines(keepends=True))


def squeezed_styles(text: str) -> str:
    """Return a sheet of the same looks: a remark that begins with an exclamation mark, as licences do, stays."""
    return _asked_for(_STYLE.sub(_styled, text).replace(";}", "}").strip())


def _told_apart(line: str) -> str:
    """Return a line without its texts, which may hold any sign; a backtick within backticks stays."""
    return re.sub(_WORDS, '""', line)


def _close(line: str) -> str:
    if _UNSURE.search(_told_apart(line)):
        return line
    return _GOES_ON.sub("", _BESIDE.sub(lambda found: found[1] or found[0], line))


def _styled(found: re.Match[str]) -> str:
    return found["kept"] or found["sign"] or found["after"] or ""


def _asked_for(sheet: str) -> str:
    """Leave out custom properties that nothing in the sheet asks for, and those that only such asked for."""
    while True:
        asked = set(_ASKED.findall(sheet))
        less = _PROPERTY.sub(lambda found: found[0] if found[1] in asked else "", sheet)  # noqa: B023 # used at once
        if less == sheet:
            return _EMPTY_RULE.sub("", sheet.replace(";}", "}"))
        sheet = less
