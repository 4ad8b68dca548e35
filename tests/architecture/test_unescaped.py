"""What people write reaches a page only by way of Django's escaping; every exception is listed here with its reason."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TOPS = ("farm", "calendars", "tasks", "api")
TEMPLATES = sorted(path for top in TOPS for path in (ROOT / top).rglob("templates/**/*") if path.is_file())
SOURCES = sorted(path for top in TOPS for path in (ROOT / top).rglob("*.py"))
#: Ways around escaping in a template.
LOOSE = re.compile(
    r"\|\s*(?:safe|safeseq|escapejs|json_script)\b|{%-?\s*autoescape\s+off|{%-?\s*filter\s+safe"
)
#: Ways around it in Python.
NAMES = {"mark_safe", "SafeString", "SafeText", "SafeData", "html_safe", "__html__", "is_safe"}

#: Template, and why nothing of it is read as HTML.
LETTERS = "a letter of plain text"
IN_TEMPLATES = {
    "farm/web/templates/web/signin/reset_letter.txt": LETTERS,
    "farm/web/templates/web/signin/reset_subject.txt": LETTERS,
    "farm/web/templates/web/alerts/letter.txt": LETTERS,
    "farm/web/templates/web/alerts/subject.txt": LETTERS,
    "farm/web/templates/web/people/invitation_letter.txt": LETTERS,
    "farm/web/templates/web/people/invitation_subject.txt": LETTERS,
}
#: Module and name, and why what it marks as safe is.
IN_PYTHON = {
    ("farm/web/housing/card.py", "mark_safe"): "an SVG that segno draws: shapes, no text of anybody's"
}


def loose(source: str) -> list[str]:
    return [match[0] for match in LOOSE.finditer(source)]


def names_in(source: str) -> set[str]:
    """Return which of NAMES a module uses or defines, and `format_html` with a format that is not written out."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        match node:
            case (
                ast.alias(name=name)
                | ast.Name(id=name)
                | ast.Attribute(attr=name)
                | ast.FunctionDef(name=name)
            ):
                found |= {name} & NAMES
            case ast.keyword(arg="is_safe", value=ast.Constant(value=True)):
                found.add("is_safe")
            case ast.Call(func=ast.Name(id="format_html"), args=[first, *_]) if not isinstance(
                first, ast.Constant
            ):
                found.add("format_html")
    return found


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.stem)
def test_no_template_goes_around_escaping_without_a_reason(path: Path):
    name = path.relative_to(ROOT).as_posix()
    if name in IN_TEMPLATES:
        assert path.suffix == ".txt"
    else:
        assert loose(path.read_text(encoding="utf-8")) == []


def test_every_exception_is_still_needed():
    for name in IN_TEMPLATES:
        assert loose((ROOT / name).read_text(encoding="utf-8")) != [], name
    for name, used in IN_PYTHON:
        assert used in names_in((ROOT / name).read_text(encoding="utf-8"))


def test_no_module_goes_around_escaping_without_a_reason():
    found = {
        (path.relative_to(ROOT).as_posix(), name)
        for path in SOURCES
        for name in names_in(path.read_text(encoding="utf-8"))
    }
    assert found == set(IN_PYTHON)


def test_a_letter_is_only_ever_sent_as_plain_text():
    """A second, HTML, body would need escaping."""
    html = re.compile(r"html_message|attach_alternative|html_email_template_name\s*=")
    assert [path for path in SOURCES if html.search(path.read_text(encoding="utf-8"))] == []


@pytest.mark.parametrize(
    "source",
    ["{{ x|safe }}", "{{ x | safe }}", "{% autoescape off %}", "{{ x|lower|safeseq }}", "{{ x|escapejs }}"],
)
def test_the_search_finds_what_goes_around_in_a_template(source: str):
    assert loose(source) != []


@pytest.mark.parametrize(
    "source",
    [
        "from django.utils.safestring import mark_safe",
        "import django.utils.safestring as s\ns.mark_safe(x)",
        "class Words(SafeString): ...",
        "class Words:\n    def __html__(self): return self.text",
        "@register.filter(is_safe=True)\ndef f(x): return x",
        "format_html('<b>' + x)",
        "format_html(f'<b>{x}')",
    ],
)
def test_the_search_finds_what_goes_around_in_python(source: str):
    assert names_in(source) != set()


def test_what_is_written_out_and_filled_in_is_let_alone():
    assert loose("{{ x|safely }} {% if x %}safe{% endif %}") == []
    assert names_in("format_html('<b>{}</b>', x)") == set()
