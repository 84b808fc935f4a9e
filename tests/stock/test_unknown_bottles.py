"""Bottles without a label: blocked from the first moment, photos made harmless, candidates that are only candidates."""

import hashlib
import io
import struct
import zlib
from uuid import uuid4

import pytest
from PIL import Image

from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.actions.unknown import Find, claim_unknown, log_unknown
from labstock.stock.candidates import candidates_for, what_to_look_at
from labstock.stock.models import Container, State, UnknownClaim, UnknownFind
from labstock.stock.photos import MOST_BYTES, drawn_anew, keep_photo, path_of
from labstock.stock.signs import rule_for
from tests.builders import ACETANILIDE, ANHYDRIDE, amount, container, lot, person, place, refused, session

pytestmark = pytest.mark.django_db


def logged(size="100 mL", appearance="colourless liquid", at=None, doing=None, **fields):
    find = Find(size=amount(size), appearance=appearance, place=at or place(), vessel="bottle", **fields)
    return log_unknown(find=find, doing=doing or Doing(by=person()))


def missing(**fields):
    bottle = container(**fields)
    change_state(container=bottle, to=State.NOT_SEEN, doing=Doing(by=person(), reason="not on its shelf"))
    bottle.refresh_from_db()
    return bottle


def jpeg(width=60, height=40, **options):
    sent = io.BytesIO()
    Image.new("RGB", (width, height), "brown").save(sent, "JPEG", **options)
    return sent.getvalue()


def anew(sent):
    return drawn_anew(io.BytesIO(sent), len(sent))


def test_an_unknown_bottle_is_blocked_and_nobody_draws_from_it():
    bottle = logged().container
    assert bottle.substance is None
    assert bottle.lot is None
    assert bottle.name == "unknown: colourless liquid"
    with refused("is blocked .nobody knows what is in it: do not open, smell or move it"):
        draw(container=bottle, amount=amount("1 mL"), device_code="syringe-1", doing=Doing(by=person()))


def test_how_full_it_is_stays_open_from_empty_to_full():
    bottle = logged("500 mL").container
    # a rectangle of half width a has u = a/√3 (JCGM 100:2008, 4.3.7): 250 mL / √3 = 144 mL
    assert bottle.amount == 250
    assert bottle.doubt.u == pytest.approx(144.3, abs=0.1)


def test_a_level_by_eye_narrows_how_full_it_is():
    bottle = logged("500 mL", level_percent=25).container
    # a quarter, 15 % of 500 mL either way: u = 75 mL / √3 = 43.3 mL (JCGM 100:2008, 4.3.7)
    assert bottle.amount == 125
    assert bottle.doubt.u == pytest.approx(43.3, abs=0.1)


def test_nobody_holds_it_for_a_session():
    bottle = logged().container
    marit = person()
    with refused("is blocked"):
        reserve(session=session(marit), wants=[Want(bottle, 1_000_000)], by=marit)


@pytest.mark.parametrize("sign", ["crystals", "cap", "cloud", "pressure"])
def test_a_sign_on_a_bottle_of_unknown_age_says_do_not_move(sign):
    bottle = logged(signs={sign: True}).container
    seen = bottle.signs.get()
    assert (seen.what, seen.is_seen) == (sign, True)
    assert "Do not touch, open or move it" in rule_for(sign, None).advice


def test_what_would_tell_the_candidates_apart_is_asked_until_it_was_looked_at():
    for about in (ANHYDRIDE, ACETANILIDE):
        missing(lot=lot(about))
    find = logged()
    assert what_to_look_at(find, candidates_for(find)).startswith("Is it a liquid or a solid")
    looked = logged(form="liquid", level_percent=100)
    assert what_to_look_at(looked, candidates_for(looked)) == ""


def test_logging_it_twice_with_one_key_makes_one():
    doing = Doing(by=person(), key=uuid4())
    assert logged(doing=doing).pk == logged(doing=doing).pk
    assert Container.objects.count() == 1


def test_a_size_that_is_no_size_is_refused():
    with refused("'2 mol' is no size of a bottle: give what it holds, such as 500 mL or 100 g"):
        logged("2 mol")


def test_candidates_are_missing_ones_from_the_same_room_the_likeliest_first():
    far = missing(location=place("cupboard 9"), capacity="500 mL", lot=lot(number="far"))
    near = missing(lot=lot(number="near"))
    container(lot=lot(number="there"))  # seen, so it is none
    find = logged(form="liquid", level_percent=100)
    found = candidates_for(find)
    assert [one.container for one in found] == [near, far]
    assert found[0].reasons == (
        "last stood in this very place",
        "same size",
        "a bottle too",
        "a liquid too",
        "100 % full by the book",
    )
    assert found[1].reasons[1] == "but another size"
    assert found[1].reasons[0] == "last stood next to it, in cupboard 9"


def test_a_missing_one_from_another_room_is_no_candidate():
    from labstock.stock.models import Location

    other = Location.objects.create(name="room 2145", kind="room", path="room 2145")
    missing(location=other)
    assert candidates_for(logged()) == []


def test_a_member_may_not_claim_one():
    find, bottle = logged(), missing()
    with refused("A member may not reverse other people's entries and dispose of containers"):
        claim_unknown(find=find, container=bottle, doing=Doing(by=person(), reason="it is"))


def test_a_claim_needs_a_reason():
    with refused("Say what makes it this one: code, handwriting, fill, an assay"):
        claim_unknown(find=logged(), container=missing(), doing=Doing(by=person("wren")))


def test_a_claim_brings_the_missing_one_back_blocked_and_closes_the_stopgap():
    find, bottle = logged(at=place("shelf 2", "shelf")), missing()
    claim_unknown(
        find=find, container=bottle, doing=Doing(by=person("wren"), reason="scratch on the shoulder")
    )
    bottle.refresh_from_db()
    find.container.refresh_from_db()
    assert (bottle.state, bottle.location.name) == (State.BLOCKED, "shelf 2")
    assert find.container.state == State.DISPOSED
    assert "scratch on the shoulder" in find.container.state_because


def test_a_container_that_is_where_it_should_be_is_not_claimed():
    with refused("TQ .* is in use: only a container that is not seen where it should be can be this bottle"):
        claim_unknown(
            find=logged(), container=container(), doing=Doing(by=person("wren"), reason="looks like it")
        )


def test_the_same_claim_again_is_one_and_another_is_refused():
    find, bottle, other = logged(), missing(), missing(lot=lot(number="b"))
    doing = Doing(by=person("wren"), reason="handwriting")
    for _ in range(2):
        claim_unknown(find=find, container=bottle, doing=doing)
    assert UnknownClaim.objects.count() == 1
    with refused("Wren Halloran said on .* that this is TQ"):
        claim_unknown(find=find, container=other, doing=Doing(by=person("wren"), reason="no, this one"))


def test_a_photo_loses_position_and_camera():
    exif = Image.Exif()
    exif[0x010F] = "SECRET-CAMERA"
    exif.get_ifd(0x8825)[1] = "N"
    sent = jpeg(exif=exif, comment=b"SECRET-COMMENT")
    assert b"SECRET-CAMERA" in sent
    kept = anew(sent)
    assert b"SECRET" not in kept
    assert not Image.open(io.BytesIO(kept)).getexif()


def test_a_photo_is_turned_upright_before_its_orientation_is_dropped():
    exif = Image.Exif()
    exif[0x0112] = 6
    assert Image.open(io.BytesIO(anew(jpeg(60, 40, exif=exif)))).size == (40, 60)


def test_a_large_photo_is_kept_small():
    assert max(Image.open(io.BytesIO(anew(jpeg(4000, 3000)))).size) == 1600


def test_more_than_twelve_megapixels_is_refused():
    with refused("The photo has 16 megapixels and may have 12 megapixels"):
        anew(jpeg(4000, 4000))


def bomb(width, height):
    """Return a PNG of a few bytes that says it is huge."""

    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 99))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(("side", "words"), [(12_000, "144 megapixels"), (60_000, "far more than that")])
def test_a_decompression_bomb_is_refused_before_it_is_unpacked(side, words):
    with refused(f"The photo has {words} and may have 12 megapixels"):
        anew(bomb(side, side))


@pytest.mark.parametrize(
    "sent", [b"", b"hello", b"\x89PNG\r\n\x1a\n", b"<svg xmlns='x'/>", b"%PDF-1.7", b"GIF89a"]
)
def test_what_is_no_photo_is_refused_in_words(sent):
    with refused("This file is no photo that can be read: send a JPEG, PNG or WebP, or leave it out"):
        anew(sent)


def test_a_photo_cut_short_is_refused():
    with refused("no photo that can be read"):
        anew(jpeg(400, 300)[:900])


def test_a_file_over_8_MB_is_refused_unread():
    with refused("The photo has 8.0 MB and may have 8 MB"):
        drawn_anew(io.BytesIO(b""), MOST_BYTES + 1)


def test_a_stored_photo_is_sealed_by_its_digest(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    find = logged(photo=anew(jpeg()))
    stored = path_of(find.photo).read_bytes()
    assert hashlib.sha256(stored).hexdigest() == find.photo_sha256
    assert UnknownFind.objects.get().photo.endswith(".jpg")


def test_a_name_with_a_way_in_it_stays_in_the_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    keep_photo(b"x")
    assert path_of("../../etc/passwd").parent == tmp_path / "unknown"
