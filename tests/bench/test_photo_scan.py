"""A photograph or a frame of live video, sent: one code leads on, several are listed, nothing is kept."""

import pytest
import zxingcpp
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.files.uploadhandler import StopUpload
from django.test import Client
from django.urls import reverse

from batches.models import Batch
from labstock.bench.photo_upload import InMemory
from labstock.labels.codes_read import batch_code, location_code, person_code
from labstock.people.badges import make_badge
from labstock.stock.actions import keeping
from labstock.stock.actions.lines import Doing
from labstock.stock.codes import make_code, next_number
from tests import builders
from tests.bench.conftest import text_of
from tests.labels.photos import PHONE, photo, scene

pytestmark = pytest.mark.django_db


def address(code: str) -> str:
    return f"HTTPS://STOCK.EXAMPLE/C/{code}"


def send(client: Client, data: bytes, to: str = "scan-photo", **more):
    return client.post(reverse(to), {"photo": SimpleUploadedFile("shelf.jpg", data, "image/jpeg"), **more})


def test_a_photo_of_one_label_opens_its_page(marit, bottle):
    assert send(marit, photo([address(bottle.code)])).headers["Location"] == f"/C/{bottle.code}"


def test_a_photo_of_a_shelf_lists_each_vessel_with_its_name(marit, bottle):
    aniline = builders.container(builders.ANILINE)
    page = text_of(send(marit, photo([address(bottle.code), address(aniline.code), "https://example.org/x"])))
    assert "3 codes in the photo" in page
    assert page.index("acetic anhydride") < page.index("aniline</a>")
    assert page.count('<svg class="vessel') == 2
    assert "is an address that does not lead to a container" in page


def test_forty_bottles_in_one_photo_cost_few_queries(marit, django_assert_max_num_queries):
    numbers = [1000]
    while len(numbers) < 40:
        numbers.append(next_number("TQ", numbers[-1]))
    lot = builders.lot()
    for number in numbers:
        builders.container(number=number, lot=lot)
    shelf = photo([address(make_code("TQ", number)) for number in numbers], size=PHONE, module_px=5)
    with django_assert_max_num_queries(12):
        page = text_of(send(marit, shelf))
    assert page.count(">Open<") == 40


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"a letter", "no photo that can be read here"),
        (b"\xff\xd8" + bytes(13_000_000), "has more than 12 MB; at most 12 MB are read"),
        (b"", "No photo was chosen"),
    ],
)
def test_what_cannot_be_read_is_answered_in_words(marit, data, said):
    response = send(marit, data)
    assert response.status_code == 422
    assert said in text_of(response)
    assert 'name="photo"' in text_of(response)


def test_a_photo_stays_in_memory_and_stops_growing_at_the_limit(rf):
    handler = InMemory(rf.post("/"), most_bytes=10)
    handler.receive_data_chunk(b"12345", 0)
    with pytest.raises(StopUpload):
        handler.receive_data_chunk(b"678901", 5)
    assert handler.is_too_large
    assert handler._parts == []


def test_a_photo_without_the_forms_token_is_refused(bottle):
    client = Client(enforce_csrf_checks=True)
    client.force_login(builders.person(), backend="django.contrib.auth.backends.ModelBackend")
    for name in ("scan-photo", "scan-frame"):
        assert send(client, photo([address(bottle.code)]), name).status_code == 403


def test_a_frame_is_answered_with_its_code(marit, bottle):
    cache.clear()
    response = send(marit, photo([address(bottle.code)], size=(640, 480)), "scan-frame")
    assert response.json() == {"code": address(bottle.code)}


def test_a_frame_without_code_asks_for_nothing_and_frames_too_fast_are_turned_away(marit):
    cache.clear()
    empty = photo([], size=(640, 480))
    assert send(marit, empty, "scan-frame").json() == {"said": ""}
    assert send(marit, empty, "scan-frame").status_code == 429


def test_a_frame_as_large_as_a_photo_is_refused(marit):
    cache.clear()
    response = send(marit, photo([], size=(2000, 1500)), "scan-frame")
    assert response.status_code == 422
    assert "at most 2 megapixels" in response.json()["said"]


def test_only_the_page_that_scans_may_ask_for_the_camera(marit, bottle):
    assert marit.get(reverse("scan")).headers["Permissions-Policy"].startswith("camera=(self)")
    assert marit.get(reverse("scan"), {"code": "x"}).headers["Permissions-Policy"].startswith("camera=(self)")
    for path in ("/", f"/C/{bottle.code}", "/nowhere/"):
        assert marit.get(path).headers["Permissions-Policy"].startswith("camera=(), microphone=()")


def scan(client, code):
    return client.get(reverse("scan"), {"code": code})


def test_each_sort_of_code_lands_on_its_own_page(marit, bottle):
    shelf = builders.place()
    batch = Batch.objects.create(
        number="26-014", title="x", owner=builders.person(), planned_at=builders.noon()
    )
    assert scan(marit, location_code(shelf.pk)).headers["Location"] == f"/locations/{shelf.pk}/"
    assert scan(marit, batch_code(batch.number)).headers["Location"] == "/batches/26-014/"
    assert marit.get(f"/L/{location_code(shelf.pk)}").headers["Location"] == f"/locations/{shelf.pk}/"
    assert marit.get(f"/B/{batch_code('26-014')}").headers["Location"] == "/batches/26-014/"
    assert marit.get(f"/S/{bottle.code}").headers["Location"] == f"/C/{bottle.code}"


def test_a_label_with_a_persons_number_is_no_badge(marit, as_person):
    code = person_code(builders.person().pk)
    page = marit.get(reverse("scan"), {"code": code}, follow=True)
    assert page.redirect_chain[-1][0] == f"/where/?person={builders.person().pk}"
    assert "This label names Marit Solberg and is no badge" in text_of(page)
    assert scan(as_person("wren"), code).headers["Location"] == f"/people/{builders.person().pk}/"


@pytest.mark.parametrize(
    ("code", "heading", "said"),
    [
        (
            "L012A",
            "Mistyped or misread",
            "code of a place, but a character in it is wrong: the check character",
        ),
        (location_code(99999), "This code leads nowhere", "no place has the number 99999"),
        (batch_code("26-999"), "This code leads nowhere", "no batch has the number 26-999"),
        (make_code("HB", 4817), "Another lab’s code", "is a code of another lab: it begins with HB"),
        ("AMOUNT/7ML", "No card of ours", "is on no card of ours"),
        ("4006381333931", "A maker’s bar code", "is a maker's bar code (13 characters)"),
        ("https://a.example/x", "Somebody else’s address", "does not lead to a container"),
        ("108-24-7", "A CAS number, not a container", 'href="/stock/?q=108-24-7"'),
    ],
)
def test_each_mistake_has_its_own_answer(marit, code, heading, said):
    response = scan(marit, code)
    assert response.status_code == 404
    assert f'<p class="answer__word">{heading}</p>' in text_of(response)
    assert said in text_of(response)


def test_a_makers_bar_code_leads_a_steward_to_receiving_and_nobody_else(marit, as_person):
    assert (
        'href="/stock/receive/?makers=4006381333931"'
        in text_of(scan(as_person("wren"), "4006381333931")).split("<footer")[0]
    )
    assert "/stock/receive/?makers" not in text_of(scan(marit, "4006381333931")).split("<footer")[0]


@pytest.mark.parametrize("kind", ["EAN13", "Code128"])
def test_a_photo_of_a_makers_bar_code_is_called_that_and_not_empty(marit, kind):
    picture = scene(["9506000134352"], kind=getattr(zxingcpp.BarcodeFormat, kind), module_px=4)
    response = send(marit, photo([], picture=picture))
    assert response.status_code == 404
    assert "A maker’s bar code" in text_of(response)


def test_live_video_that_passes_over_a_makers_bar_code_goes_on_looking(marit):
    cache.clear()
    picture = scene(["9506000134352"], size=(640, 480), kind=zxingcpp.BarcodeFormat.EAN13, module_px=3)
    assert send(marit, photo([], picture=picture), "scan-frame").json() == {"said": ""}


def test_a_retired_code_opens_its_page_and_says_who_retired_it(marit, bottle):
    keeping.dispose(container=bottle, doing=Doing(by=builders.person("wren"), reason="empty and rinsed"))
    response = marit.get(reverse("scan"), {"code": bottle.code}, follow=True)
    assert "is retired: its container was disposed of on" in text_of(response)
    assert "by Wren Halloran. If the bottle is in your hand" in text_of(response)


def test_an_amount_card_alone_leads_to_the_screen_it_is_for(marit):
    response = marit.get(reverse("scan"), {"code": "AMOUNT/5ML"}, follow=True)
    assert "“5 mL” is a card for the hands-free page: scan the bottle there first" in text_of(response)


def test_all_six_kinds_of_code_in_one_photo_are_told_apart(marit, bottle):
    shelf = builders.place()
    Batch.objects.create(
        number="26-014", title="Acetanilide", owner=builders.person(), planned_at=builders.noon()
    )
    badge = make_badge(by=builders.person("tobias"), person=builders.person("tobias"))
    sample = builders.container(builders.ANILINE)
    texts = [
        address(bottle.code),
        f"HTTPS://STOCK.EXAMPLE/S/{sample.code}",
        f"HTTPS://STOCK.EXAMPLE/B/{batch_code('26-014')}",
        f"HTTPS://STOCK.EXAMPLE/L/{location_code(shelf.pk)}",
        person_code(badge.number),
        "AMOUNT/5ML",
    ]
    page = text_of(send(marit, photo(texts, size=PHONE)))
    assert "6 codes in the photo" in page
    assert page.count('<svg class="vessel') == 2
    for words in ("batch", "place", "person", "amount card"):
        assert f'<p class="quiet">{words}' in page
    assert "Tobias Renn" in page
    assert 'href="/batches/26-014/"' in page
    assert f'href="/locations/{shelf.pk}/"' in page
