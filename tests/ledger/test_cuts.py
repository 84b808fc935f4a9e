"""The server dies, the disk fills up, the database closes: what was acknowledged stays, nothing is half done."""

import logging
import random
import threading
import time
import uuid
from contextlib import contextmanager

import pytest
from django.db import connection
from django.test import Client

from labstock.bench.speed.site import signed_in
from labstock.stock.models import Entry
from labstock.stock.verifying import find_faults
from tests.builders import container, person
from tests.ledger.amounts_of_work import IS_LONG
from tests.ledger.clients import Browser, Failed, Told
from tests.ledger.places import closed_to_writing, nowhere, on_a_small_disk
from tests.ledger.servers import Server

pytestmark = pytest.mark.django_db(transaction=True)
CUTS = 50 if IS_LONG else 3


def is_whole():
    assert [str(fault) for fault in find_faults()] == []


class Stubborn:
    """People who draw without a pause; whoever gets no answer sends the same form again until there is one."""

    def __init__(self, port, code, session_keys):
        self.told = [Told() for _ in session_keys]
        self.open_keys, self.port, self.code = {}, port, code
        self.over = threading.Event()
        self.threads = [
            threading.Thread(target=self.work, args=pair)
            for pair in zip(self.told, session_keys, strict=True)
        ]

    def __enter__(self):
        for thread in self.threads:
            thread.start()
        return self

    def __exit__(self, *error):
        self.over.set()
        for thread in self.threads:
            thread.join(60)

    def work(self, told, session_key):
        with Browser(self.port, session_key) as browser:
            while not self.over.is_set():
                key = str(uuid.uuid4())
                self.open_keys[id(told)] = key
                if told.hears(self.insist(browser, key)):
                    told.done[key] = (self.code, 1)

    def insist(self, browser, key):
        while True:
            try:
                return browser.draw(self.code, "0.01 mL", key)
            except Failed:
                time.sleep(0.05)

    def acknowledged(self):
        return {key for told in self.told for key in list(told.done)}


def written():
    return [str(key) for key in Entry.objects.filter(kind="drawn").values_list("key", flat=True)]


def test_what_was_acknowledged_outlives_a_kill_and_nothing_is_there_twice():
    bottle = container(holds="200 mL", capacity="200 mL")
    keys = [signed_in(person(who)) for who in ("marit", "tobias", "wren", "sunniva")]
    number = random.SystemRandom().randrange(2**32)
    print(f"moments of the cuts drawn with {number}")
    chance, unanswered = random.Random(number), 0
    with Server(workers=1) as server, Stubborn(server.port, bottle.code, keys) as people:
        for _ in range(CUTS):
            before = len(people.acknowledged())
            while len(people.acknowledged()) < before + 3:
                time.sleep(0.01)
            time.sleep(chance.uniform(0, 0.3))
            server.kill()
            told, there = people.acknowledged(), written()
            assert told <= set(there)
            unanswered += len(set(people.open_keys.values()) & set(there) - told)
            is_whole()
            server.start(is_measured=False)
        people.over.set()
        for thread in people.threads:
            thread.join(60)
    print(f"{CUTS} cuts, {len(written())} draws, {unanswered} written and not answered before the cut")
    assert [odd for told in people.told for odd in told.odd] == []
    assert sorted(written()) == sorted(people.acknowledged())
    is_whole()


def says(answer, *words):
    for word in words:
        assert word in answer.text
    assert "Traceback" not in answer.text


def draw_until_refused(browser, bottle):
    """Draw until the answer is another than yes; return it with its key and what was acknowledged before."""
    done: list[str] = []
    for _ in range(3000):
        key = str(uuid.uuid4())
        answer = browser.draw(bottle.code, "0.01 mL", key)
        if not answer.is_done:
            return answer, key, done
        done.append(key)
    raise AssertionError("the disk never filled up")


def test_a_full_disk_is_told_and_leaves_nothing_half_done():
    bottle, session_key = container(), signed_in(person())
    with on_a_small_disk() as disk:
        with (
            Server(workers=1, threads=1, **disk.server) as server,
            Browser(server.port, session_key) as browser,
        ):
            browser.get(f"/C/{bottle.code}")
            answer, key, done = draw_until_refused(browser, bottle)
            assert any(answer.status == status and word in answer.text for status, word in disk.says), (
                answer,
                server.said(),
            )
            says(answer, "an entry is written whole or not at all", "Send it again")
            assert sorted(written()) == sorted(done)
            is_whole()
        disk.make_room()
        with Server(workers=1, threads=1) as server, Browser(server.port, session_key) as browser:
            browser.get(f"/C/{bottle.code}")
            assert browser.draw(bottle.code, "0.01 mL", key).is_done
            assert browser.draw(bottle.code, "0.01 mL", key).is_done
        assert sorted(written()) == sorted([*done, key])
        is_whole()


def test_a_database_that_is_closed_to_writing_is_told_and_pages_can_still_be_read():
    bottle, session_key = container(), signed_in(person())
    with closed_to_writing() as closed, Server(workers=1, threads=1, **closed.server) as server:
        with Browser(server.port, session_key) as browser:
            assert browser.get(f"/C/{bottle.code}").status == 200
            answer = browser.draw(bottle.code, "1 mL")
            assert answer.status == 503, server.said()
            says(
                answer, "The database can be read but not written", "an entry is written whole or not at all"
            )
        assert written() == []
        is_whole()


def test_a_database_that_is_not_there_is_told():
    with Server(url=nowhere(), workers=1, threads=1) as server, Browser(server.port, "x" * 32) as browser:
        answer = browser.get("/")
    assert answer.status == 503, server
    says(answer, "The database cannot be reached", "it may be starting again")


@contextmanager
def entries_refused_with(sql_state):
    """Let the database fail at the very write of a line, as PostgreSQL tells of it."""
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE FUNCTION fails() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION 'as told' USING ERRCODE = '{sql_state}'; END $$; "
            "CREATE TRIGGER fails BEFORE INSERT ON stock_entry FOR EACH ROW EXECUTE FUNCTION fails()"
        )
        try:
            yield
        finally:
            cursor.execute("DROP TRIGGER fails ON stock_entry; DROP FUNCTION fails")


@pytest.mark.parametrize(
    ("sql_state", "status", "words"),
    [
        ("53100", 507, "The disk is full"),
        ("25006", 503, "can be read but not written"),
        ("57P01", 503, "cannot be reached"),
        ("40P01", 503, "Too many people are writing at once"),
        ("58030", 503, "does not answer as it should"),
        ("22012", 500, "Something broke on our side"),
    ],
)
def test_what_postgresql_tells_becomes_plain_words(sql_state, status, words, monkeypatch):
    monkeypatch.setattr(logging.getLogger("django.request"), "disabled", True)
    if connection.vendor != "postgresql":
        pytest.skip("SQLite raises these by itself in the tests above")
    bottle, browser = container(), Client(raise_request_exception=False)
    browser.force_login(person())
    form = {"way": "amount", "amount": "1", "unit": "mL", "device": "syringe-1", "key": uuid.uuid4()}
    with entries_refused_with(sql_state):
        answer = browser.post(f"/C/{bottle.code}/use", form)
    assert answer.status_code == status
    assert words in answer.content.decode()
    assert written() == []
    assert browser.post(f"/C/{bottle.code}/use", form).status_code == 302
