"""Letters: one address, one line of subject, known again by their Message-ID, and honest about what went wrong."""

from __future__ import annotations

import socket
from collections.abc import Iterator

import pytest
from django.core import mail as outbox
from hypothesis import given
from hypothesis import strategies as st

from farm.services.channels import ChannelRefused, Message, NotSent
from farm.services.channels import mail as channel
from tests.farm.channels_world import MailStub, mail_server

MESSAGE = Message("Cold night", "Shut the brooder's window.", "https://birds.example/today", "alert:7")
ADA = "ada@example.org"


@pytest.fixture
def server(settings) -> Iterator[MailStub]:
    with mail_server() as stub:
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", stub.port
        yield stub


def refusal(address: str = ADA, message: Message = MESSAGE, timeout: float = 2.0) -> NotSent:
    with pytest.raises(NotSent) as refused:
        channel.send(address, message, timeout)
    return refused.value


def test_a_letter_says_what_the_message_says_and_where_it_leads() -> None:
    channel.send(ADA, MESSAGE, 5.0)
    (letter,) = outbox.outbox
    assert (letter.subject, letter.to) == ("Cold night", [ADA])
    assert letter.body == "Shut the brooder's window.\n\nhttps://birds.example/today"


def test_the_same_key_has_the_same_message_id_and_another_key_or_reader_another() -> None:
    def identity(key: str, address: str = ADA) -> str:
        channel.send(address, Message("Subject", "Body", "", key), 5.0)
        return outbox.outbox[-1].message()["Message-ID"]

    first = identity("alert:7")
    assert first == identity("alert:7")
    assert len({first, identity("alert:8"), identity("alert:7", "bea@example.org")}) == 3
    assert first.startswith("<")
    assert first.endswith("@localhost>")


def test_the_message_id_carries_the_senders_domain(settings) -> None:
    settings.DEFAULT_FROM_EMAIL = "Birds <birds@höfe.example>"
    channel.send(ADA, MESSAGE, 5.0)
    assert outbox.outbox[0].message()["Message-ID"].endswith("@xn--hfe-sna.example>")


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=60))
def test_no_subject_begins_another_header(words: str) -> None:
    outbox.outbox.clear()
    channel.send(ADA, Message(f"a{words}\r\nBcc: eve@example.org", "Body", "", "k"), 5.0)
    letter = outbox.outbox[0].message()
    assert letter["Bcc"] is None
    assert outbox.outbox[0].recipients() == [ADA]
    assert len(outbox.outbox[0].subject.splitlines()) == 1


@pytest.mark.parametrize(
    "address", ["", "ada", "ada@", "@example.org", "a b@example.org", "ada@example.org\nBcc: eve@example.org"]
)
def test_what_is_no_address_is_refused_for_good_and_nothing_is_sent(address: str) -> None:
    with pytest.raises(ChannelRefused, match="Enter an e-mail address"):
        channel.check(address)
    assert refusal(address).lasting
    assert outbox.outbox == []


def test_an_address_is_its_own_label() -> None:
    assert channel.check(" ada@example.org ") == ADA


def test_a_mail_server_gets_the_whole_letter(server: MailStub) -> None:
    channel.send(ADA, Message("Kälte", "Fenster zu: −3 °C", "", "alert:7"), 5.0)
    (letter,) = server.letters
    assert "Auto-Submitted: auto-generated" in letter
    assert letter.count("Message-ID:") == 1


@pytest.mark.parametrize(
    "command, said, lasting",
    [
        ("RCPT", "550 no such mailbox", True),
        ("RCPT", "450 mailbox busy", False),
        ("RCPT", "421 too much", False),
        ("END", "554 looks like spam", True),
        ("END", "452 full", False),
        ("MAIL", "550 not from you", False),
        ("HELLO", "554 go away", False),
        ("DATA", "451 later", False),
    ],
)
def test_only_what_the_server_says_for_good_is_lasting(server: MailStub, command, said, lasting) -> None:
    server.says[command] = said
    assert refusal().lasting is lasting
    assert server.letters == []


def test_a_server_that_is_away_or_silent_is_tried_again(settings) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        settings.EMAIL_HOST, settings.EMAIL_PORT = silent.getsockname()
        assert not refusal().lasting
        silent.listen()
        assert not refusal(timeout=0.3).lasting


def test_a_name_mail_servers_cannot_write_is_refused_and_breaks_nothing(server: MailStub) -> None:
    with pytest.raises((NotSent, ChannelRefused)):
        channel.send("ädå@example.org", MESSAGE, 2.0)


def test_a_password_of_the_mail_server_is_in_no_refusal(server: MailStub, settings) -> None:
    settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD = "keeper", "hush"
    assert "hush" not in refusal().text
