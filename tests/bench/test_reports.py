"""Every report carries the head of the whole ledger, from which `manage.py verify --head` confirms it later."""

import re
from io import BytesIO, StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse
from openpyxl import load_workbook

from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.heads import KEEP_EVERY, site_head
from labstock.stock.models import KeptHead
from tests.batches.preparations import finished, running
from tests.builders import amount, container, person
from tests.every_page import world

pytestmark = pytest.mark.django_db

REPORTS = ("where-did-it-go", "batch", "running batch", "sample", "check-result", "lot-forward")
WORKBOOKS = ("container-export", "check-export")


def address_of(name, lab):
    return {
        "where-did-it-go": f"/where/?container={lab.bottle.code}",
        "batch": reverse("batch", args=[lab.finished.number]),
        "running batch": reverse("batch", args=[lab.batch.number]),
        "sample": reverse("sample", args=[lab.sample.code]),
        "check-result": reverse("check-result", args=[lab.count.stock_check_id]),
        "lot-forward": reverse("lot-forward", args=[lab.bottle.lot_id]),
        "check-export": reverse("check-export", args=[lab.count.stock_check_id]),
        "container-export": reverse("container-export"),
    }[name]


@pytest.mark.parametrize("name", REPORTS)
def test_a_report_carries_the_head_of_the_whole_ledger(marit, name):
    page = marit.get(address_of(name, world())).content.decode()
    assert site_head() in re.sub(r"\s", "", page)
    assert "manage.py verify --head" in page


@pytest.mark.parametrize("name", WORKBOOKS)
def test_a_workbook_carries_it_on_a_sheet_of_its_own(marit, name):
    book = load_workbook(BytesIO(marit.get(address_of(name, world())).content))
    told = {row[0].value: row[1].value for row in book["Proof"].iter_rows()}
    assert told["Head of the whole ledger"].replace(" ", "") == site_head()
    assert told["By"] == str(person())
    assert book.sheetnames[0] != "Proof"


def test_a_head_read_off_a_report_is_confirmed_after_the_ledger_went_on(marit):
    batch = finished()
    page = marit.get(reverse("batch", args=[batch.number])).content.decode()
    head = re.search(r'proof__head">([^<]+)<', page)[1]
    bottle = container()
    draw(container=bottle, amount=amount("1 mL"), device_code="syringe-10", doing=Doing(by=person()))
    said = StringIO()
    call_command("verify", "--head", head, stdout=said, verbosity=0)
    assert "That was the head of the whole ledger after line" in said.getvalue()
    assert "Since then 2 lines were added; none of those before was changed." in said.getvalue()


def test_the_digest_on_a_batch_record_is_confirmed_too(marit):
    batch, said = finished(), StringIO()
    page = marit.get(reverse("batch", args=[batch.number])).content.decode()
    digits = re.search(r'Digest <span class="code">([0-9a-f ]+)<', page)[1]
    call_command("verify", "--head", digits, stdout=said, verbosity=0)
    assert f"That is the digest of batch {batch.number}, Acetanilide, finished" in said.getvalue()
    assert "Its record is what it was then." in said.getvalue()


def test_a_report_keeps_a_stepping_stone_when_the_way_to_its_head_was_long(marit, monkeypatch):
    assert KEEP_EVERY > 2
    monkeypatch.setattr("labstock.stock.heads.KEEP_EVERY", 2)
    batch = running()
    marit.get(reverse("batch", args=[batch.number]))
    assert KeptHead.objects.latest("upto").head == site_head()
