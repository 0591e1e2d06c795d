"""What is left out of scripts and styles is what a browser reads over, and nothing else."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from django.conf import settings

from gymtrack.lib.squeezing import squeezed_script, squeezed_styles
from skills.views import floor

SCRIPT = r"""// A remark.
const said = [];
const say = (...all) => { said.push(all.join(" , ")); };
/** Says which of two. */
function which({ a, b = 2 }, c) {
  const found = a ?? b; // either
  if (found >= 2 && c !== 3 || !c) {
    return c ? `${ a } , { ${b} } = ${c}` : "a : b , ( c )";
  }
  return a + +b - -c;
}
let n = 1
let m = n
++n
say(which({ a: 2 }, 1), which({ a: 1, b: 1 }, 4), which({}, 0), m, n);
say("a, b".split(/ , | , |, /), 6 / 2, `x ${["y , z"].map((each) => `< ${each} >`).join(" , ")} ; w`);
say('single , quotes', "an escape \" , here", `a tick \` , here`, "a ` , tick", [1].map((a) => ({ a })).length);
say([3, 1, 2].sort((a, b) => a - b).map((each) => (each === 1 ? "one" : each)).concat([, 4].length));
console.log(JSON.stringify(said));
"""
OVER_LINES = "const text = `one ,\n  // two = ${1}\n`;\nconsole.log( text );\n"


def _ran(script: str, folder: Path) -> str:
    file = folder / "script.mjs"
    file.write_text(script)
    node = shutil.which("node") or ""
    return subprocess.run([node, file], capture_output=True, text=True, check=True, timeout=60).stdout


@pytest.mark.skipif(shutil.which("node") is None, reason="there is no Node here")
@pytest.mark.parametrize("script", [SCRIPT, OVER_LINES])
def test_a_squeezed_script_says_the_same(script: str, tmp_path: Path) -> None:
    assert _ran(squeezed_script(script), tmp_path) == _ran(script, tmp_path)


@pytest.mark.parametrize(
    ("line", "squeezed"),
    [
        ("const { a, b } = c ?? { d: [1, 2] };", "const{a,b}=c??{d:[1,2]};"),
        ('if (a === ":  ,") return "( b )";', 'if(a===":  ,")return "( b )";'),
        ("a = b ? `${ c } , d` : e;", "a=b?`${ c } , d`:e;"),
        ("a = b + +c;", "a=b + +c;"),
        ("a = b / c;", None),
        ("a = b.replace(/ , /g, c);", None),
        ("a = 'b , c';", None),
        ("a = `b ${c.map((d) => `e , ${d}`)} , f`;", None),
    ],
)
def test_a_line_loses_the_blanks_beside_its_signs_where_that_is_sure(line: str, squeezed: str | None) -> None:
    assert squeezed_script(f"  {line}\n") == f"{squeezed or line}\n"


@pytest.mark.parametrize(
    ("script", "squeezed"),
    [
        ("f(\n  a,\n  b,\n);\n", "f(a,b,);\n"),
        ("a = {\n  b: [\n    1,\n  ],\n};\n", "a={b:[1,],};\n"),
        ("f(a, // it's\n  b);\n", "f(a, // it's\nb);\n"),
        ("let a = 1\n++b\n", "let a=1\n++b\n"),
        ("return\n{ a }\n", "return\n{a}\n"),
    ],
)
def test_lines_are_joined_where_no_statement_can_end(script: str, squeezed: str) -> None:
    assert squeezed_script(script) == squeezed


def test_a_text_over_lines_keeps_the_whole_file_as_it_is() -> None:
    assert squeezed_script(OVER_LINES) == OVER_LINES


def test_of_our_modules_nothing_goes_but_remarks_and_blanks() -> None:
    """And no text in quotes or backticks of any of them is another one."""
    texts = re.compile(r'"(?:[^"\\\n]|\\.)*"|`[^`]*`')
    remarks = re.compile(r"^\s*(?://.*|/\*\*(?:[^*]|\*(?!/))*\*/)\s*\n|\s+//[^\"'`*\n]*$", re.MULTILINE)
    files = [*Path(settings.BASE_DIR, "gymtrack/static/js").rglob("*.js")]
    assert len(files) > 50
    for file in files:
        bare, squeezed = remarks.sub("", file.read_text()), squeezed_script(file.read_text())
        assert re.sub(r"\s", "", squeezed) == re.sub(r"\s", "", bare), file
        assert texts.findall(squeezed) == texts.findall(bare), file


@pytest.mark.parametrize(
    ("sheet", "squeezed"),
    [
        ("a > b,\n  c :hover {\n  color: red;\n  margin: 0 auto;\n}\n", "a>b,c :hover{color:red;margin:0 auto}"),
        ("/* why */ a { width: calc(1px + 2px); }", "a{width:calc(1px + 2px)}"),
        ("/*! Ours : all */\na { b: c; }", "/*! Ours : all */\na{b:c}"),
        ('a::before { content: "b ; { c }"; }', 'a::before{content:"b ; { c }"}'),
        ("@media (min-width: 62rem) and (orientation: landscape) { a { b: c } }",
         "@media (min-width:62rem) and (orientation:landscape){a{b:c}}"),
        (":root { --no: 1px; --yes: 2px; } a { b: var(--yes, 3px); }", ":root{--yes:2px}a{b:var(--yes, 3px)}"),
        (":root { --low: 1; --mid: var(--low); } a { b: c; }", "a{b:c}"),
        (':root { --icon: url("data:image/svg+xml,%3Csvg;}%3E"); --x: 1; } a { b: var(--x); }',
         ":root{--x:1}a{b:var(--x)}"),
    ],
)  # fmt: skip
def test_a_sheet_loses_blanks_remarks_and_properties_that_nobody_asks_for(sheet: str, squeezed: str) -> None:
    assert re.sub(r"var\((--\w+),\s*", r"var(\1, ", squeezed_styles(sheet)) == squeezed


def test_the_boards_sheet_keeps_every_rule_and_every_property_that_it_asks_for() -> None:
    whole = "\n".join(
        (floor._folder() / name).read_text() for name in (*floor._STYLES, *floor._named("css/floor*.css"))
    )
    bare, sheet = re.sub(r"/\*.*?\*/", "", whole, flags=re.DOTALL), floor._sheet()
    asked = set(re.findall(r"var\((--[\w-]+)", sheet))
    assert len(asked) > 100
    given = {name for name in asked if re.search(rf"[{{;\s]{name}:", bare)}
    assert {name for name in given if not re.search(rf"[{{;]{name}:", sheet)} == set()
    assert "Licensed under MIT" in sheet
    own = re.compile(r"(?<![\w-])(?!-)[a-z-]+:(?=[^:;{}]*[;}])")
    assert len(own.findall(sheet)) >= 0.98 * len(own.findall(re.sub(r":\s+", ":", bare)))
