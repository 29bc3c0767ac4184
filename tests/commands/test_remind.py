"""Reminders by mail, sent to a real SMTP server and read back: who gets what, once a day, and what fails is said."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from email.message import EmailMessage

import pytest
from django.contrib.auth.models import User

from inspections.models import MailSent, MailWish
from kit.mail_settings import read_mail_settings
from kit.models import Depot, Item, Role
from kit.stores import quarantine
from tests.commands.mail_server import Mailbox, free_port, mail_server
from tests.commands.running import run
from tests.kit.views.holm import Yard, make_yard

pytestmark = pytest.mark.django_db

LINKS = "https://fettlebook.example"
SENDER = "Fettlebook <fettlebook@depot.example>"


@pytest.fixture
def yard() -> Yard:
    """A broken promise for the job of tomorrow, and a pump that was never inspected."""
    made = make_yard()
    for n in range(1, 5):
        made.receive(f"G-{n}", serial=str(n))
    made.reserve(made.plan("J-MORN", made.arrangement(), load_in=1))
    promised = Item.objects.filter(reservations__job__reference="J-MORN").order_by("tag")[0]
    made.do(quarantine, promised, "needle sticks")
    made.receive("P-1", kind="pump", serial="1", passed=False)
    Depot.objects.filter(pk=made.holm.pk).update(name="Prüfbuch Köln")
    for name in ("sal", "pat", "eve"):
        User.objects.filter(username=name).update(email=f"{name}@depot.example")
    return made


def configure(settings, port: int, **more: str) -> None:
    """As kit/settings.py does from the environment."""
    environment = {
        "HOST": "127.0.0.1",
        "PORT": str(port),
        "TLS": "none",
        "FROM": SENDER,
        "LINKS": LINKS,
        **more,
    }
    mail = read_mail_settings({f"FETTLEBOOK_MAIL_{name}": value for name, value in environment.items()})
    assert not mail.fault
    settings.MAIL = mail
    settings.EMAIL_HOST, settings.EMAIL_PORT = mail.host, mail.port
    settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD = mail.user, mail.password
    settings.EMAIL_USE_TLS, settings.EMAIL_USE_SSL = mail.tls == "starttls", mail.tls == "implicit"
    settings.DEFAULT_FROM_EMAIL = mail.sender


@pytest.fixture
def box(settings) -> Iterator[Mailbox]:
    with mail_server() as served:
        configure(settings, served.port)
        yield served


def text(message: EmailMessage, kind: str = "plain") -> str:
    part = message.get_body((kind,))
    assert part is not None
    return part.get_content()


def recipients(box: Mailbox) -> list[str]:
    return [address for addresses, _message in box.received for address in addresses]


def test_each_person_gets_one_mail_with_their_own_work(yard, box):
    done = run("remind")
    assert done.code == 0, done.err
    assert recipients(box) == ["eve@depot.example", "pat@depot.example", "sal@depot.example"]
    [to_sal], [to_pat], [to_eve] = (box.to(f"{name}@depot.example") for name in ("sal", "pat", "eve"))
    assert "VANS TO LOAD" in text(to_sal)
    assert "PROMISES THAT NO LONGER HOLD" in text(to_pat)
    assert "needle sticks" in text(to_pat)
    assert "Proposed in its place: G-" in text(to_pat)
    assert "pump: inspection never done" in text(to_eve)
    assert "3 sent" in done.err
    # Those of whom no address is known are named.
    assert "cal, lee, max, wyn" in done.err


def test_the_mail_says_from_whom_and_where_and_how_much_in_its_subject(yard, box):
    run("remind", "--role", "planner")
    [message] = box.to("pat@depot.example")
    assert message["From"] == SENDER
    assert message["To"] == "pat@depot.example"
    # A long subject that is encoded begins on the next line (RFC 5322, 2.2.3), so with the space of the fold.
    subject = message["Subject"].strip()
    assert subject.startswith("Prüfbuch Köln, ")
    assert subject.endswith(": 1 promise broken, 1 job short")
    assert message["Auto-Submitted"] == "auto-generated"
    assert message["Date"]
    assert message["Message-ID"]


def test_both_parts_say_the_same_in_utf_8_with_links_that_lead_somewhere(yard, box):
    run("remind", "--role", "planner")
    [message] = box.to("pat@depot.example")
    assert message.get_content_type() == "multipart/alternative"
    assert [part.get_content_type() for part in message.iter_parts()] == ["text/plain", "text/html"]
    for kind in ("plain", "html"):
        part = message.get_body((kind,))
        assert part is not None
        assert part.get_content_charset() == "utf-8"
        content = part.get_content()
        for said in (
            "Prüfbuch Köln",
            "needle sticks",
            f"{LINKS}/jobs/J-MORN/",
            f"{LINKS}/inspections/reminders/",
        ):
            assert said in content, (kind, said)
    # A raw header has no byte beyond ASCII (RFC 2047).
    assert box.raw[0].partition(b"\r\n\r\n")[0].isascii()


def test_somebody_with_two_roles_gets_one_mail_of_both_and_one_for_each_depot(yard, box):
    yard.appoint("pat", yard.holm, Role.EXAMINER)
    yard.appoint("pat", yard.weir, Role.EXAMINER)
    yard.receive("W-1", kind="pump", serial="w", depot=yard.weir, passed=False)
    run("remind")
    first, second = box.to("pat@depot.example")
    assert "PROMISES THAT NO LONGER HOLD" in text(first)
    assert "P-1" in text(first)
    assert "W-1" not in text(first)
    assert "W-1" in text(second)
    assert second["Subject"].startswith("Weir, ")


def test_role_and_depot_narrow_whom_it_goes_to(yard, box):
    yard.appoint("pat", yard.holm, Role.EXAMINER)
    assert run("remind", "--role", "examiner", "--depot", "Weir").code == 0
    assert box.received == []
    run("remind", "--role", "examiner", "--depot", "Holm")
    assert recipients(box) == ["eve@depot.example", "pat@depot.example"]
    assert "PROMISES" not in text(box.to("pat@depot.example")[0])


def test_whoever_stopped_them_or_has_left_gets_none(yard, box):
    MailWish.objects.create(user=yard.people["pat"], depot=yard.holm, wants=False)
    User.objects.filter(username="eve").update(is_active=False)
    run("remind")
    assert recipients(box) == ["sal@depot.example"]


def test_an_empty_digest_is_sent_only_if_asked_for(yard, box):
    yard.appoint("pat", yard.weir, Role.PLANNER)
    assert run("remind", "--depot", "Weir").code == 0
    assert box.received == []
    run("remind", "--depot", "Weir", "--even-if-empty")
    [message] = box.to("pat@depot.example")
    assert "Nothing needs you here today." in text(message)
    assert message["Subject"].endswith(": nothing to see to")


def test_the_same_digest_goes_once_a_day_unless_asked_again(yard, box):
    run("remind", "--role", "planner")
    said = run("remind", "--role", "planner")
    assert (said.code, len(box.received)) == (0, 1)
    assert "0 sent, 1 sent today already" in said.err
    run("remind", "--role", "planner", "--again")
    assert len(box.received) == 2
    # What has changed since is another digest, and the same one goes again on another day.
    yard.plan("J-NEXT", yard.arrangement(), load_in=2)
    run("remind", "--role", "planner")
    assert len(box.received) == 3
    MailSent.objects.update(sent_on=yard.today - timedelta(days=1))
    run("remind", "--role", "planner")
    assert len(box.received) == 4


def test_what_went_out_long_ago_is_forgotten(yard, box):
    old = yard.today - timedelta(days=60)
    MailSent.objects.create(address="x@depot.example", depot=yard.holm, sent_on=old, digest_hash="0" * 64)
    run("remind", "--role", "planner")
    assert list(MailSent.objects.values_list("address", flat=True)) == ["pat@depot.example"]


def test_a_shared_mailbox_gets_the_digest_of_a_role_whatever_people_wish(yard, box):
    MailWish.objects.create(user=yard.people["pat"], depot=yard.holm, wants=False)
    said = run("remind", "--to", "stores@depot.example", "--role", "planner", "--depot", "Holm")
    assert said.code == 0
    assert recipients(box) == ["stores@depot.example"]
    assert "PROMISES THAT NO LONGER HOLD" in text(box.received[0][1])


def test_a_day_ahead_is_told_as_of_that_day(yard, box):
    day = yard.today + timedelta(days=3)
    run("remind", "--role", "stores", "--as-of", day.isoformat())
    assert "should have been loaded" in text(box.to("sal@depot.example")[0])


def test_a_dry_run_shows_the_mails_and_sends_and_notes_nothing(yard, settings):
    settings.MAIL = read_mail_settings({})
    said = run("remind", "--dry-run", "--role", "planner")
    assert said.code == 0
    assert "To: pat@depot.example\nSubject: Prüfbuch Köln, " in said.out
    assert "needle sticks" in said.out
    assert "nothing was sent" in said.err
    assert not MailSent.objects.exists()


def test_one_address_that_is_refused_is_reported_and_the_others_get_theirs(yard, box):
    box.refused.add("eve@depot.example")
    said = run("remind")
    assert said.code == 1
    assert recipients(box) == ["pat@depot.example", "sal@depot.example"]
    assert "Not sent to eve@depot.example: 550 5.1.1 no such mailbox here" in said.err
    box.refused.clear()
    said = run("remind")
    assert said.code == 0
    assert recipients(box)[2:] == ["eve@depot.example"]


def test_a_server_that_breaks_off_at_one_mail_still_gets_the_others(yard, box):
    box.closes = "eve@depot.example"
    said = run("remind")
    assert said.code == 1
    assert recipients(box) == ["pat@depot.example", "sal@depot.example"]
    assert "Not sent to eve@depot.example" in said.err


def test_where_no_server_answers_it_says_so_and_the_next_run_sends(yard, settings):
    configure(settings, free_port())
    said = run("remind")
    assert said.code == 1
    assert "takes no mail" in said.err
    assert "3 of 3 were not sent" in said.err
    assert not MailSent.objects.exists()
    with mail_server() as box:
        configure(settings, box.port)
        assert run("remind").code == 0
        assert len(box.received) == 3


def test_without_a_server_set_it_sends_nothing_and_never_pretends(yard, settings):
    settings.MAIL = read_mail_settings({})
    said = run("remind")
    assert (said.code, said.out) == (2, "")
    assert "FETTLEBOOK_MAIL_HOST" in said.err
    assert not MailSent.objects.exists()


# The server of the tests warns that it takes a login without TLS.
CLEAR = pytest.mark.filterwarnings("ignore:Requiring AUTH while not requiring TLS")


@CLEAR
def test_a_login_is_used_where_one_is_set(yard, settings):
    with mail_server(login=True) as box:
        configure(settings, box.port, USER="book", PASSWORD="open, please")
        said = run("remind", "--role", "planner")
        assert said.code == 0, said.err
        assert box.logins == [(b"book", b"open, please")]
        assert len(box.received) == 1


@CLEAR
def test_a_wrong_password_is_said_without_showing_it(yard, settings):
    with mail_server(login=True) as box:
        configure(settings, box.port, USER="book", PASSWORD="guessed")
        said = run("remind", "--role", "planner")
        assert said.code == 1
        assert box.received == []
        assert "535" in said.err
        assert "guessed" not in said.err + said.out


def test_where_the_line_should_be_encrypted_and_cannot_be_nothing_is_sent(yard, settings):
    """STARTTLS (RFC 3207) is the default; a server without it is not spoken to in the clear instead."""
    with mail_server() as box:
        configure(settings, box.port, TLS="starttls")
        said = run("remind", "--role", "planner")
        assert said.code == 1
        assert "STARTTLS" in said.err
        assert box.received == []


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--depot", "Holn"], "There is no depot Holn in the register. Did you mean Holm?"),
        (["--to", "nobody"], "is no e-mail address"),
        (["--role", "boss"], "invalid choice"),
        (["--as-of", "tomorrow"], "is not a date"),
    ],
)
def test_bad_input_is_a_sentence_and_exit_2(yard, box, arguments, said):
    answer = run("remind", *arguments)
    assert answer.code == 2
    assert said in answer.err
    assert box.received == []


def test_a_long_section_is_cut_and_says_where_the_rest_is(yard, box):
    for n in range(45):
        yard.receive(f"Q-{n:02}", kind="hand tool", serial=f"q{n}", passed=False)
    run("remind", "--role", "examiner")
    content = text(box.to("eve@depot.example")[0])
    assert content.count("never done") == 40
    assert "The first 40 of 46 are listed." in content
    assert f"{LINKS}/inspections/due/?within=14" in content
