"""PDF: text stays text in every script, equal values make equal bytes, and what no font has is said."""

import io
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from pypdf import PdfReader
from pypdf.generic import ContentStream

from gymtrack.lib.pdf import REPLACEMENT, make_pdf

TEMPLATE = """
#let values = json(bytes(sys.inputs.values))
#let unprintable = json(bytes(sys.inputs.unprintable))
#set document(title: "Names", date: datetime(year: 2026, month: 12, day: 1))
#set text(font: ("Noto Sans", "Noto Sans CJK SC"), lang: "en")
#for name in values.names [#par[#name]]
#par[Left out: #unprintable.join(", ")]
"""
# As written; the names are invented. pypdf reads these back as they are: one glyph is one letter.
PLAIN = [
    "Żółć Gęślą-Jaźń",
    "Ольга Щукина",
    "Νίκος Ώρας",
    "שלום כהן",
    "長谷川 みちこ",
    "王小明",
    "김철수",
    "Զարե გია ፍቅር",
]
# Where letters join or change places, the PDF carries the text itself beside the glyphs (ISO 32000-1, 14.9.4).
JOINED = {"प्रिया": "प्रिया", "ณัฐ": "ณั", "ஆதி": "தி"}
BEH = "\u0628"


@pytest.fixture
def template(tmp_path: Path) -> Path:
    path = tmp_path / "names.typ"
    path.write_text(TEMPLATE, encoding="utf-8")
    return path


def text_of(content: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)


def told_beside(content: bytes) -> str:
    """The texts that stand beside glyphs, in their order."""
    reader = PdfReader(io.BytesIO(content))
    marks = [
        operands[1]
        for page in reader.pages
        for operands, operator in ContentStream(page.get_contents(), reader).operations
        if operator == b"BDC" and isinstance(operands[1], dict)
    ]
    return "".join(mark["/ActualText"] for mark in marks if "/ActualText" in mark)


@pytest.mark.parametrize("name", PLAIN)
def test_a_name_in_any_script_is_read_back_as_it_was_written(template, name):
    pdf = make_pdf(template, {"names": [name]})
    # A right-to-left line is read back word by word from its other end.
    assert sorted(text_of(pdf.content).splitlines()[0].split()) == sorted(name.split())
    assert not pdf.unprintable


@pytest.mark.parametrize(("name", "joined"), JOINED.items())
def test_letters_that_join_stand_as_text_beside_their_glyphs(template, name, joined):
    assert told_beside(make_pdf(template, {"names": [name]}).content) == joined


def test_arabic_letters_take_their_joined_forms(template):
    """Beh has a dot, and a body that differs alone, at the beginning, inside and at the end of a word."""
    alone, apart, joined = (
        glyphs_of_beh(make_pdf(template, {"names": [name]}).content) for name in (BEH, " ".join(BEH * 3), BEH * 3)
    )
    assert (alone, apart, joined) == (2, 2, 4)


def glyphs_of_beh(content: bytes) -> int:
    """How many glyphs of the Arabic font stand for the letter."""
    (page,) = PdfReader(io.BytesIO(content)).pages
    resources: Any = page["/Resources"]
    fonts = [font.get_object() for font in resources["/Font"].values()]
    (arabic,) = [font for font in fonts if "Arabic" in font["/BaseFont"]]
    lines = arabic["/ToUnicode"].get_data().decode().splitlines()
    return len({line for line in lines if line.endswith("<0628>")})


def test_what_is_written_is_text_and_never_markup(template):
    names = ['#read("/etc/passwd")', "*strong* $x$ @ref <label>", '#import "@preview/x:1.0.0"', "\\u{1} \\ // /* */"]
    read = text_of(make_pdf(template, {"names": names}).content)
    assert [line for line in read.splitlines() if line in names] == names


def test_equal_values_make_equal_bytes(template):
    one = make_pdf(template, {"names": PLAIN}).content
    assert make_pdf(template, {"names": PLAIN}).content == one
    assert make_pdf(template, {"names": PLAIN[1:]}).content != one


def test_equal_values_make_equal_bytes_in_another_process(template):
    program = (
        "import sys; from pathlib import Path; from gymtrack.lib.pdf import make_pdf;"
        "sys.stdout.buffer.write(make_pdf(Path(sys.argv[1]), {'names': ['Żółć', '김철수']}).content)"
    )
    other = subprocess.run([sys.executable, "-c", program, str(template)], capture_output=True, check=True).stdout
    assert other == make_pdf(template, {"names": ["Żółć", "김철수"]}).content


def test_what_no_font_has_is_named_and_the_rest_is_printed(template):
    pdf = make_pdf(template, {"names": ["Ada \u13a0\ue000 Li", "tab\x01"]})
    assert pdf.unprintable == ("\x01", "\u13a0", "\ue000")
    read = text_of(pdf.content)
    assert f"Ada {REPLACEMENT * 2} Li" in read
    assert "Left out: U+0001, U+13A0, U+E000" in read


def test_a_text_full_of_letters_that_no_font_has_is_printed_without_them(template):
    pdf = make_pdf(template, {"names": ["".join(map(chr, range(0x13A0, 0x13F0))), "Ada Ольга"]})
    assert len(pdf.unprintable) == 80
    assert "Ada Ольга" in text_of(pdf.content)


def test_a_name_cannot_turn_the_rest_of_its_line_around(template):
    assert "abc" in text_of(make_pdf(template, {"names": ["\u202eabc"]}).content)


def test_the_document_can_be_read_by_a_screen_reader(template):
    catalog: Any = PdfReader(io.BytesIO(make_pdf(template, {"names": ["Ada"]}).content)).trailer["/Root"]
    assert catalog["/MarkInfo"]["/Marked"]
    assert catalog["/Lang"] == "en"
    assert b"pdfuaid:part" in catalog["/Metadata"].get_data()


@pytest.mark.parametrize("escape", ['#read("/../secret.txt")', '#read("../secret.txt")', '#read("/etc/hostname")'])
def test_a_template_reads_its_own_folder_alone(tmp_path, escape):
    (tmp_path / "secret.txt").write_text("secret", encoding="utf-8")
    inside = tmp_path / "inside"
    inside.mkdir()
    (inside / "a.typ").write_text(escape, encoding="utf-8")
    with pytest.raises(RuntimeError, match=r"escape the project root|file not found"):
        make_pdf(inside / "a.typ", {})


def test_a_wrong_template_is_an_error(tmp_path):
    (tmp_path / "a.typ").write_text("#let x = ", encoding="utf-8")
    with pytest.raises(RuntimeError, match="expected expression"):
        make_pdf(tmp_path / "a.typ", {})


def test_several_at_once_each_get_their_own(template):
    with ThreadPoolExecutor(4) as pool:
        made = list(pool.map(lambda number: make_pdf(template, {"names": [f"Person {number}"]}), range(12)))
    assert [f"Person {number}" in text_of(pdf.content) for number, pdf in enumerate(made)] == [True] * 12


def test_no_template_of_the_project_loads_anything():
    templates = list((settings.BASE_DIR / "templates").rglob("*.typ"))
    assert templates
    assert not [path for path in templates if re.search(r"#(import|include)\b|@preview", path.read_text("utf-8"))]
