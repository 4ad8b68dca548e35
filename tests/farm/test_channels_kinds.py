"""Every kind of channel has a sender of the same shape, and a message the same meaning in each."""

from __future__ import annotations

import inspect
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.errors import BadInput
from farm.services.channels import KINDS, ChannelRefused, Message, NotSent, of_kind

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_checks_an_address_and_sends_to_it(kind: str) -> None:
    sender = of_kind(kind)
    assert list(inspect.signature(sender.check).parameters) == ["address"]
    assert list(inspect.signature(sender.send).parameters) == ["address", "message", "timeout"]


@pytest.mark.parametrize("kind", KINDS)
def test_nonsense_is_refused_in_words_and_for_good(kind: str) -> None:
    for address in ("", "nonsense", "\x00", "x" * 5_000, "{}", "null", "[" * 3_000):
        with pytest.raises(ChannelRefused) as at_check:
            of_kind(kind).check(address)
        assert isinstance(at_check.value, BadInput)
        assert list(at_check.value.fields) == ["address"]
        with pytest.raises(NotSent) as at_send:
            of_kind(kind).send(address, Message("a", "b", "", "c"), 1.0)
        assert at_send.value.lasting
        assert at_send.value.text


def test_there_is_no_other_kind() -> None:
    with pytest.raises(KeyError):
        of_kind("pigeon")


@given(st.text())
def test_a_headline_is_one_line_and_loses_no_word(subject: str) -> None:
    line = Message(subject, "", "", "").headline()
    assert len(line.splitlines()) <= 1
    assert line == line.strip()
    assert not any(ord(one) < 32 or ord(one) == 127 for one in line)
    words = "".join(" " if ord(one) < 32 or 127 <= ord(one) < 160 else one for one in subject).split()
    assert line.split() == words


def test_a_message_without_a_link_is_its_body_alone() -> None:
    assert Message("a", "b", "", "c").text() == "b"


def test_the_program_that_runs_apprise_loads_no_django_and_no_other_channel() -> None:
    ask = "import sys, farm.services.channels.service_program; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", ask], cwd=ROOT, capture_output=True, text=True, check=True)
    loaded = done.stdout.split()
    assert not [
        name for name in loaded if name.split(".")[0] in ("django", "cryptography", "apprise", "numpy")
    ]
