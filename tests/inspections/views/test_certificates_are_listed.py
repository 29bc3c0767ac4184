"""Certificates of a piece and of a job: date, number, verdict and the paper, and which of them a job relied on."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from inspections.actions import Finding, record
from inspections.actions.attach import attach
from inspections.actions.correct import strike
from inspections.certificates import certificates_of, certificates_relied_on
from inspections.models import Check, Inspection
from kit.models import Item
from kit.stores import finish_issue, issue_piece
from tests.kit.views.holm import Yard

PDF = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"


def certify(yard: Yard, item: Item, number: str, days_ago: int, verdict: str = "pass") -> Inspection:
    check = Check.objects.get(kind=item.kind, name="calibration")
    done = yard.today - timedelta(days=days_ago)
    yard.do(record, Finding(item, check, done, verdict, by="test house", certificate=number))
    return Inspection.objects.get(certificate=number)


@pytest.fixture
def gauge(yard: Yard) -> Item:
    """A gauge with three: two with a number, of which one has its paper, and a record with a paper only."""
    made = yard.receive("G-1")  # passed yesterday, without a number
    certify(yard, made, "TH-1", 500)
    newer = certify(yard, made, "TH-2", 200)
    yard.do(attach, made, "TH-2.pdf", PDF, inspection=newer)
    plain = Inspection.objects.filter(item=made, certificate="").latest("pk")
    yard.do(attach, made, "scan.pdf", PDF + b"1", inspection=plain)
    return Item.objects.get(pk=made.pk)


def section(yard: Yard, who: str = "eve", tag: str = "G-1", **asked: str) -> str:
    page = yard.client(who).get(reverse("item", args=[tag]), asked).content.decode()
    _before, _heading, after = page.partition('aria-labelledby="certificates"')
    return after.partition("</section>")[0]


def test_each_is_listed_newest_first_with_number_verdict_and_paper(yard: Yard, gauge: Item):
    assert [one.record.certificate for one in certificates_of(gauge)] == ["", "TH-2", "TH-1"]
    rows = section(yard).split('<tr role="row"')[2:]
    assert len(rows) == 3
    by_number = {number: row for number in ("TH-1", "TH-2") for row in rows if f">{number}<" in row}
    paper = Inspection.objects.get(certificate="TH-2").attachments.get()
    assert f'href="{reverse("file", args=[paper.pk])}"' in by_number["TH-2"]
    assert "TH-2.pdf" in by_number["TH-2"]
    for number, row in by_number.items():
        made = Inspection.objects.get(certificate=number)
        assert f'href="{reverse("inspection", args=[made.pk])}"' in row
        assert ">pass<" in row
    missing = reverse("inspection", args=[Inspection.objects.get(certificate="TH-1").pk]) + "#files"
    assert f'href="{missing}"' in by_number["TH-1"]
    assert "no file yet: attach it" in by_number["TH-1"]
    assert "attach it" not in section(yard, "pat")


def test_one_that_was_struck_out_stays_and_says_that_it_does_not_count(yard: Yard, gauge: Item):
    wrong = Inspection.objects.get(certificate="TH-2")
    yard.do(strike, wrong, "of another gauge")
    assert "does not count any more" in section(yard)
    assert {one.record.certificate: one.stands for one in certificates_of(gauge)}["TH-2"] is False
    relied = certificates_relied_on({gauge.pk: yard.today})
    assert "TH-2" not in {one.record.certificate for one in relied}


def test_a_piece_without_any_has_no_such_section(yard: Yard, gauge: Item):
    yard.receive("G-2", serial="2")
    assert section(yard, tag="G-2") == ""


def test_a_long_list_is_shown_in_part(yard: Yard, gauge: Item):
    for number in range(10):
        certify(yard, gauge, f"OLD-{number}", 600 + number)
    assert section(yard).count('<tr role="row"') == 1 + 8
    assert "All 13 certificates" in section(yard)
    assert section(yard, certificates="all").count('<tr role="row"') == 1 + 13


def test_a_job_lists_the_newest_of_each_check_by_the_day_of_issue(yard: Yard, gauge: Item):
    job = yard.plan("J-1", yard.arrangement("one", [("gauge", "gauge", 1)]))
    yard.reserve(job)
    yard.do(issue_piece, job, gauge)
    yard.do(finish_issue, job)
    days = {gauge.pk: yard.today - timedelta(days=100)}
    assert [one.record.certificate for one in certificates_relied_on(days)] == ["TH-2"]
    page = yard.client("lee").get(reverse("job", args=["J-1"])).content.decode()
    listed = page.partition('aria-labelledby="certificates"')[2].partition("</section>")[0]
    assert "1 certificate<" in listed
    assert "scan.pdf" in listed, "the record of yesterday is the newest on the day of issue"
    assert "TH-2" not in listed


def test_the_queries_do_not_grow_with_the_pieces_of_a_job(yard: Yard, django_assert_max_num_queries):
    items = [yard.receive(f"G-{n}", serial=str(n)) for n in range(6)]
    for n, item in enumerate(items):
        made = certify(yard, item, f"TH-{n}", 0)
        yard.do(attach, item, f"TH-{n}.pdf", PDF + b"%d" % n, inspection=made)
    with django_assert_max_num_queries(3):
        relied = certificates_relied_on({item.pk: yard.today for item in items})
        assert [len(one.papers) for one in relied] == [1] * 6
