"""Lists of pupils: what is read, and the sentence for each line that cannot be.

The format is held against RFC 4180 (October 2005), whose rules are numbered as in its section 2, and against the
csv module of Python's standard library, an independent reader of the same format.
"""

from __future__ import annotations

import contextlib
import csv
import io
import time
import unicodedata

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from accounts.errors import BadListError
from accounts.models import fold_name
from accounts.names import NAME_LENGTH
from accounts.pupil_lists import MAX_PUPILS, Row, read_extra_time, read_list


def good(text):
    """(name, extra time) of each row, all of which are good."""
    rows = read_list(text).rows
    assert [row.fault for row in rows] == [""] * len(rows)
    return [(row.name, row.extra_time) for row in rows]


def faults(text):
    """The line and sentence of each bad row."""
    return [(row.line, row.fault) for row in read_list(text).rows if row.fault]


def refusal(text):
    with pytest.raises(BadListError) as refused:
        read_list(text)
    return str(refused.value)


def rows_or_sentence(text):
    try:
        return read_list(text).rows
    except BadListError as refused:
        return str(refused)


TWO = [("Aldin", 0), ("Brisa", 25)]


@pytest.mark.parametrize(
    "text",
    [
        "Aldin\nBrisa,25",
        "Aldin\nBrisa,25\n",
        "Aldin\r\nBrisa,25\r\n",
        "Aldin\rBrisa,25\r",
        "Aldin,\nBrisa,25",
        "Aldin,0\nBrisa,25 %",
        "Aldin;\nBrisa;25",
        "Aldin\t\nBrisa\t25",
        "  Aldin  \n Brisa , 25 ",
        "\n\nAldin\n\n  \nBrisa,25\n\n\n",
        "Aldin\nBrisa,25\n,,,\n;;\n\t\n",
        '"Aldin"\n"Brisa","25"',
        "Name\nAldin\nBrisa,25"[:4] + ",Extra time\nAldin\nBrisa,25",
        "NAME;EXTRA TIME (%)\nAldin;\nBrisa;25",
        "Extra time,Name\n,Aldin\n25,Brisa",
        "sep=;\nName;Extra time\nAldin;\nBrisa;25",
        "sep=|\nAldin|\nBrisa|25",
        "\ufeffName,Extra time\nAldin\nBrisa,25",
        "\ufeffAldin\nBrisa,25",
        "Pupil,Extra\nAldin,none\nBrisa,25%",
        "First name,Extra time\nAldin,-\nBrisa, 25",
        "Name,Extra time\nAldin,no\nBrisa,25,,,",
    ],
)
def test_two_pupils_however_they_are_written(text):
    assert good(text) == TWO


# --- RFC 4180, section 2 --------------------------------------------------------------------------------------


def test_rule_2_the_last_record_may_lack_a_line_break():
    assert good("aaa\nbbb") == good("aaa\nbbb\r\n")


def test_rule_3_there_may_be_a_header_line():
    assert good("Name,Extra time\naaa,5") == good("aaa,5")


def test_rule_4_last_field_is_not_followed_by_a_comma_but_one_does_no_harm():
    assert good("aaa,5,") == [("aaa", 5)]


def test_rule_5_fields_may_be_in_quotation_marks():
    assert good('"aaa","5"\r\nzzz,6') == [("aaa", 5), ("zzz", 6)]


def test_rule_6_fields_with_commas_are_in_quotation_marks():
    assert good('"Marlin, Edda",5') == [("Marlin, Edda", 5)]


def test_rule_6_fields_with_line_breaks_are_in_quotation_marks():
    """In a column that is not used, as where notes are kept; a name never has one (see below)."""
    text = 'Name,Notes\r\naaa,"one\r\ntwo, ""three"""\r\nbbb,\r\n'
    assert good(text) == [("aaa", 0), ("bbb", 0)]


def test_rule_7_a_quotation_mark_within_is_written_twice():
    assert good('"Seán ""Johnny"" B",5') == [('Seán "Johnny" B', 5)]


# Cells without control characters, which names lose.
cells = st.text(st.characters(exclude_categories=["Cc", "Cf", "Cs", "Zl", "Zp"]), max_size=20)


@given(st.lists(cells, min_size=1, max_size=12), st.sampled_from(",;\t"))
@example(['"', ",", ";", "'"], ",")
def test_what_the_standard_library_writes_is_read_back(names, delimiter):
    """Python's csv.writer as an outside source: whatever it writes, with everything quoted, is read as it was."""
    file = io.StringIO()
    writer = csv.writer(file, delimiter=delimiter, quoting=csv.QUOTE_ALL)
    writer.writerows([["Name", "Extra time"], *([name, 0] for name in names)])
    if delimiter != ",":
        file = io.StringIO(f"sep={delimiter}\n{file.getvalue()}")
    rows = read_list(file.getvalue()).rows
    written = [" ".join(unicodedata.normalize("NFC", name).split()) for name in names]
    for row, name in zip(rows, written, strict=True):
        assert row.name in (name, name[:29] + "…")
        assert bool(row.fault) == (not name or names_earlier(written, row, rows))


def names_earlier(written, row, rows):
    place = rows.index(row)
    return fold_name(written[place]) in {fold_name(name) for name in written[:place] if name}


@given(st.lists(st.text("ab ,;\"\n\r'", max_size=8), min_size=1, max_size=8).map("\n".join))
def test_lines_without_fault_are_read_as_the_standard_library_reads_them(text):
    """Where every line is good, csv.reader in its strict mode finds the same first cells."""
    try:
        rows = read_list(text).rows
    except BadListError:
        return
    if any(row.fault for row in rows) or ";" in text:
        return
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    parsed = [record[0] for record in csv.reader(io.StringIO(lines), strict=True) if any(map(str.strip, record))]
    assert [row.name for row in rows] == [" ".join(cell.split()) for cell in parsed]


# --- bad lines --------------------------------------------------------------------------------------------------


def test_every_bad_line_has_its_sentence_and_the_others_are_read():
    text = 'Name;Extra time\nAldin;\n;25\n"Bo\nTil;900\nWim;-10\nUlla;1;2\nALDIN;\nRuna;25'
    assert [(row.line, row.name) for row in read_list(text).rows if not row.fault] == [(2, "Aldin"), (9, "Runa")]
    assert faults(text) == [
        (3, "Write a name."),
        (4, 'A quotation mark (") in this line is not closed.'),
        (5, "Extra time is a whole number of per cent from 0 to 300, not “900”."),
        (6, "Extra time is a whole number of per cent from 0 to 300, not “-10”."),
        (7, "This line has 3 cells, where at most 2 are expected."),
        (8, "The same name as in line 2. Add an initial to one of them."),
    ]


def test_a_faulty_row_still_shows_what_it_is_about():
    [row] = read_list("Til,900").rows
    assert row == Row(1, "Til", 0, "Extra time is a whole number of per cent from 0 to 300, not “900”.")


def test_an_open_quotation_mark_does_not_eat_the_rest():
    """csv.reader, left to itself, takes all that follows into the one cell."""
    text = 'Aldin\n"Brisa\nCorvin\nDessa\n'
    assert len(list(csv.reader(io.StringIO(text)))) == 2
    assert [row.name for row in read_list(text).rows if not row.fault] == ["Aldin", "Corvin", "Dessa"]
    assert faults(text) == [(2, 'A quotation mark (") in this line is not closed.')]


def test_something_after_a_closing_mark_is_a_fault_of_its_line():
    text = 'Aldin\n"Bri"sa\nCorvin'
    assert faults(text) == [(2, 'A quotation mark (") in this line is not closed.')]


def test_a_name_over_two_lines_is_a_missing_mark_and_not_a_pupil():
    assert faults('"Aldin\nBrisa",25\nCorvin') == [
        (1, 'The name in this line goes on over the next: a quotation mark (") lacks its pair.')
    ]


def test_marks_inside_an_unquoted_name_are_letters_like_others():
    assert good('Seán "Johnny" B\nAldin') == [('Seán "Johnny" B', 0), ("Aldin", 0)]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Zoë", unicodedata.normalize("NFD", "Zoë")),
        ("Aldin", "aldin"),
        ("Aldin K", "Aldin  K"),
        ("Aldin", "Al\u202edin"),
        ("Aldin", "Ａｌｄｉｎ"),
    ],
)
def test_names_that_a_pupil_would_type_alike_are_the_same(one, other):
    assert faults(f"{one}\nBrisa\n{other}") == [(3, "The same name as in line 1. Add an initial to one of them.")]


def test_third_of_the_same_name_points_to_the_first():
    assert [line for line, _ in faults("Bo\nBo\nBo")] == [2, 3]
    assert faults("Bo\nBo\nBo")[1][1].startswith("The same name as in line 1")


def test_a_bad_line_does_not_take_a_name():
    assert [(row.name, bool(row.fault)) for row in read_list("Bo,900\nBo").rows] == [("Bo", True), ("Bo", False)]


def test_overrides_are_removed_from_names():
    assert good("annef\u202e\n\u2067Brisa\u2069") == [("annef", 0), ("Brisa", 0)]


def test_formulas_and_markup_are_names_like_others():
    text = "=1+1\n@Bo\n+44\n-7\n<script>alert(1)</script>"
    assert [name for name, _ in good(text)] == text.split("\n")


def test_a_long_line_is_a_fault_of_that_line():
    text = "Aldin\n" + "x" * 131_073 + "\nBrisa"
    assert faults(text) == [(2, "This line has 131,073 characters; at most 1,000 are read.")]
    assert [row.name for row in read_list(text).rows] == ["Aldin", "", "Brisa"]


def test_a_long_name_says_how_long():
    assert faults("x" * 81) == [(1, "A name has at most 80 characters; this one has 81.")]
    assert good("x" * NAME_LENGTH) == [("x" * NAME_LENGTH, 0)]


# --- headings ---------------------------------------------------------------------------------------------------


def test_columns_not_used_are_named():
    pupil_list = read_list("Surname,First name,Date of birth,Extra time\nMarlin,Aldin,2015-01-02,25\n")
    assert pupil_list.unused == ("Surname", "Date of birth")
    assert [(row.name, row.extra_time) for row in pupil_list.rows] == [("Aldin", 25)]


def test_columns_may_be_missing_at_the_end_of_a_line():
    assert good("Name,House,Extra time\nAldin\nBrisa,North,25") == TWO


def test_a_line_with_more_cells_than_headings_is_a_fault():
    assert faults("Name,House\nAldin,North,25") == [(2, "This line has 3 cells, where at most 2 are expected.")]


def test_headings_without_a_name():
    assert refusal("Extra time,House\n25,North") == "The first line has headings, but none of them is Name."


def test_headings_we_do_not_know_are_a_line_like_others():
    assert faults("Vorname,Zeit\nAldin,25")[0][0] == 1


def test_a_list_in_the_order_surname_first_name_is_seen_through():
    """Two columns without headings: the second is extra time, and no name is a number."""
    says = (
        "Extra time stands second, and “Edda” is none. If it belongs to the name, write both in one cell, with a space."
    )
    assert faults("Marlin,Edda\nBell, none\nCole, 25 %") == [(1, says)]


# --- whole lists that are refused ---------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["", " ", "\n\n\n", "\ufeff", ",,,\n;;;", "\t\t\n", '""\n""', "sep=;"])
def test_an_empty_list(text):
    assert refusal(text) == "There is no name in this list."


@pytest.mark.parametrize("text", ["Name", "Name,Extra time\r\n", "sep=;\nName;Extra time\n\n"])
def test_headings_alone(text):
    assert refusal(text) == "This list has headings, but no pupils below them."


def test_a_zero_character_is_no_text():
    assert refusal("Al\0din\nBrisa") == "This is not a text file: it holds characters that no text has (U+0000)."


def names(count):
    return "\n".join(f"Pupil {number}" for number in range(count))


def test_two_hundred_at_once_and_no_more():
    assert len(good(names(MAX_PUPILS))) == 200
    assert len(good("Name\n" + names(MAX_PUPILS))) == 200
    assert refusal(names(201)) == "This list has 201 lines; at most 200 pupils are added at once."
    assert refusal("Name\n" + names(201)) == "This list has 202 lines; at most 200 pupils are added at once."


@pytest.mark.parametrize(
    "text",
    [
        names(100_000),
        "\n" * 1_000_000,
        '"a\n' * 180 + "\n" * 800,
        '"' * 1_000_000,
        '"' * 999 + "\n" + "a," * 499,
        ("," * 999 + "\n") * 900,
        "\u202e" * 1_000_000,
        ("\ufdfa" * 900 + "\n") * 200,
    ],
    ids=["rows", "breaks", "open marks", "marks", "mark and commas", "commas", "overrides", "growing"],
)
def test_the_largest_nonsense_is_answered_within_a_second(text):
    began = time.perf_counter()
    with contextlib.suppress(BadListError):
        read_list(text)
    assert time.perf_counter() - began < 1


@given(st.text(max_size=400))
@example('"\n"')
@example("sep=\n")
@example("sep=a\nbab")
@example('sep="\nx')
def test_no_text_is_too_strange(text):
    """Every text is a list with rows in the order of its lines, or is refused with a sentence."""
    rows = rows_or_sentence(text)
    if isinstance(rows, str):
        assert rows.endswith(".")
        return
    assert rows
    assert [row.line for row in rows] == sorted({row.line for row in rows})
    for row in rows:
        assert row.fault or row.name
        assert not row.fault or row.fault.endswith(".")


# --- extra time ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "percent"),
    [("", 0), ("0", 0), ("25", 25), ("25%", 25), ("25 %", 25), (" 33 ", 33), ("300", 300), ("007", 7), ("None", 0)],
)
def test_extra_time_is_read(typed, percent):
    assert read_extra_time(typed) == percent


@pytest.mark.parametrize(
    "typed", ["-10", "900", "301", "25.5", "0.25", "1/4", "abc", "²", "２５", "٢٥", "25 % %", "1e2", "99999999"]
)
def test_other_extra_time_is_refused(typed):
    with pytest.raises(ValueError, match="whole number of per cent from 0 to 300, not “"):
        read_extra_time(typed)


def test_long_nonsense_is_quoted_in_short():
    with pytest.raises(ValueError, match=r"not “x{29}…”\.$"):
        read_extra_time("x" * 500)
