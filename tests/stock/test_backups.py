"""The drill: back up while people work, put it back elsewhere, find everything; and what a backup refuses."""

import json
import threading
from collections import namedtuple
from io import StringIO
from urllib.parse import quote

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, connections, transaction

from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock import guards
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.backups import make_backup, read_manifest
from labstock.stock.copying import opened
from labstock.stock.heads import site_head
from labstock.stock.models import Container, Entry
from labstock.stock.restoring import ALIAS, place_for
from tests.builders import amount, container, person

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def photos(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"
    (settings.MEDIA_ROOT / "samples").mkdir(parents=True)
    (settings.MEDIA_ROOT / "samples" / "tube.jpg").write_bytes(b"\xff\xd8 a tube of 1897")
    return settings.MEDIA_ROOT


@pytest.fixture
def into(tmp_path, engine, worker_id):
    """An empty place of the same engine, and the name of it; tests run side by side have one each."""
    if engine == "sqlite":
        yield str(tmp_path / "elsewhere")
        return
    about, drill = connection.settings_dict, f"labstock_drill_{worker_id}"
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE IF EXISTS {drill}")
        cursor.execute(f"CREATE DATABASE {drill} TEMPLATE template0")
    host, port = quote(about["HOST"], safe=""), f":{about['PORT']}" if about["PORT"] else ""
    login = f"{about['USER']}:{about['PASSWORD']}@" if about["PASSWORD"] else f"{about['USER']}@"
    yield f"postgres://{login}{host}{port}/{drill}"
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE {drill}")


def run(command, *args, **options):
    out = StringIO()
    call_command(command, *args, stdout=out, verbosity=0, **options)
    return out.getvalue()


def backed_up(tmp_path):
    run("backup", str(tmp_path / "kept"))
    return next((tmp_path / "kept").iterdir())


def draw_once(bottle, text="0.1 mL"):
    return draw(container=bottle, amount=amount(text), device_code="syringe-1", doing=Doing(by=person()))


def test_the_drill_a_backup_taken_while_people_work_is_put_back_whole(tmp_path, into):
    bottles, person_ = [container() for _ in range(3)], person()
    stop, done = threading.Event(), []

    def work():
        try:
            while not stop.is_set():
                for bottle in bottles:
                    done.append(draw_once(bottle).key)
        finally:
            connections.close_all()

    worker = threading.Thread(target=work)
    worker.start()
    while len(done) < 5:
        stop.wait(0.01)
    before = list(done)
    folder = backed_up(tmp_path)
    stop.set()
    worker.join()
    run("restore", str(folder), into=into, photos=str(tmp_path / "back"))
    manifest = read_manifest(folder)
    with opened(ALIAS, **place_for(into).about) as using:
        keys = set(Entry.objects.using(using).values_list("key", flat=True))
        assert set(before) <= keys <= set(done) | {line.key for line in Entry.objects.filter(seq=1)}
        assert site_head(using) == manifest.head
        assert User.objects.using(using).get(username=person_.username).check_password("quay-side-tern")
        for bottle in Container.objects.using(using):
            assert bottle.remaining == sum(bottle.entries.values_list("change", flat=True))
    assert (tmp_path / "back" / "samples" / "tube.jpg").read_bytes() == b"\xff\xd8 a tube of 1897"


def test_what_was_put_back_is_guarded_and_goes_on(tmp_path, into):
    container()
    run("restore", str(backed_up(tmp_path)), into=into, photos=str(tmp_path / "back"))
    with opened(ALIAS, **place_for(into).about) as using:
        assert guards.missing(connections[using]) == []
        with pytest.raises(DatabaseError, match="history"), transaction.atomic(using):
            Entry.objects.using(using).update(change=1)
        newest = User(username="new", first_name="New", last_name="Comer")
        newest.save(using=using)
        assert newest.pk > person("wren").pk


def test_the_head_printed_on_a_report_is_confirmed_by_the_backup(tmp_path):
    container()
    head = site_head()
    assert f"Head {head}" in run("backup", str(tmp_path / "kept"))


def test_a_database_in_use_is_never_overwritten_and_what_is_newer_is_said(tmp_path):
    bottle = container()
    folder = backed_up(tmp_path)
    draw_once(bottle)
    draw_once(bottle)
    with pytest.raises(CommandError) as refused:
        run("restore", str(folder))
    words = str(refused.value).replace("\u00a0", " ")
    assert "The site's own database is in use: 2 people, 3 ledger lines." in words
    assert "and 2 lines more, in 1 container, the last by Marit Solberg" in words
    assert "Nothing was overwritten" in words
    assert Entry.objects.count() == 3


def test_nothing_newer_is_said_too(tmp_path):
    container()
    folder = backed_up(tmp_path)
    with pytest.raises(CommandError, match=r"everything that is in the backup of .*, and no line more"):
        run("restore", str(folder))


def test_another_lab_s_database_is_recognised(tmp_path):
    folder = backed_up(tmp_path)
    said = json.loads((folder / "manifest.json").read_text())
    (folder / "manifest.json").write_text(json.dumps(said | {"head": "ab" * 32}))
    container()
    with pytest.raises(CommandError, match="does not lead through that of the backup"):
        run("restore", str(folder))


def spoil(folder, deed):
    file = next(path for path in sorted(folder.rglob("*")) if path.suffix in (".sqlite3", ".csv"))
    if deed == "was changed":
        file.write_bytes(file.read_bytes() + b"\n")
    elif deed == "is missing":
        file.unlink()
    else:
        (folder / "more.csv").write_text("")


@pytest.mark.parametrize("deed", ["was changed", "is missing", "was added"])
def test_a_damaged_backup_is_refused_and_the_file_named(tmp_path, into, deed):
    container()
    folder = backed_up(tmp_path)
    spoil(folder, deed)
    with pytest.raises(CommandError, match=rf"is damaged: \S+ {deed} since it was made"):
        run("restore", str(folder), into=into)


def test_a_broken_ledger_is_not_backed_up_as_if_it_were_whole(tmp_path):
    container()
    guards.remove(connection)
    Entry.objects.update(typed="500 mL")
    guards.install(connection)
    with pytest.raises(CommandError, match="The ledger is broken: TQ 1001 Z, line 1: was changed"):
        run("backup", str(tmp_path / "kept"))
    assert list((tmp_path / "kept").iterdir()) == []


def test_a_folder_that_is_no_backup_is_refused(tmp_path):
    with pytest.raises(CommandError, match="is no backup that can be read"):
        run("restore", str(tmp_path))


def test_a_backup_of_a_newer_version_is_refused(tmp_path, into):
    folder = backed_up(tmp_path)
    said = json.loads((folder / "manifest.json").read_text())
    said["migrations"].append(["stock", "0999_later"])
    (folder / "manifest.json").write_text(json.dumps(said))
    with pytest.raises(CommandError, match="knows the change stock 0999_later, and this one does not"):
        run("restore", str(folder), into=into)


def test_the_other_engine_is_refused(tmp_path, engine):
    folder = backed_up(tmp_path)
    other = "postgres://nobody@127.0.0.1/nothing" if engine == "sqlite" else str(tmp_path / "other")
    with pytest.raises(CommandError, match=f"This backup was made of {engine} and .* name a "):
        run("restore", str(folder), into=other)


def test_another_photograph_is_not_replaced(tmp_path, into):
    folder = backed_up(tmp_path)
    (tmp_path / "back" / "samples").mkdir(parents=True)
    (tmp_path / "back" / "samples" / "tube.jpg").write_bytes(b"another")
    with pytest.raises(CommandError, match=r"tube\.jpg is another photograph than the one in the backup"):
        run("restore", str(folder), into=into, photos=str(tmp_path / "back"))


def test_a_disk_that_is_too_full_is_said_before_anything_is_written(tmp_path, monkeypatch):
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr("labstock.stock.backups.shutil.disk_usage", lambda folder: usage(9, 9, 9))
    with pytest.raises(CommandError, match="has 0 MB free: free some space, or name another folder"):
        run("backup", str(tmp_path / "kept"))
    assert list((tmp_path / "kept").iterdir()) == []


def test_progress_is_told_for_every_deed(tmp_path):
    container()
    told = []
    make_backup(tmp_path, lambda deed, done, many: told.append((deed, done == many)))
    for deed in ("copying", "verifying", "photographs", "hashing"):
        assert (deed, True) in told


def test_two_backups_in_one_second_do_not_meet(tmp_path):
    moment = make_backup(tmp_path, lambda *told: None)[1].moment
    with pytest.raises(LabError, match="is there already: wait a second"):
        make_backup(tmp_path, lambda *told: None, at=moment)


def test_a_backup_lets_sqlite_note_how_large_its_tables_are(tmp_path, engine):
    if engine != "sqlite":
        pytest.skip("PostgreSQL keeps its statistics by itself")
    container()
    backed_up(tmp_path)
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM sqlite_stat1 WHERE tbl = 'stock_entry'")
        assert cursor.fetchone()[0] > 0
