"""Relabelling a whole place from the command line."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from labstock.labels.models import LabelPrint
from labstock.stock.actions.keeping import dispose
from labstock.stock.actions.lines import Doing
from tests.builders import ACETANILIDE, container, person, place
from tests.labels.test_label_pages import codes_on

pytestmark = pytest.mark.django_db


def test_everything_in_a_place_is_printed_logged_and_told(tmp_path, capsys):
    rows = [container(), container(ACETANILIDE, "25 g"), container(location=place("hood 4", "hood"))]
    dispose(container=rows[1], doing=Doing(by=person("wren"), reason="old"))
    said, file = StringIO(), tmp_path / "labels.pdf"
    call_command("labels", file, place="room 214", by="wren", stdout=said)
    assert [text[-7:] for text in codes_on(file.read_bytes())] == [rows[0].code, rows[2].code]
    assert [line.code for line in LabelPrint.objects.order_by("id")] == [rows[0].code, rows[2].code]
    assert said.getvalue().startswith(f"2 labels in {file}, ")
    assert "drawing labels: 100%" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"place": "room 9", "by": "wren"}, "There is no place “room 9”"),
        ({"place": "room 214", "by": "nobody"}, "Nobody called nobody may log in here"),
        ({"place": "room 214", "by": "wren", "size": "30-up"}, "“30-up” is not a sheet of labels"),
        ({"place": "room 214, tray 9", "by": "wren"}, "0 labels were chosen"),
    ],
)
def test_what_cannot_be_printed_is_refused_with_the_reason(tmp_path, asked, words):
    container(), place("tray 9", "tray")
    with pytest.raises(CommandError, match=words):
        call_command("labels", tmp_path / "labels.pdf", **asked)
    assert not (tmp_path / "labels.pdf").exists()
    assert not LabelPrint.objects.exists()
