"""Send each person the digest of their day by mail, one a depot; see `inspections.digest` for what is in it."""

from __future__ import annotations

from argparse import ArgumentTypeError
from smtplib import SMTPException, SMTPRecipientsRefused, SMTPResponseException
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.mail import get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.core.management.base import CommandParser
from django.core.validators import validate_email
from django.utils import timezone

from inspections.digest_mail import Letter, letter, readers
from inspections.wishes import claim, give_up_claim
from kit.management.base import TradeCommand
from kit.models import Depot, Role
from kit.workbooks.sheets import nearest_name

SMTP = "django.core.mail.backends.smtp.EmailBackend"


def address(text: str) -> str:
    """An e-mail address."""
    try:
        validate_email(text)
    except ValidationError as wrong:
        raise ArgumentTypeError(f"{text!r} is no e-mail address: write it as name@depot.example") from wrong
    return text


class Command(TradeCommand):
    help = (
        "Mail everybody what is before them at each of their depots: once a day, empty ones left out. Exit 1 if "
        "a mail could not be sent; the others are."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--role", choices=Role.values, metavar="ROLE", help=", ".join(Role.values))
        parser.add_argument("--depot", metavar="CODE", help="only of this depot")
        self.add_as_of(parser)
        parser.add_argument("--dry-run", action="store_true", help="show the mails, send none")
        parser.add_argument(
            "--to",
            type=address,
            metavar="ADDRESS",
            help="to this address instead of to the people, one mail a depot: a mailbox that a depot shares",
        )
        parser.add_argument("--again", action="store_true", help="also what was sent today already")
        parser.add_argument(
            "--even-if-empty", action="store_true", help="also where nothing is to be seen to"
        )

    def run(self, **options: Any) -> int:
        if settings.MAIL.fault and not options["dry_run"]:
            raise self.refuse(settings.MAIL.fault)
        letters = self._letters(options)
        if options["dry_run"]:
            for each in letters:
                self.stdout.write(f"To: {each.address}\nSubject: {each.subject}\n\n{each.text}")
            self.say(f"{len(letters)} to send; nothing was sent.")
            return 0
        return self._send(letters, options["again"])

    def _letters(self, options: dict[str, Any]) -> list[Letter]:
        depots = [self._depot(options["depot"])] if options["depot"] else list(Depot.objects.all())
        day, role, links = self.as_of(options), options["role"], settings.MAIL.links
        if options["to"]:
            roles = {role} if role else Role.values
            made = [letter(options["to"], depot, roles, day, links) for depot in depots]
        else:
            people = readers(depots, role)
            unknown = sorted({each.name for each in people if not each.address})
            if unknown:
                self.say(f"No e-mail address is known of {', '.join(unknown)}: they get no mail.")
            made = [
                letter(each.address, each.depot, each.roles, day, links) for each in people if each.address
            ]
        return [each for each in made if options["even_if_empty"] or not each.empty]

    def _send(self, letters: list[Letter], again: bool) -> int:
        connection = get_connection(SMTP)
        sent = before = 0
        failed: list[str] = []
        for number, each in enumerate(letters):
            key = each.address, each.depot, timezone.localdate(), each.digest_hash
            new = claim(*key)
            if not new and not again:
                before += 1
                continue
            try:
                connection.open()
            except (SMTPException, OSError) as error:
                if new:
                    give_up_claim(*key)
                self.say(
                    f"The mail server {settings.EMAIL_HOST}, port {settings.EMAIL_PORT}, takes no mail "
                    f"({why(error)}): {len(letters) - number} of {len(letters)} were not sent. Run it again when "
                    "that is mended."
                )
                return 1
            try:
                connection.send_messages([each.message(settings.DEFAULT_FROM_EMAIL)])
            except (SMTPException, OSError, ValueError) as error:
                if new:
                    give_up_claim(*key)
                failed.append(f"{each.address}: {why(error)}")
                if not isinstance(error, SMTPRecipientsRefused):
                    hang_up(connection)
            else:
                sent += 1
                self.stdout.write(f"{each.address}  {each.subject}")
        hang_up(connection)
        for sentence in failed:
            self.say(f"Not sent to {sentence}")
        self.say(f"{sent} sent, {before} sent today already, {len(failed)} failed")
        return 1 if failed else 0

    def _depot(self, code: str) -> Depot:
        depot = Depot.objects.filter(code=code).first()
        if depot is None:
            near = nearest_name(code, Depot.objects.values_list("code", flat=True))
            raise self.refuse(
                f"There is no depot {code} in the register." + (f" Did you mean {near}?" if near else "")
            )
        return depot


def hang_up(connection: BaseEmailBackend) -> None:
    """Close the connection, whatever the other side says to that: the next mail opens it anew."""
    try:
        connection.close()
    except (SMTPException, OSError):
        connection.connection = None  # type: ignore[attr-defined]


def why(error: Exception) -> str:
    """What went wrong, as the mail server said it."""
    if isinstance(error, SMTPRecipientsRefused):
        return "; ".join(_said(code, text) for code, text in error.recipients.values())
    if isinstance(error, SMTPResponseException):
        return _said(error.smtp_code, error.smtp_error)
    return str(error) or type(error).__name__


def _said(code: int, text: bytes | str) -> str:
    return f"{code} {text.decode(errors='replace') if isinstance(text, bytes) else text}"
