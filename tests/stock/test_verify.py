"""`manage.py verify` finds what should never have happened."""

from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection

from labstock.stock import guards
from labstock.stock.actions.ledger import Doing, draw
from labstock.stock.models import Container, Entry
from labstock.stock.queries import site_head
from labstock.stock.verifying import find_faults
from tests.builders import amount, container, person

pytestmark = pytest.mark.django_db


@pytest.fixture
def bottle():
    made = container()
    for text in ("5 mL", "2 mL", "1.5 mL"):
        draw(container=made, amount=amount(text), device_code="syringe-10", doing=Doing(by=person()))
    return Container.objects.get(pk=made.pk)


def verify(*args):
    out, err = StringIO(), StringIO()
    try:
        call_command("verify", *args, stdout=out, stderr=err, verbosity=0)
    except SystemExit as stop:
        return stop.code, err.getvalue()
    return 0, out.getvalue()


def tamper(**fields):
    guards.remove(connection)
    Entry.objects.filter(seq=3).update(**fields)
    guards.install(connection)


def test_an_untouched_ledger_is_whole(bottle):
    code, words = verify()
    assert code == 0
    assert "The ledger is whole: 4 lines" in words


@pytest.mark.parametrize(
    "fields",
    [
        {"change": -2_000_001},
        {"after": 93_000_001},
        {"typed": "3 mL"},
        {"device": "by-eye"},
        {"by_name": "Marit Solberh"},
        {"reason": "x"},
        {"purpose": "x"},
        {"u_random": 1},
        {"u_common": 1},
        {"u_after": 1},
        {"gross_ug": 1},
        {"kind": "spilt"},
        {"key": "00000000-0000-0000-0000-000000000001"},
        {"previous_hash": "0" * 64},
        {"hash": "0" * 64},
        {"seq": 9},
    ],
)
def test_one_changed_field_is_found_and_its_line_named(bottle, fields):
    tamper(**fields)
    code, words = verify()
    assert code == 1
    assert "BROKEN TQ 1001 Z, line 3" in words


def test_a_removed_line_is_found(bottle):
    guards.remove(connection)
    Entry.objects.filter(seq=3).delete()
    guards.install(connection)
    assert "TQ 1001 Z, line 3: missing" in verify()[1]


def test_a_removed_last_line_is_found(bottle):
    guards.remove(connection)
    Entry.objects.filter(seq=4).delete()
    guards.install(connection)
    assert "points at another last line" in verify()[1]


def test_a_changed_sum_on_the_container_is_found(bottle):
    Container.objects.update(remaining=1)
    assert [str(fault) for fault in find_faults()] == [
        "TQ 1001 Z, line 4: the container says 1e-06, its lines add up to 91.5"
    ]


def test_the_head_of_an_old_print_out_is_confirmed_or_not(bottle):
    head = site_head()
    assert verify("--head", head)[0] == 0
    draw(container=bottle, amount=amount("1 mL"), device_code="syringe-10", doing=Doing(by=person()))
    code, words = verify("--head", head)
    assert code == 1
    assert "lines were added since" in words
