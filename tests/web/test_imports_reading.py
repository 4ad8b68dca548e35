"""Text into cells: separators, quotation marks, numbers, days, and cells that spreadsheets would run."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.web.imports import cells
from farm.web.imports.cells import CellError
from farm.web.imports.decoding import text_of
from farm.web.imports.grid import grid_of, guarded, separator, unguarded, written


@pytest.mark.parametrize(
    "text, found",
    [
        ("a,b\n1;2,3", ","),
        ("a;b\n1,5;2", ";"),
        ("a\tb", "\t"),
        ('"a;b;c",d', ","),
        ("one", ","),
        ("\n\na;b", ";"),
    ],
)
def test_the_first_row_says_the_separator(text, found):
    assert separator(text) == found


def test_blank_rows_are_left_out_and_lines_keep_their_numbers():
    grid = grid_of("name,area\n\n,\nLoft,3\n", 10)
    assert [(line.number, line.cells) for line in grid.lines] == [(4, ("Loft", "3"))]


def test_a_quotation_mark_left_open_is_said_with_its_line():
    assert "quotation mark" in grid_of('name,area\n"Loft,3\n', 10).problem


@pytest.mark.parametrize(
    "text, value", [("2.5", 2.5), ("2,5", 2.5), ("1 200", 1200.0), ("0,125", 0.125), ("-3", -3.0)]
)
def test_numbers_are_read_with_point_or_comma(text, value):
    assert cells.number(text) == value


@pytest.mark.parametrize(
    "text", ["1,234", "1.234,5", "1,234.5", "much", "1e5", "nan", "inf", "1..2", "--1", ""]
)
def test_numbers_that_can_be_read_two_ways_or_none_are_refused(text):
    with pytest.raises(CellError):
        cells.number(text)


@pytest.mark.parametrize("text", ["40 sq ft", "40 ft²", "40ft2", "40 sqft"])
def test_a_unit_in_the_cell_goes_before_the_farms(text):
    assert cells.quantity("m2", "metric", 0.01, 5000)(text) == pytest.approx(3.7161216)


def test_a_unit_of_another_kind_is_refused():
    with pytest.raises(CellError, match="is not in m²"):
        cells.quantity("m2", "metric", 0.01, 5000)("40 cm")


@pytest.mark.parametrize("text", ["2026-05-09", "9.5.2026", "09.05.2026", "9/5/2026", "2026-05-09 00:00:00"])
def test_days_are_read_as_written(text):
    assert cells.day("metric")(text) == date(2026, 5, 9)


@pytest.mark.parametrize("text", ["9.5.26", "2026-13-01", "31.2.2026", "May 9", "2026/05/09", "0000-01-01"])
def test_days_that_are_none_are_refused(text):
    with pytest.raises(CellError, match="is not a day"):
        cells.day("metric")(text)


@given(st.text(alphabet=st.characters(codec="utf-8")).map(str.strip))
def test_a_guarded_cell_comes_back_as_it_was(text):
    assert unguarded(guarded(text)) == text


@given(st.text(alphabet="=+-@'\"ab,;\n1", min_size=1))
def test_no_cell_that_leaves_us_starts_a_formula(text):
    safe = guarded(text)
    assert safe[0] not in "=@"
    assert safe[0] not in "+-" or safe[1:2].isdigit()


@given(
    st.lists(
        st.lists(st.text(alphabet="=+-@'\"aé,;\t\n1 ").map(str.strip), min_size=3, max_size=3).filter(any),
        min_size=2,
        max_size=5,
    )
)
def test_a_table_written_out_is_read_back_cell_by_cell(rows):
    rows[0] = ["a", "b", "c"]
    grid = grid_of(written(rows), 10)
    assert [list(line.cells) for line in grid.lines] == rows[1:]


@given(st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\r\0\ufeff")))
def test_utf8_and_utf16_files_read_the_same(text):
    assert text_of(text.encode("utf-8-sig")) == text
    assert text_of(text.encode("utf-16")) == text


@given(st.binary())
def test_any_bytes_are_read_as_some_text(data):
    assert "\0" not in text_of(data)
