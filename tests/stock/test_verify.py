"""`manage.py verify` finds what should never have happened."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from labstock.stock import guards
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.heads import KEEP_EVERY, site_head
from labstock.stock.models import Container, Entry, KeptHead
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
        "TQ 1001 Z, line 4: the container says remaining 1e-06, its lines add up to 91.5"
    ]


def test_an_old_print_out_is_confirmed_after_later_lines(bottle):
    head = site_head()
    draw(container=bottle, amount=amount("1 mL"), device_code="syringe-10", doing=Doing(by=person()))
    code, words = verify("--head", f"{head[:8]} {head[8:].upper()}")
    assert code == 0
    assert "the head of the whole ledger after line 4 of TQ 1001 Z" in words
    assert "Since then 1 line was added; none of those before was changed." in words


def test_the_first_twelve_digits_of_a_container_s_head_are_enough(bottle):
    code, words = verify("--head", Container.objects.get().last_hash[:12])
    assert code == 0
    assert "That was the head of this container alone after line 4 of TQ 1001 Z" in words
    assert "Nothing was added since." in words


def test_a_head_this_ledger_never_had_is_not_confirmed(bottle):
    code, words = verify("--head", "ab" * 32)
    assert code == 1
    assert "This ledger never had the head abab" in words


def test_refuses_what_is_no_head(bottle):
    with pytest.raises(
        CommandError, match="'head' is no head: give the hex digits of the print-out, 12 to 64"
    ):
        verify("--head", "head")


def test_a_print_out_from_before_a_removed_line_is_no_longer_confirmed(bottle):
    head = site_head()
    guards.remove(connection)
    Entry.objects.filter(seq=4).delete()
    guards.install(connection)
    assert verify("--head", head)[0] == 1


def test_a_kept_head_is_a_stepping_stone_that_is_checked_itself(bottle, monkeypatch):
    monkeypatch.setattr("labstock.stock.heads.KEEP_EVERY", 3)
    assert KEEP_EVERY > 3
    head = site_head()
    assert KeptHead.objects.get().head == head
    assert site_head() == head
    guards.remove(connection)
    KeptHead.objects.update(head="0" * 64)
    guards.install(connection)
    assert "BROKEN head kept after row" in verify()[1]


def test_progress_and_speed_are_told(bottle):
    assert "lines per second" in verify()[1]
