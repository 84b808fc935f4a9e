"""The board of unknown bottles as people use it."""

import io
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Container, State, UnknownFind
from tests import builders
from tests.bench.conftest import text_of

pytestmark = pytest.mark.django_db


def jpeg(**options):
    sent = io.BytesIO()
    Image.new("RGB", (60, 40), "brown").save(sent, "JPEG", **options)
    return SimpleUploadedFile("bottle.jpg", sent.getvalue(), "image/jpeg")


def log(client, **fields):
    form = {
        "key": str(uuid.uuid4()), "place": builders.place().pk, "size": "100", "vessel": "bottle",
        "appearance": "colourless, a third full",
    }  # fmt: skip
    return client.post(reverse("unknown-log"), form | fields)


@pytest.fixture
def missing(bottle):
    change_state(container=bottle, to=State.NOT_SEEN, doing=Doing(by=builders.person(), reason="not there"))
    return bottle


def test_logging_one_leads_to_what_not_to_do_with_it(marit):
    response = log(marit)
    find = UnknownFind.objects.get()
    assert response.url == reverse("unknown", args=[find.pk])
    page = text_of(marit.get(response.url))
    assert "Do not open it. Do not smell at it. Do not guess." in page
    assert "do not touch it, keep others away, and ring now" in page
    assert "100 mL bottle" in page
    assert "No: blocked: nobody knows what is in it" in text_of(
        marit.get(reverse("container", args=[find.container.code]))
    )


def test_a_photo_is_shown_to_who_is_logged_in_only(marit, client):
    log(marit, photo=jpeg())
    address = reverse("unknown-photo", args=[UnknownFind.objects.get().pk])
    answer = marit.get(address)
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    assert answer.content[:2] == b"\xff\xd8"
    assert client.get(address).url.startswith("/login/")


def test_the_photo_that_is_stored_has_no_position_in_it(marit, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    exif = Image.Exif()
    exif[0x010F] = "SECRET-CAMERA"
    exif.get_ifd(0x8825).update({1: "N", 2: (54.0, 35.0, 12.5), 3: "W", 4: (3.0, 35.0, 1.5)})
    sent = jpeg(exif=exif)
    assert Image.open(sent).getexif().get_ifd(0x8825)[2] == (54.0, 35.0, 12.5)
    sent.seek(0)
    log(marit, photo=sent)
    (kept,) = [path for path in tmp_path.rglob("*") if path.is_file()]
    stored = kept.read_bytes()
    assert b"SECRET" not in stored
    assert b"Exif" not in stored
    assert dict(Image.open(io.BytesIO(stored)).getexif()) == {}
    assert Image.open(io.BytesIO(stored)).size == (60, 40)


def test_crystals_on_it_lead_to_do_not_move_and_whom_to_ring(marit):
    response = log(marit, signs=["crystals", "cap"], form="solid", level="25", neighbours="TQ 4817 K")
    page = text_of(marit.get(response.url))
    assert "Do not move it. Do not touch it. Ring now" in page
    assert "Nobody knows what these crystals are." in page
    assert "about 25 %, by eye" in page
    assert "TQ 4817 K" in page
    assert "Do not move it. Do not touch it. Ring now" not in text_of(marit.get(log(marit).url))


def test_a_photo_that_is_none_is_refused_and_the_rest_is_kept(marit):
    response = log(marit, photo=SimpleUploadedFile("x.jpg", b"not a picture"))
    page = text_of(response)
    assert response.status_code == 422
    assert "This file is no photo that can be read" in page
    assert 'value="colourless, a third full"' in page
    assert not UnknownFind.objects.exists()


def test_a_photo_over_the_limit_never_reaches_the_disk_and_the_rest_is_kept(marit, monkeypatch):
    monkeypatch.setattr("tempfile.NamedTemporaryFile", None)
    response = log(marit, photo=SimpleUploadedFile("x.jpg", b"\xff\xd8" + bytes(9_000_000)))
    page = text_of(response).replace("\xa0", " ")
    assert response.status_code == 422
    assert "The photo has more than 8 MB; at most 8 MB are read." in page
    assert 'value="colourless, a third full"' in page
    assert not UnknownFind.objects.exists()


def test_without_a_place_or_a_size_it_is_not_logged(marit):
    page = text_of(log(marit, place="", size="big"))
    assert 'id="id_place-wrong"' in page
    assert 'id="id_size-wrong"' in page
    assert not Container.objects.exists()


def test_candidates_are_called_candidates_and_only_a_steward_may_claim(marit, as_person, missing):
    address = log(marit).url
    page = text_of(marit.get(address))
    assert "Candidates only" in page
    assert "<p>candidate, " in page
    assert f'href="/C/{missing.code}"' in page
    assert "It is this one" not in page
    assert "It is this one" in text_of(as_person("wren").get(address))
    claim = reverse("unknown-claim", args=[UnknownFind.objects.get().pk])
    assert marit.post(claim, {"container": missing.code, "reason": "I think so"}).status_code == 403


def test_a_stewards_claim_leads_to_the_container_that_was_missing(marit, as_person, missing):
    log(marit)
    claim = reverse("unknown-claim", args=[UnknownFind.objects.get().pk])
    form = {"key": str(uuid.uuid4()), "container": missing.code, "reason": "assay and handwriting"}
    response = as_person("wren").post(claim, form)
    assert response.url == reverse("container", args=[missing.code])
    assert "It has a name again" in text_of(
        marit.get(reverse("unknown", args=[UnknownFind.objects.get().pk]))
    )
    assert "Wren Halloran" in text_of(marit.get(reverse("unknown-list")))


def test_a_claim_without_a_reason_is_refused(marit, as_person, missing):
    log(marit)
    claim = reverse("unknown-claim", args=[UnknownFind.objects.get().pk])
    response = as_person("wren").post(claim, {"key": str(uuid.uuid4()), "container": missing.code})
    assert response.status_code == 422
    assert 'id="id_reason-wrong"' in text_of(response)


def test_an_unknown_bottle_gets_a_label_at_once(marit):
    log(marit)
    answer = marit.get(reverse("label-single", args=[UnknownFind.objects.get().container.code]))
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")


def test_an_empty_board_says_so(marit):
    assert "No bottle without a label is on record." in text_of(marit.get(reverse("unknown-list")))


def test_the_board_asks_few_questions(marit, django_assert_max_num_queries):
    for _ in range(4):
        log(marit)
    with django_assert_max_num_queries(12):
        marit.get(reverse("unknown-list"))
