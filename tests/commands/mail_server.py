"""A real SMTP server on this machine that keeps what it is sent, for tests."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class Mailbox:
    """What came in: (recipients, message). `refused` are addresses that the server does not know; with `closes` it
    breaks off at the message to that address.
    """

    port: int = 0
    refused: set[str] = field(default_factory=set)
    closes: str = ""
    received: list[tuple[list[str], EmailMessage]] = field(default_factory=list)
    raw: list[bytes] = field(default_factory=list)
    logins: list[tuple[bytes, bytes]] = field(default_factory=list)

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, _options: Any) -> str:
        if address in self.refused:
            return "550 5.1.1 no such mailbox here"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        if self.closes in envelope.rcpt_tos:
            server.transport.abort()
            return "421 closing"
        self.raw.append(envelope.content)
        message = message_from_bytes(envelope.content, policy=policy.default)
        self.received.append((list(envelope.rcpt_tos), message))
        return "250 kept"

    def authenticate(self, _server: Any, _session: Any, _envelope: Any, _way: str, data: Any) -> AuthResult:
        assert isinstance(data, LoginPassword)
        self.logins.append((data.login, data.password))
        return AuthResult(success=data.password == b"open, please", handled=False)

    def to(self, address: str) -> list[EmailMessage]:
        return [message for recipients, message in self.received if recipients == [address]]


@contextmanager
def mail_server(login: bool = False) -> Iterator[Mailbox]:
    """Serve on 127.0.0.1 while the block runs; with `login` it asks for one."""
    box = Mailbox(port=free_port())
    # Without TLS, because a test has no certificate that anybody trusts.
    more: dict[str, Any] = (
        {"authenticator": box.authenticate, "auth_required": True, "auth_require_tls": False} if login else {}
    )
    controller = Controller(box, hostname="127.0.0.1", port=box.port, **more)
    controller.start()
    try:
        yield box
    finally:
        controller.stop()
