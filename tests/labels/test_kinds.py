"""What labels say of decanted bottles, solutions, waste, boxes; blanks claimed; every print written down."""

import uuid
from datetime import date

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from labstock.labels.actions import print_blanks
from labstock.labels.contents import content_of
from labstock.labels.making import DIFFER, badge_plate, box_of, location_plate
from labstock.labels.models import LabelPrint
from labstock.labels.queries import contents_of_place, find_containers
from labstock.people.models import Badge
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, number_on_label, receive
from labstock.stock.actions.transferring import Vessel, decant
from labstock.stock.codes import make_code
from labstock.stock.models import Container, Origin
from tests.builders import ACETANILIDE, ACETIC_ACID, ANHYDRIDE, amount, container, lot, person, place, refused
from tests.labels.test_label_pages import HAZARDS, bottle, codes_on, pages_of, said

pytestmark = pytest.mark.django_db
LOCAL = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def steward(client):
    client.force_login(person("wren"), backend=LOCAL)
    return client


def fetched(row: Container) -> Container:
    return find_containers([row.code])[0][0]


def plain(words: str) -> str:
    return words.replace("\xa0", " ")


def hazardous(about: dict, hazards: list) -> Container:
    row = container(about)
    row.substance.hazards = hazards
    row.substance.save()
    return row


def test_a_decanted_bottle_says_from_which_and_when_it_was_filled():
    parent = bottle()
    child = decant(
        container=parent,
        amount=amount("20 mL"),
        device_code="syringe-20",
        into=Vessel(capacity=amount("50 mL")),
        doing=Doing(by=person("marit")),
    )
    content = content_of(fetched(child))
    assert content.kind == "decanted"
    assert f"decanted from {parent.code[:2]} {parent.number} {parent.code[-1]}" in [
        plain(line) for line in content.lines
    ]
    assert [word for word, _ in content.dates] == ["filled", "opened", "expiry"]
    assert content.signal_word == "Danger"


def test_a_solution_says_its_strength_who_made_it_when_and_until_when():
    made = lot(
        ANHYDRIDE,
        origin=Origin.MADE_HERE,
        concentration_mol_per_L=0.5,
        concentration_u_mol_per_L=0.005,
        expires_on=date(2026, 12, 24),
    )
    row = container(lot=made, purpose="solution", described_as="acetic anhydride in toluene")
    content = content_of(fetched(row))
    assert (content.kind, content.name) == ("solution", "acetic anhydride in toluene")
    assert plain(content.strength) == "0.500 ± 0.010 mol/L"
    assert plain(content.lines[0]) == "100 mL, made by W. Halloran"
    assert content.dates == (("made", date(2026, 9, 3)), ("use before", date(2026, 12, 24)))


def test_a_bottle_says_its_newest_assay_and_how_it_is_kept():
    row = container(needs=["dry", "inert"])
    for day, percent in ((date(2026, 9, 10), 97.9), (date(2026, 10, 20), 93.6)):
        row.assays.create(
            percent=percent, u_percent=0.2, method="titration", measured_on=day, by=person("marit")
        )
    content = content_of(fetched(row))
    assert plain(content.strength) == "93.60 ± 0.40 % by assay of 20 Oct 2026, M. Solberg"
    assert content.lines[-1].endswith("keep dry, under inert gas")


def test_what_is_used_up_in_the_shift_says_who_poured_it_and_when_and_no_hazards(steward):
    row = bottle()
    data = {"codes": [row.code], "size": "vial", "is_for_shift": "on"}
    words = pages_of(steward.post(reverse("label-print"), data).content)[0]
    assert "THIS SHIFT ONLY: acetic anhydride" in " ".join(words.split())
    assert "W. Halloran, " in words
    assert "Flammable" not in words
    both = steward.post(reverse("label-print"), data | {"is_full": "on"})
    assert "names every hazard and this one none: tick one of the two" in said(both)


def test_the_browser_is_told_every_page_then_handed_the_file(steward):
    rows = [bottle() for _ in range(3)]
    data = {"codes": [row.code for row in rows], "size": "24-up", "start": "23"}
    response = steward.post(reverse("label-print"), data, headers={"Tell-Pages": "yes"})
    told, file = b"".join(response).split(b"file\n", 1)
    assert told == b"1 2\n2 2\n"
    assert len(codes_on(file)) == 3
    assert LabelPrint.objects.count() == 3


def test_a_refusal_while_pages_are_told_logs_nothing_and_the_plain_way_says_why(steward):
    data = {"codes": [bottle().code], "size": "57x32-sheet", "start": "1", "is_full": "on"}
    data |= {"size": "own-roll", "width": "12", "height": "12"}
    response = steward.post(reverse("label-print"), data, headers={"Tell-Pages": "yes"})
    assert b"".join(response) == b"no\n"
    assert LabelPrint.objects.count() == 0
    assert "is not printed on 12 × 12 mm" in said(steward.post(reverse("label-print"), data))


def test_a_waste_bottle_says_so_in_capitals_and_has_a_box_for_the_day_it_is_full():
    row = container(purpose="waste", described_as="halogen-free solvents with acid")
    content = content_of(fetched(row))
    assert (content.kind, content.banner) == ("waste", "WASTE")
    assert content.dates == (("begun", date(2026, 9, 3)), ("full", None))


def test_a_place_has_its_name_and_its_own_code(steward):
    plate = location_plate(place())
    assert (plate.name, plate.lines) == ("cupboard 4", ("room 214",))
    response = steward.post(reverse("label-places"), {"places": [place().pk], "key": uuid.uuid4()})
    assert codes_on(response.content) == [plate.text]
    assert LabelPrint.objects.get().code == plate.code


def test_a_badge_carries_the_badges_number_and_no_password(steward):
    wren = person("wren")
    Badge.objects.create(person=wren, number=12345678901234, made_at=timezone.now(), made_by=wren)
    plate = badge_plate(wren.badges.get())
    assert (plate.name, plate.lines) == ("Wren Halloran", ("Plover group",))
    assert codes_on(steward.post(reverse("label-badge")).content) == [plate.code]
    assert "12345678901234" not in LabelPrint.objects.get().code


def test_without_a_badge_one_is_led_to_where_it_is_made(steward):
    assert steward.post(reverse("label-badge")).url == reverse("badge")


def test_a_box_unites_the_hazards_of_what_is_in_it():
    for about, hazards in ((ANHYDRIDE, HAZARDS[:1]), (ACETIC_ACID, HAZARDS[3:])):
        hazardous(about, hazards)
    box = box_of(place(), contents_of_place(place()))
    assert box.content.pictograms == ("GHS02", "GHS05")
    assert box.content.signal_word == "Danger"
    assert {"Flammable liquid and vapour", "Causes severe skin burns and eye damage"} <= set(
        box.content.hazard_words
    )
    assert box.content.hazard_words[0] == DIFFER
    assert [plain(words).split(": ")[1] for words in box.warnings] == ["H226", "H314"]


def test_a_box_of_equal_hazards_warns_of_nothing():
    for _ in range(2):
        hazardous(ANHYDRIDE, HAZARDS)
    box = box_of(place(), contents_of_place(place()))
    assert (box.warnings, DIFFER in box.content.hazard_words) == ((), False)


def test_a_box_with_something_unrecorded_says_so():
    hazardous(ANHYDRIDE, HAZARDS)
    container(ACETIC_ACID)
    box = box_of(place(), contents_of_place(place()))
    assert box.content.hazard_words[-1] == "Hazards not on record for some"
    assert any("no hazards on record" in words for words in box.warnings)


def test_an_empty_box_has_no_label(steward):
    with refused("Nothing stands in room 214, tray 9"):
        box_of(place("tray 9", "tray"), [])
    page = steward.post(reverse("label-box"), {"box": place("tray 9", "tray").pk, "key": uuid.uuid4()})
    assert page.status_code == 422
    assert "Nothing stands in room 214, tray 9" in said(page)


def test_the_page_warns_before_a_box_of_differing_hazards_is_printed(steward):
    for about, hazards in ((ANHYDRIDE, HAZARDS[:1]), (ACETIC_ACID, HAZARDS[3:])):
        hazardous(about, hazards)
    page = said(steward.get(reverse("label-other"), {"box": place().pk}))
    assert "Not everything in it has the same hazards" in page
    response = steward.post(reverse("label-box"), {"box": place().pk, "key": uuid.uuid4(), "size": "bottle"})
    assert DIFFER in pages_of(response.content)[0]


def test_blanks_take_numbers_that_no_other_container_gets():
    numbers = print_blanks(by=person("wren"), count=3, paper="vial", key=uuid.uuid4())
    assert len(set(numbers)) == 3
    assert container().number > max(numbers)


def test_sending_the_blanks_twice_gives_the_same_ones():
    key = uuid.uuid4()
    first, second = (print_blanks(by=person("wren"), count=3, paper="vial", key=key) for _ in range(2))
    assert first == second
    assert LabelPrint.objects.count() == 3


def test_another_number_from_the_same_page_is_refused_instead_of_giving_the_old_ones():
    key = uuid.uuid4()
    print_blanks(by=person("wren"), count=3, paper="vial", key=key)
    with refused("This page already printed 3 blank labels. Open it anew to print 5 others"):
        print_blanks(by=person("wren"), count=5, paper="vial", key=key)


@pytest.mark.parametrize("count", [0, 501, 100_000])
def test_no_blanks_and_too_many_are_refused(steward, count):
    response = steward.post(reverse("label-blanks"), {"count": count, "key": uuid.uuid4()})
    assert response.status_code == 422
    assert f"{count} blank labels cannot be printed at once: give 1 to 500." in said(response)


def test_blanks_are_printed_and_read_back(steward):
    response = steward.post(reverse("label-blanks"), {"count": 4, "size": "vial", "key": uuid.uuid4()})
    codes = [line.code for line in LabelPrint.objects.order_by("id")]
    assert sorted(text[-len(codes[0]) :] for text in codes_on(response.content)) == sorted(codes)


def delivery(**extra) -> dict[str, str]:
    row = container()
    data = {
        "substance": row.substance_id,
        "key": uuid.uuid4(),
        "lot": row.lot_id,
        "unit": "mL",
        "vessel": "bottle",
    }
    return {**data, "capacity": "2 x 100 mL", "received_on": "25 Nov 2026", **extra}


def test_a_blank_label_is_claimed_when_the_container_is_received(steward):
    numbers = print_blanks(by=person("wren"), count=2, paper="vial", key=uuid.uuid4())
    codes = [make_code("TQ", number) for number in numbers]
    data = delivery(labels=f"{codes[1].lower()}\nHTTPS://STOCK.EXAMPLE/C/{codes[0]}")
    for _ in range(2):  # sent twice, received once
        response = steward.post(reverse("container-receive"), data)
        assert response.url.endswith(f"?made={codes[1]},{codes[0]}")
    assert Container.objects.filter(code__in=codes).count() == 2


def test_a_blank_label_that_is_scanned_leads_to_receiving_with_it(steward):
    (number,) = print_blanks(by=person("wren"), count=1, paper="vial", key=uuid.uuid4())
    code = make_code("TQ", number)
    page = said(steward.get(reverse("scan"), {"code": code}))
    assert "is a blank label, printed on" in page
    assert "by Wren Halloran: no container has taken it yet" in page
    assert f'href="/stock/receive/?labels={code}"' in steward.get(f"/C/{code}").content.decode()
    row = container()
    asked = steward.get(reverse("container-receive"), {"labels": code}).content.decode()
    assert f"?substance={row.substance_id}&amp;labels={code}" in asked
    form = steward.get(reverse("container-receive"), {"substance": row.substance_id, "labels": code})
    assert f"{code}</textarea>" in form.content.decode()


@pytest.mark.parametrize(
    ("labels", "words"),
    [
        ("{blank}", "1 label for 2 containers: scan one blank label for each container, or none."),
        ("{blank}\n{spaced}", "was scanned for two containers"),
        ("{blank}\n{taken}", "is already the label of acetic anhydride"),
        ("{blank}\nTQ4817K", "was never printed as a blank label here"),
        ("{blank}\n108-24-7", "is a CAS number"),
    ],
)
def test_a_label_that_cannot_be_claimed_is_refused_and_nothing_is_received(steward, labels, words):
    (number,) = print_blanks(by=person("wren"), count=1, paper="vial", key=uuid.uuid4())
    blank, taken = make_code("TQ", number), container().code
    data = delivery(labels=labels.format(blank=blank, taken=taken, spaced=f"{blank[:2]} {blank[2:]}"))
    before = Container.objects.count()
    response = steward.post(reverse("container-receive"), data)
    assert response.status_code == 422
    assert words in said(response)
    assert blank in said(response)
    assert Container.objects.count() == before


def test_a_claimed_label_cannot_be_claimed_again():
    (number,) = print_blanks(by=person("wren"), count=1, paper="vial", key=uuid.uuid4())
    code = make_code("TQ", number)
    arrival = Arrival(
        unit="g",
        capacity=amount("5 g"),
        amount=amount("5 g"),
        lot=lot(ACETANILIDE),
        number=number_on_label(code),
    )
    receive(arrival=arrival, doing=Doing(by=person("wren")))
    with refused("is already the label of acetanilide"):
        number_on_label(code)


def test_every_print_is_written_down_and_a_reprint_is_shown(steward):
    row = bottle()
    for _ in range(2):
        steward.get(reverse("label-single", args=[row.code]), {"size": "vial"})
    lines = LabelPrint.objects.filter(code=row.code)
    assert [(line.by.username, line.paper) for line in lines] == [("wren", "vial")] * 2
    page = said(steward.get(reverse("label-sheet"), {"codes": row.code}))
    assert "Printed before: 1 of these" in page
    assert "2 times, last on" in page
    assert "by W. Halloran" in page


def test_a_print_that_was_refused_is_not_written_down(steward):
    row = bottle()
    steward.post(reverse("label-print"), {"codes": [row.code], "size": "24-up", "start": "25"})
    steward.head(reverse("label-single", args=[row.code]))
    assert LabelPrint.objects.count() == 0


@pytest.mark.parametrize("act", ["update", "delete"])
def test_the_log_of_prints_cannot_be_changed(steward, act):
    steward.get(reverse("label-single", args=[bottle().code]))
    with pytest.raises(IntegrityError, match="is history"), transaction.atomic():
        LabelPrint.objects.update(paper="cap") if act == "update" else LabelPrint.objects.all().delete()


def test_a_full_label_that_is_too_small_comes_back_with_the_size_it_needs(steward):
    row = container(ANHYDRIDE, "500 mL", capacity="500 mL")
    row.substance.hazards = HAZARDS
    row.substance.save()
    data = {"codes": [row.code], "size": "24-up", "is_full": "on"}
    response = steward.post(reverse("label-print"), data)
    assert response.status_code == 422
    assert "asks for a label of 74 × 52 mm or more" in said(response)
    assert (
        steward.post(reverse("label-print"), data | {"size": "bottle"})["Content-Type"] == "application/pdf"
    )
    assert LabelPrint.objects.get().is_full


def test_the_relief_of_a_small_package_is_named_on_the_page(steward):
    page = said(
        steward.post(reverse("label-sheet"), {"codes": [bottle().code], "size": "24-up", "is_full": "on"})
    )
    assert "Reduced as small packages may be: CLP Annex I, 1.5.2.1, up to 125 mL" in page


def test_a_thousand_ticked_labels_are_no_field_too_many(steward):
    data = {"codes": [bottle().code] * 1000, "size": "24-up", "start": "1", "typed": "", "q": ""}
    assert steward.post(reverse("label-print"), data)["Content-Type"] == "application/pdf"


def test_a_hundred_thousand_codes_are_refused_with_the_limit(steward):
    data = {"typed": "\n".join(["TQ 1002 X"] * 100_000), "size": "24-up"}
    response = steward.post(reverse("label-print"), data)
    assert response.status_code == 422
    assert "100000 labels were chosen; at most 1000 are printed at once" in said(response)


def test_a_size_of_ones_own_is_asked_for_in_both_measures(steward):
    row = bottle()
    response = steward.post(reverse("label-print"), {"codes": [row.code], "size": "own-roll", "width": "57"})
    assert "Give the height of a label in millimetres, such as 57." in said(response)
    response = steward.post(
        reverse("label-print"), {"codes": [row.code], "size": "own-roll", "width": "57", "height": "32"}
    )
    assert response["Content-Type"] == "application/pdf"
    assert LabelPrint.objects.get().paper == "57x32"


@pytest.mark.parametrize(("width", "height"), [("3", "50"), ("999", "20")])
def test_a_size_that_is_no_label_comes_back_with_the_limits(steward, width, height):
    data = {"codes": [bottle().code], "size": "own-sheet", "width": width, "height": height}
    response = steward.post(reverse("label-print"), data)
    assert response.status_code == 422
    assert "sizes go from 12 × 12 mm" in said(response)


def test_a_viewer_prints_no_blanks_and_no_card(client):
    client.force_login(person("kasimir"), backend=LOCAL)
    assert client.post(reverse("label-blanks"), {"count": 3}).status_code == 403
    assert client.post(reverse("label-card")).status_code == 403
    assert "Print blank labels" not in said(client.get(reverse("label-other")))


def test_the_card_of_amounts_is_printed_by_who_may_draw(client):
    client.force_login(person("marit"), backend=LOCAL)
    assert "AMOUNT/5ML" in codes_on(client.post(reverse("label-card")).content)


def test_the_page_of_other_labels_asks_the_database_twelve_times_at_most(
    steward, django_assert_max_num_queries
):
    box = bottle().location_id
    bottle()
    with django_assert_max_num_queries(12):
        page = steward.get(reverse("label-other"), {"box": box})
    assert "Everything in it has the same hazards" in said(page)
    assert "Nothing was printed" not in said(page)
