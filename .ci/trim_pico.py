"""Write the part of Pico CSS that the floor board uses, beside the whole: `python3 .ci/trim_pico.py`.

A tablet loads it over a gym's wifi, and almost half of it is for things that the board does not have. A rule goes where
its selector names one of them; what is left stands as in the original and in its order. Standard library only;
`tests/gymtrack/test_trim_pico.py` holds that the file is what this makes.
"""

import re
from collections.abc import Iterator
from pathlib import Path

FOLDER = Path(__file__).resolve().parent.parent / "gymtrack/static/vendor/pico@2.1.1"
WHOLE, TRIMMED = FOLDER / "pico.min.css", FOLDER / "pico.floor.css"
# What the board has none of: elements, classes, roles, kinds of input, themes set by hand, shadow trees.
ABSENT = re.compile(
    r"(?<![\w-])(abbr|area|article|audio|blockquote|canvas|caption|code|del|dialog|dl|embed|figcaption|figure"
    r"|h[456]|hgroup|hr|iframe|img|ins|kbd|mark|nav|object|optgroup|pre|progress|samp|sub|sup|table|tbody|td|tfoot|th"
    r"|thead|tr|video)(?![\w-])"
    r"|\.(container|contrast|dropdown|grid|modal|outline|overflow-auto|striped)"
    r"|\[(aria-busy|data-tooltip|dir=rtl|multiple|role=(link|search|switch)"
    r"|type=(color|date|datetime-local|file|month|range|reset|time|week))"
    r"|:host|:indeterminate|::-ms-|^\[data-theme"
)
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)


def trimmed(css: str) -> str:
    """Return what the board uses of a minified style sheet, with its first comment, which names the licence."""
    licence = COMMENT.search(css)
    return f"{licence[0] if licence else ''}\n{''.join(_rules(COMMENT.sub('', css)))}\n"


def _rules(css: str) -> Iterator[str]:
    at = 0
    while (opened := css.find("{", at)) >= 0:
        end = _closing(css, opened)
        head, body = css[at:opened].removeprefix('@charset "UTF-8";'), css[opened + 1 : end]
        if head.startswith(("@media", "@supports")):
            body = "".join(_rules(body))
        elif not head.startswith("@"):
            head = ",".join(part for part in _parts(head) if not ABSENT.search(_bare(part)))
        if head and body and not head.startswith(("@keyframes", "@-moz")):
            yield f"{head}{{{body}}}"
        at = end + 1


def _closing(css: str, opened: int) -> int:
    depth, at = 1, opened
    while depth:
        at += 1
        depth += {"{": 1, "}": -1}.get(css[at], 0)
    return at


def _parts(selector: str) -> list[str]:
    """Split a selector at the commas outside of brackets."""
    parts, depth = [""], 0
    for sign in selector:
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if sign == "," and not depth:
            parts.append("")
        else:
            parts[-1] += sign
    return parts


def _bare(part: str) -> str:
    """Return a selector without what stands in brackets: `:is(button,[type=file])` is about buttons too."""
    while (without := re.sub(r"\([^()]*\)", "", part)) != part:
        part = without
    return part


if __name__ == "__main__":
    TRIMMED.write_text(trimmed(WHOLE.read_text()))
