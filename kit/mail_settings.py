"""Read how mail is sent from the environment: FETTLEBOOK_MAIL_HOST, _PORT, _USER, _PASSWORD, _TLS, _FROM, _LINKS."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

from django.core.exceptions import ValidationError
from django.core.mail.message import sanitize_address
from django.core.validators import validate_email

# The usual port of each way (RFC 6409 submission, RFC 8314 implicit TLS, RFC 5321).
PORTS = {"starttls": 587, "implicit": 465, "none": 25}


@dataclass(frozen=True, slots=True)
class MailSettings:
    """`tls` is starttls, implicit or none. `fault` says in a sentence what is missing or wrong; empty if nothing is.

    `links` is the address under which people reach the program, without a slash at the end.
    """

    host: str = ""
    port: int = PORTS["starttls"]
    user: str = ""
    password: str = ""
    tls: str = "starttls"
    sender: str = ""
    links: str = ""
    fault: str = ""


def read_mail_settings(environment: Mapping[str, str]) -> MailSettings:
    """What the environment says. A fault stops mail from being sent, not the program from being served."""

    def said(name: str) -> str:
        return environment.get(f"FETTLEBOOK_MAIL_{name}", "").strip()

    tls = said("TLS") or "starttls"
    port = said("PORT") or str(PORTS.get(tls, 0))
    found = {
        "host": said("HOST"),
        "user": said("USER"),
        "password": environment.get("FETTLEBOOK_MAIL_PASSWORD", ""),
        "tls": tls,
        "sender": said("FROM"),
        "links": said("LINKS").rstrip("/"),
    }
    fault = _fault(found, port)
    return MailSettings(
        port=int(port) if port.isdecimal() and port.isascii() else 0,
        fault=fault,
        **found,
    )


def _fault(found: Mapping[str, str], port: str) -> str:
    if not found["host"]:
        return (
            "No mail server is set, so no mail can be sent: name it in FETTLEBOOK_MAIL_HOST "
            "(with --dry-run the mails are only shown)."
        )
    if found["tls"] not in PORTS:
        return f"FETTLEBOOK_MAIL_TLS is {found['tls']!r}: write one of {', '.join(PORTS)}."
    if not (port.isascii() and port.isdecimal() and 0 < int(port) < 65_536):
        return f"FETTLEBOOK_MAIL_PORT is {port!r}: write a whole number from 1 to 65535."
    if bool(found["user"]) != bool(found["password"]):
        return "FETTLEBOOK_MAIL_USER and FETTLEBOOK_MAIL_PASSWORD go together: set both, or neither."
    if not _is_sender(found["sender"]):
        return (
            "FETTLEBOOK_MAIL_FROM does not name the sender of the mails: write an address, for example "
            "fettlebook@depot.example, or a name with it, Fettlebook <fettlebook@depot.example>."
        )
    address = urlsplit(found["links"])
    if address.scheme not in {"http", "https"} or not address.hostname:
        return (
            "FETTLEBOOK_MAIL_LINKS does not say where the links in the mails lead: write the address under which "
            "people reach the program, for example https://fettlebook.example."
        )
    return ""


def _is_sender(text: str) -> bool:
    """Whether it is an address, with or without a name before it."""
    bare = text[text.rfind("<") + 1 : -1] if text.endswith(">") else text
    try:
        validate_email(bare)
        sanitize_address(text, "utf-8")
    except (ValidationError, ValueError):
        return False
    return True
