"""Reading a roster. The numbered rules are those of RFC 4180, section 2."""

import csv
import io
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.core.roster import RosterEntry, name_problem, notes_problem, tidy_name
from athletes.core.roster_file import COLUMNS, MOST_BYTES, MOST_ROWS, RosterFile, read_roster

TODAY = date(2026, 3, 29)
ADA = RosterEntry("Ada Lindqvist")


def read(text: str | bytes) -> RosterFile:
    return read_roster(text if isinstance(text, bytes) else text.encode(), today=TODAY)


def told(text: str | bytes) -> list[str]:
    return [str(problem) for problem in read(text).problems]


@pytest.mark.parametrize(
    ("text", "entries"),
    [
        pytest.param(
            "name,notes\r\naaa,bbb\r\nzzz,yyy\r\n", [("aaa", "bbb"), ("zzz", "yyy")], id="1 lines end in CRLF"
        ),
        pytest.param("name,notes\r\naaa,bbb\r\nzzz,yyy", [("aaa", "bbb"), ("zzz", "yyy")], id="2 the last may lack it"),
        pytest.param("notes,name\r\nbbb,aaa\r\n", [("aaa", "bbb")], id="3 a header names the fields"),
        pytest.param("name,notes\r\naaa,b b  b\r\n", [("aaa", "b b  b")], id="4 spaces belong to a field"),
        pytest.param(
            'name,notes\r\n"aaa","bbb"\r\nzzz,yyy\r\n', [("aaa", "bbb"), ("zzz", "yyy")], id="5 quotes or none"
        ),
        pytest.param(
            'name,notes\r\n"aaa","b\r\nb,b"\r\nz,y\r\n', [("aaa", "b\nb,b"), ("z", "y")], id="6 CRLF and comma"
        ),
        pytest.param('name,notes\r\n"aaa","b""bb"\r\n', [("aaa", 'b"bb')], id="7 a doubled quote is one"),
    ],
)
def test_rule_of_rfc_4180(text, entries):
    file = read(text)
    assert file.problems == ()
    assert [(entry.full_name, entry.notes) for entry in file.entries] == entries


@pytest.mark.parametrize(
    "text",
    [
        "name\nAda Lindqvist\n",
        "\ufeffname\r\nAda Lindqvist\r\n",
        "name\rAda Lindqvist\r",
        ' NAME ,notes\n"  Ada   Lindqvist ",\n',
        "name;notes\nAda Lindqvist;\n",
        "\n\nname,notes\n,\n\nAda Lindqvist,\n",
        '"name","notes"\nAda Lindqvist,\n',
    ],
    ids=["LF", "byte order mark", "CR", "spaces", "semicolons", "blank lines", "quoted header"],
)
def test_the_same_person_however_the_file_is_written(text):
    assert read(text) == RosterFile((ADA,))


def test_every_column_is_read_and_commas_in_numbers_are_understood():
    file = read(
        "name;birth_date;stature_m;mass_kg;email;notes\n"
        'Ada Lindqvist;2008-02-29;1,725;68.555;Ada@Gym.Example;"left wrist\r\nwas sore"\n'
    )
    assert file.entries == (
        RosterEntry(
            "Ada Lindqvist",
            date(2008, 2, 29),
            Decimal("1.725"),
            Decimal("68.56"),
            "ada@gym.example",
            "left wrist\nwas sore",
        ),
    )


@pytest.mark.parametrize(
    ("column", "cell", "sentence"),
    [
        ("name", "", "A name is missing."),
        ("name", "x" * 121, "The name has 121 characters; 120 is the most."),
        ("name", "A\x07da", "The name has characters in it that cannot be seen (control characters)."),
        ("birth_date", "30.05.2011", "“30.05.2011” is no date; write it like 2011-05-30."),
        ("birth_date", "20110530", "“20110530” is no date; write it like 2011-05-30."),
        ("birth_date", "2011-02-29", "“2011-02-29” is no date; write it like 2011-05-30."),
        ("birth_date", "2026-03-30", "The birth date 2026-03-30 is in the future."),
        ("birth_date", "1890-01-01", "The birth date 1890-01-01 is more than 120 years ago."),
        ("stature_m", "172", "172 m is outside 0.8 to 2.5 m."),
        ("stature_m", "0.799", "0.799 m is outside 0.8 to 2.5 m."),
        ("stature_m", "2.501", "2.501 m is outside 0.8 to 2.5 m."),
        ("stature_m", "1.72 m", "“1.72 m” is no number of metres; write it like 1.72."),
        ("stature_m", "NaN", "“NaN” is no number of metres; write it like 1.72."),
        ("mass_kg", "14.99", "14.99 kg is outside 15 to 250 kg."),
        ("mass_kg", "251", "251 kg is outside 15 to 250 kg."),
        ("mass_kg", "6e1", "“6e1” is no number of kilograms; write it like 68.5."),
        ("mass_kg", "-70", "“-70” is no number of kilograms; write it like 68.5."),
        ("email", "ada", "“ada” is no e-mail address; write it like ada@gym.example."),
        ("email", "ada@gym", "“ada@gym” is no e-mail address; write it like ada@gym.example."),
        ("email", "a da@gym.example", "“a da@gym.example” is no e-mail address; write it like ada@gym.example."),
        ("notes", "x" * 2001, "The notes have 2001 characters; 2000 is the most."),
        ("notes", "a\0b", "There is a NUL byte in the cell, which no text has."),
        ("email", "a\0@gym.example", "There is a NUL byte in the cell, which no text has."),
    ],
)
def test_a_bad_cell_is_named_with_line_and_column_and_alone(column, cell, sentence):
    cells = {"name": "Bo Berg", "notes": "x", column: cell}
    line = ",".join(cells.get(name, "") for name in COLUMNS)
    file = read(f"{','.join(COLUMNS)}\nAda Lindqvist,,,,,\n{line}\nCy Chen,,,,,\n")
    assert [str(problem) for problem in file.problems] == [f"line 3, column {column}: {sentence}"]
    assert [entry.full_name for entry in file.entries] == ["Ada Lindqvist", "Cy Chen"]


@pytest.mark.parametrize(
    ("column", "cell"),
    [("stature_m", "0.8"), ("stature_m", "2.5"), ("mass_kg", "15"), ("mass_kg", "250"), ("birth_date", "2026-03-29")],
)
def test_a_limit_itself_is_good(column, cell):
    assert told(f"name,{column}\nAda,{cell}\n") == []


def test_all_problems_are_told_at_once():
    text = (
        b"name,birth_date,email\n"
        b"Ada,tomorrow,x\n"
        b'"A"da,2001-01-01,\n'
        b'"Bo\nBerg",2001-01-01,\n'
        b"bo  BERG,2001-01-01,\n"
        b"Cy,2001-01-01\n"
        b"\xe9t\xe9,2001-01-01,\n"
        b'Di,2001-01-01,"\n'
    )
    assert told(text) == [
        "line 2, column birth_date: “tomorrow” is no date; write it like 2011-05-30.",
        "line 2, column email: “x” is no e-mail address; write it like ada@gym.example.",
        "line 3: The quotation marks do not match: one opens a cell, one ends it, and one inside it is doubled.",
        "line 6: This person stands in line 4 already (same name and birth date).",
        "line 7: There are 2 cells here, and the first line has 3.",
        "line 8, column name: The cell is not UTF-8 text. Save the file as CSV in UTF-8.",
        "line 9: A quotation mark opens here and is never closed.",
    ]
    assert read(text).bad_lines == 6


def test_one_name_in_two_unicode_spellings_is_one_person():
    assert told("name\nZoë\nZoe\u0308\n") == [
        "line 3: This person stands in line 2 already (same name and birth date)."
    ]


def test_two_people_of_one_name_are_told_apart_by_birth_date():
    assert len(read("name,birth_date\nAda,2001-01-01\nAda,2001-01-02\n").entries) == 2


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "line 1: The file is empty."),
        (b"\xef\xbb\xbf \r\n", "line 1: The file is empty."),
        ("name\nAda\n".encode("utf-16"), "line 1: The file is UTF-16 text. Save it as CSV in UTF-8."),
        (
            b"email\na@b.example\n",
            "line 1, column name: The first line must name the columns, and “name” is not among them.",
        ),
        (b"name,name\nAda,Ada\n", "line 1, column name: The column stands there twice."),
        (b"name,\nAda,x\n", "line 1, column 2: Column 2 has no name."),
        (
            b"name,height\nAda,1\n",
            f"line 1, column height: The column “height” is not known; the columns are {', '.join(COLUMNS)}.",
        ),
    ],
    ids=["nothing", "blanks", "UTF-16", "no name", "twice", "nameless", "unknown"],
)
def test_a_bad_file_is_told_as_such(content, sentence):
    assert [str(problem) for problem in read(content).file_problems] == [sentence]


def test_a_file_over_the_limit_is_not_read():
    (problem,) = told(b"name\n" + b"x" * MOST_BYTES)
    assert problem.startswith("line 1: The file has ")


def test_a_file_with_too_many_rows_is_told_and_gives_none():
    rows = "".join(f"Person {n}\n" for n in range(MOST_ROWS))
    assert len(read(f"name\n{rows}").lines) == MOST_ROWS
    file = read(f"name\n{rows}One more\nBad\0\n")
    assert [str(problem) for problem in file.problems] == [
        "line 5002: The file has more than 5,000 rows. Part it, with the first line in each part."
    ]
    assert file.lines == ()


def test_good_rows_know_their_line():
    file = read('name,notes\nAda,"two\nlines"\nBo\n\nCy,x\n')
    assert [(row.line, row.entry.full_name) for row in file.lines] == [(2, "Ada"), (6, "Cy")]


def test_problems_can_be_printed_whatever_bytes_the_file_has():
    for problem in told(b"name,\x1b[31m\xff\n\xff,\x1b\xff\n"):
        assert problem.encode().decode().isprintable()


names = st.text(max_size=40).map(tidy_name).filter(lambda name: not name_problem(name))
notes = st.text(max_size=40).map(str.strip).filter(lambda text: "\r" not in text and not notes_problem(text))
entries_of_people = st.builds(
    RosterEntry,
    full_name=names,
    birth_on=st.none() | st.dates(date(1930, 1, 1), TODAY),
    stature_m=st.none() | st.decimals(Decimal("0.8"), Decimal("2.5"), places=3),
    mass_kg=st.none() | st.decimals(15, 250, places=2),
    email=st.sampled_from(["", "ada@gym.example", "o'neil+bar@a-b.example"]),
    notes=notes,
)


def written(entries: list[RosterEntry], delimiter: str, line_end: str) -> bytes:
    file = io.StringIO(newline="")
    writer = csv.writer(file, delimiter=delimiter, lineterminator=line_end)
    writer.writerow(COLUMNS)
    for e in entries:
        writer.writerow([e.full_name, e.birth_on or "", e.stature_m or "", e.mass_kg or "", e.email, e.notes])
    return file.getvalue().encode()


@given(
    st.lists(entries_of_people, max_size=5, unique_by=lambda entry: entry.key),
    st.sampled_from(",;"),
    st.sampled_from(["\r\n", "\n"]),
)
def test_what_was_written_is_read_again(entries, delimiter, line_end):
    file = read_roster(written(entries, delimiter, line_end), today=TODAY)
    assert file == RosterFile(tuple(replace(entry) for entry in entries))


@given(st.binary(max_size=300))
def test_no_bytes_break_the_reader(content):
    file = read_roster(b"name,notes\n" + content, today=TODAY)
    for problem in file.problems:
        assert str(problem).encode()
