"""How mail is sent is read from the environment alone, and what is wrong with it is a sentence."""

from __future__ import annotations

import pytest

from kit.mail_settings import read_mail_settings

WHOLE = {
    "HOST": "mail.example",
    "FROM": "fettlebook@depot.example",
    "LINKS": "https://fettlebook.example/",
}


def read(**more: str):
    said = {**WHOLE, **more}
    return read_mail_settings({f"FETTLEBOOK_MAIL_{name}": value for name, value in said.items()})


@pytest.mark.parametrize(("tls", "port"), [("", 587), ("starttls", 587), ("implicit", 465), ("none", 25)])
def test_the_usual_port_goes_with_the_way(tls, port):
    """RFC 6409 (587), RFC 8314 (465), RFC 5321 (25)."""
    found = read(TLS=tls)
    assert (found.fault, found.port, found.tls) == ("", port, tls or "starttls")


def test_what_is_said_is_taken_as_said():
    found = read(PORT="2525", USER="book", PASSWORD=" kept as it is ", FROM="Prüfbuch <a@depot.example>")
    assert not found.fault
    assert (found.port, found.user, found.password) == (2525, "book", " kept as it is ")
    assert found.sender == "Prüfbuch <a@depot.example>"
    assert found.links == "https://fettlebook.example"


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"HOST": ""}, "FETTLEBOOK_MAIL_HOST"),
        ({"TLS": "yes"}, "FETTLEBOOK_MAIL_TLS"),
        ({"PORT": "smtp"}, "FETTLEBOOK_MAIL_PORT"),
        ({"PORT": "0"}, "FETTLEBOOK_MAIL_PORT"),
        ({"PORT": "65536"}, "FETTLEBOOK_MAIL_PORT"),
        ({"PORT": "²"}, "FETTLEBOOK_MAIL_PORT"),
        ({"USER": "book"}, "FETTLEBOOK_MAIL_PASSWORD"),
        ({"PASSWORD": "x"}, "FETTLEBOOK_MAIL_USER"),
        ({"FROM": ""}, "FETTLEBOOK_MAIL_FROM"),
        ({"FROM": "the book"}, "FETTLEBOOK_MAIL_FROM"),
        ({"FROM": "a@depot.example\nBcc: b@depot.example"}, "FETTLEBOOK_MAIL_FROM"),
        ({"LINKS": ""}, "FETTLEBOOK_MAIL_LINKS"),
        ({"LINKS": "fettlebook.example"}, "FETTLEBOOK_MAIL_LINKS"),
        ({"LINKS": "ftp://fettlebook.example"}, "FETTLEBOOK_MAIL_LINKS"),
    ],
)
def test_what_is_wrong_is_named(wrong, named):
    assert named in read(**wrong).fault


def test_a_password_is_never_in_a_fault():
    assert "hunter" not in read(PASSWORD="hunter").fault
