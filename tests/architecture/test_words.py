"""Every word a keeper reads goes through gettext: templates hold no bare text, forms and services no bare message."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.template.base import Lexer, TokenType

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = sorted((ROOT / "farm/web/templates").rglob("*.html")) + sorted(
    (ROOT / "calendars").rglob("templates/**/*.html")
)
#: Names and units that are the same in every language.
SAME_EVERYWHERE = {"Featherdays", "CSV", "QR", "kg", "m", "cm", "L", "g", "C", "F", "x"}
_TAG = re.compile(r"<!--.*?-->|<[^>]*>|&\w+;", re.DOTALL)
_SPOKEN = re.compile(r"(?:aria-label|alt|title|placeholder)=\"([^\"]*)\"")


def bare_words(source: str) -> list[str]:
    """Return the words of a template that stand outside translate tags, in text and in spoken attributes."""
    kept, silent = [], 0
    for token in Lexer(source).tokenize():
        name = (token.contents.split(maxsplit=1) or [""])[0]
        if token.token_type == TokenType.BLOCK:
            silent += name in ("blocktranslate", "blocktrans", "comment")
            silent -= name in ("endblocktranslate", "endblocktrans", "endcomment")
        # What a variable or tag prints stands for one sign, so that no tag is torn apart.
        kept.append(token.contents if token.token_type == TokenType.TEXT and not silent else "§")
    text = "".join(kept)
    spoken = " ".join(_SPOKEN.findall(text))
    return [
        word
        for word in re.findall(r"[^\W\d_]+", _TAG.sub(" ", text) + " " + spoken)
        if word not in SAME_EVERYWHERE
    ]


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.stem)
def test_a_template_holds_no_bare_text(path: Path):
    assert bare_words(path.read_text(encoding="utf-8")) == []


def test_the_search_for_bare_text_finds_it():
    assert bare_words('{% load i18n %}<p title="Why">{% translate "Good" %} bad {{ name }}</p>') == [
        "bad",
        "Why",
    ]
    assert bare_words("{% blocktranslate %}All of this{% endblocktranslate %}") == []


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.stem)
def test_a_template_has_no_inline_style_or_script(path: Path):
    source = path.read_text(encoding="utf-8")

    assert re.findall(r"\sstyle=|<style|\son[a-z]+=|javascript:", source) == []
    assert re.findall(r"<script(?![^>]*\bsrc=)", source) == []
