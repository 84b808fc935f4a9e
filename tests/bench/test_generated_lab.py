"""The generated lab: as whole as a real one, the same for any number of processes, and measured by one command."""

import os
import re
import subprocess
import sys

import pytest
from django.conf import settings
from django.db import connection

from batches.models import Batch, BatchState
from batches.retained.models import RetainedSample
from labstock.bench.speed import generated_lab
from labstock.bench.speed.generated_lab import generate_lab
from labstock.bench.speed.labs import a_lab
from labstock.bench.speed.probes import pages, usual_containers
from labstock.chemistry.quantities import parse_quantity
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.heads import site_head
from labstock.stock.models import Container, Entry, HoldState, KeptHead, Reservation, Session
from labstock.stock.verifying import find_faults

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_generated_lab_verifies_and_holds_what_a_real_one_does():
    generate_lab(600, quiet=True)
    assert list(find_faults()) == []
    assert Entry.objects.count() == 10 * Container.objects.count() == 6000
    assert RetainedSample.objects.count() == 60
    assert Reservation.objects.filter(state=HoldState.HELD).exists()
    assert Reservation.objects.filter(state=HoldState.USED, drawn__gt=0).exists()
    assert Session.objects.count() == 30
    assert set(Batch.objects.values_list("state", flat=True)) == {BatchState.RUNNING, BatchState.FINISHED}


def test_its_head_is_that_of_all_its_lines():
    generate_lab(200, quiet=True)
    kept = KeptHead.objects.get()
    assert kept.upto == Entry.objects.latest("pk").pk
    assert kept.head == site_head()


def test_several_processes_make_the_same_lab_as_one(monkeypatch):
    monkeypatch.setattr(generated_lab, "IN_ONE_PROCESS", 0)
    monkeypatch.setattr(generated_lab, "CHUNK", 50)
    generate_lab(200, quiet=True, workers=2)
    assert list(find_faults()) == []
    assert Entry.objects.count() == 2000


def test_the_lab_goes_on_where_it_was_left():
    person = generate_lab(200, quiet=True)
    bottle = usual_containers(200)[0]
    line = draw(
        container=bottle,
        amount=parse_quantity("1 mL"),
        device_code="cylinder-50-b",
        doing=Doing(by=person),
    )
    assert line.seq == 11
    assert line.pk > 2000
    assert list(find_faults()) == []


def test_every_page_that_is_measured_answers(client):
    person = generate_lab(400, quiet=True)
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    answers = {name: client.get(path).status_code for name, path in pages(400, person).items()}
    assert answers == dict.fromkeys(answers, 200)
    assert len(answers) > 20


def test_a_kept_lab_is_taken_again(tmp_path):
    with a_lab(200, keep=tmp_path, quiet=True) as lab, lab.at_hand() as person:
        first = Entry.objects.latest("pk").hash
        assert person.username.startswith("bench")
    with a_lab(200, keep=tmp_path, quiet=True) as lab, lab.at_hand():
        assert Entry.objects.latest("pk").hash == first
    assert not Entry.objects.exists()  # nothing of it is in the site's own database
    _drop(lab)


def test_a_kept_lab_of_another_version_is_refused(tmp_path, monkeypatch):
    with a_lab(200, keep=tmp_path, quiet=True) as lab:
        pass
    monkeypatch.setattr(Entry, "digest", lambda self: "another")
    with (
        pytest.raises(SystemExit, match=r"was made by another version: delete it"),
        a_lab(200, keep=tmp_path, quiet=True),
    ):
        pass
    _drop(lab)


def test_the_command_compares_two_labs_side_by_side(tmp_path):
    command = "manage.py bench --small 200 --large 400 --runs 1 --only scan -v 0"
    said = subprocess.run(
        [sys.executable, *command.split()],
        env=os.environ | {"LABSTOCK_DATA": str(tmp_path)},
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert re.search(r"scan page +\d+\.\d ms +\d+\.\d ms +\d+\.\d\d", said)


def _drop(lab):
    if connection.vendor == "postgresql":
        with connection._nodb_cursor() as cursor:
            cursor.execute(f'DROP DATABASE "{lab.connection.settings_dict["NAME"]}"')
