"""Modules joined into one script run as they run apart; what is not known to be safe is refused."""

import shutil
import subprocess
from pathlib import Path

import pytest

from gymtrack.lib.joining import Joined, JoiningError, joined

MODULES = {
    "a/app.js": """// The entry.
import { double, Shape as Form } from "./low.js";
import {
  once,
} from "./mid.js";

const names = { late: () => import("./late.js") };
once("app");
const { said } = await names.late();
const again = await names.late();
console.log(double(21), new Form().sides, new Form().address, said, said === again.said, once.seen.join());
""",
    "a/low.js": """/** Twice as much. */
export const double = (number) => 2 * number;
export class Shape {
  sides = 4; // of a square
  address = "https://gym.example // 'floor'"; // as "given"
}
const hidden = "low";
export function* hiddenOf() {
  yield hidden;
}
""",
    "a/mid.js": """import { double } from "./low.js";
const hidden = `two
    // lines of ${double(1)}`;
export function once(name) {
  (once.seen ??= []).push(name);
  return hidden;
}
""",
    "a/late.js": """import { once } from "./mid.js";
import { deep } from "../deep.js";
once("late");
export const said = deep;
""",
    "deep.js": "export const deep = 'deep';\n",
}


def join(modules: dict[str, str]) -> Joined:
    return joined("a/app.js", modules.__getitem__, later_address="./later.mjs")


@pytest.mark.skipif(shutil.which("node") is None, reason="there is no Node here")
def test_joined_modules_say_what_they_say_apart(tmp_path: Path) -> None:
    script = join(MODULES)
    (tmp_path / "first.mjs").write_text(script.first)
    (tmp_path / "later.mjs").write_text(script.later)
    for name, text in MODULES.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text)
    (tmp_path / "package.json").write_text('{"type": "module"}')
    said = [_said(tmp_path / name) for name in ("first.mjs", "a/app.js")]
    assert said == ["42 4 https://gym.example // 'floor' deep true app,late\n"] * 2


def _said(script: Path) -> str:
    ran = subprocess.run([shutil.which("node") or "", script], capture_output=True, text=True, check=True, timeout=60)
    return ran.stdout


def test_what_is_asked_for_later_is_in_the_second_script_with_what_it_alone_imports() -> None:
    script = join(MODULES)
    assert [name in script.first for name in ('"a/low.js"] =', '"a/mid.js"] =', '"deep.js"] =')] == [True, True, False]
    assert [name in script.later for name in ('"a/low.js"] =', '"a/late.js"] =', '"deep.js"] =')] == [False, True, True]


def test_comments_and_margins_stay_at_home() -> None:
    script = join(MODULES).first
    assert [words in script for words in ("The entry", "Twice as much", "of a square")] == [False] * 3
    assert "{sides=4;\naddress = " in script
    assert 'as "given"' in script  # nobody knows what a quote belongs to
    assert "two\n    // lines of" in script


@pytest.mark.parametrize(
    "line",
    [
        'import whole from "./low.js";',
        'import * as low from "./low.js";',
        'import "./low.js";',
        "export default 1;",
        "export { a };",
        'export * from "./low.js";',
        "export let changes = 1;",
        "console.log(import.meta.url);",
    ],
)
def test_a_form_that_is_not_known_is_refused_by_its_line(line: str) -> None:
    with pytest.raises(JoiningError, match=r"a/mid\.js has a form that is not known here: "):
        join({**MODULES, "a/mid.js": f"{line}\n{MODULES['a/mid.js']}"})


def test_modules_in_a_circle_are_refused() -> None:
    circle = {**MODULES, "a/low.js": 'import { once } from "./mid.js";\n' + MODULES["a/low.js"]}
    with pytest.raises(JoiningError, match=r"a/low\.js imports a/mid\.js imports a/low\.js"):
        join(circle)
