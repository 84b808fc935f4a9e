"""No signal, in a real browser: what is kept, what waits, what goes out once, and what a power cut leaves."""

import os
import signal
import uuid
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect
from playwright.sync_api import Error as PlaywrightError

from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import Container, Kind, QueuedEntry, Settlement, State
from tests import builders
from tests.browser.chromium import arguments, find_chromium
from tests.browser.conftest import session_cookie
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot

pytestmark = pytest.mark.django_db(transaction=True)
# what the browser itself says of a request that found no network is no fault of the page
NO_NETWORK = "Failed to load resource: net::ERR_"


@pytest.fixture
def bottle(live_server: Any) -> Container:
    """Return a weighed bottle of which Marit holds a part today."""
    bottle = builders.container(holds="53 mL", gross="286.40 g", number=4817)
    session = builders.session(builders.person("marit"))
    reserve(session=session, wants=[Want(bottle, 12_000_000)], by=builders.person("marit"))
    return bottle


@pytest.fixture
def phone(page_for, bottle):
    """Return Marit's phone, on which the worker is in charge and today is kept."""
    page = page_for(builders.person("marit"), width=390, expected_statuses=(422,), expected_words=NO_NETWORK)
    page.goto("/")
    wait_until_kept(page)
    yield page
    page.context.set_offline(False)


def wait_until_kept(page: Page, name: str = "Marit Solberg") -> None:
    until(
        page,
        "async name => navigator.serviceWorker.controller && (await deviceStore.snapshot())?.person.name === name",
        name,
    )


def until(page: Page, claim: str, *about: Any) -> None:
    """Ask the page until it says yes; the policy forbids the driver's own way of waiting, which evaluates text."""
    for _ in range(100):
        if page.evaluate(claim, *about):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"still not so after 5 s: {claim}")


def waiting(page: Page) -> int:
    return int(page.evaluate("async () => (await deviceStore.queue()).length"))


def cut(page: Page) -> None:
    page.context.set_offline(True)


def record_here(page: Page, amount: str, button: str = "Keep") -> None:
    page.get_by_role("textbox", name="How much").fill(amount)
    page.get_by_role("button", name=button).tap()
    expect(page.get_by_text("It is not in the book yet").first).to_be_visible()


def test_two_entries_without_signal_go_out_once_with_their_times(phone, bottle):
    cut(phone)
    phone.goto(f"/C/{bottle.code}")
    expect(phone.get_by_text("53.00 ± 0.31 mL in it, as last known")).to_be_visible()
    expect(phone.get_by_text("12 mL held for you: Acetanilide")).to_be_visible()
    record_here(phone, "5")
    record_here(phone, "2", "Spilt")
    expect(phone.get_by_text("Waiting on this device: 2").first).to_be_visible()
    phone.reload()
    expect(phone.get_by_role("heading", name="Waiting on this device: 2")).to_be_visible()
    assert bottle.entries.count() == 1
    phone.context.set_offline(False)
    expect(phone.get_by_text("2 entries from this device recorded.")).to_be_visible()
    assert waiting(phone) == 0
    assert [line.change for line in bottle.entries.order_by("seq")][1:] == [-5_000_000, -2_000_000]
    done = [row.done_at for row in QueuedEntry.objects.order_by("id")]
    assert [line.done_at for line in bottle.entries.order_by("seq")][1:] == done
    phone.get_by_role("link", name="Open the live page").tap()
    expect(phone.get_by_text("from a device without signal").first).to_be_visible()


def press_record(page: Page, amount: str) -> None:
    page.get_by_label("How much did you take?").fill(amount)
    page.get_by_role("button", name="Record").tap()


def test_a_form_sent_into_no_network_is_kept_and_goes_out_under_its_own_key(phone, bottle):
    phone.goto(f"/C/{bottle.code}")
    key = phone.locator("[data-record] [name=key]").get_attribute("value")
    cut(phone)
    press_record(phone, "5.0")
    expect(phone.get_by_text("It is not in the book yet")).to_be_visible()
    phone.context.set_offline(False)
    expect(phone.get_by_text("1 entry from this device recorded.")).to_be_visible()
    assert str(bottle.entries.get(seq=2).key) == key


def test_an_answer_lost_after_the_server_wrote_makes_no_second_line(phone, bottle):
    cut(phone)
    phone.goto(f"/C/{bottle.code}")
    record_here(phone, "5")
    lost = []

    def lose(route):
        lost.append(route.fetch().status)
        route.abort()

    phone.context.route("**/offline/send", lose)
    phone.context.set_offline(False)
    until_true(phone, lambda: lost == [200])
    assert (waiting(phone), bottle.entries.count()) == (1, 2)
    phone.context.unroute("**/offline/send")
    phone.goto("/")
    expect(phone.get_by_text("1 entry from this device recorded.")).to_be_visible()
    assert (waiting(phone), bottle.entries.count()) == (0, 2)


def until_true(page: Page, claim: Any) -> None:
    for _ in range(100):
        if claim():
            return
        page.wait_for_timeout(50)
    raise AssertionError("still not so after 5 s")


def test_a_clash_is_shown_and_settled(phone, bottle):
    cut(phone)
    phone.goto(f"/C/{bottle.code}")
    record_here(phone, "5")
    change_state(
        container=bottle, to=State.EMPTY, doing=Doing(by=builders.person("tobias"), reason="used up")
    )
    phone.context.set_offline(False)
    expect(phone.get_by_text("1 entry is not in the book: a difference to settle.")).to_be_visible()
    screenshot(phone, "offline-clash")
    phone.goto("/")
    expect(phone.get_by_text("1 difference to settle.")).to_be_visible()
    phone.get_by_role("link", name="Settle it").tap()
    phone.wait_for_url("**/differences/")
    sound(phone, "differences")
    phone.get_by_role("link", name="Settle").tap()
    expect(phone.get_by_text("is empty (used up)").first).to_be_visible()
    phone.get_by_label("It was not done").check()
    phone.get_by_label("Why? It stays beside what was sent").fill("poured back")
    sound(phone, "difference")
    phone.get_by_role("button", name="Settle it").tap()
    expect(phone.get_by_text("Settled: not done after all.")).to_be_visible()
    assert Settlement.objects.get().reason == "poured back"


def sound(page: Page, name: str) -> None:
    screenshot(page, f"offline-{name}")
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)


def test_a_container_that_is_not_kept_gets_a_form_and_no_amount(phone, bottle):
    other = builders.container(holds="80 mL", number=5003)
    cut(phone)
    phone.goto(f"/C/{other.code}")
    expect(phone.get_by_text("No signal, and its amount is not known here")).to_be_visible()
    assert phone.get_by_text("80").count() == 0
    sound(phone, "not-kept")
    phone.get_by_role("textbox", name="How much").fill("3")
    phone.get_by_label("Device", exact=True).select_option(label="5 mL syringe")
    phone.get_by_role("button", name="Keep 3").tap()
    expect(phone.get_by_text("It is not in the book yet")).to_be_visible()
    phone.context.set_offline(False)
    expect(phone.get_by_text("1 entry from this device recorded.")).to_be_visible()
    assert other.entries.get(seq=2).change == -3_000_000


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("TQ4871K", "does not hold together"),
        ("TQ4817L", "does not hold together"),
        ("4817", "is not written like a code of this lab"),
        ("", "Give the code on the label"),
    ],
)
def test_a_wrong_code_is_refused_without_signal(phone, typed, words):
    cut(phone)
    phone.goto("/")
    expect(phone.get_by_role("heading", name="No signal", exact=True)).to_be_visible()
    phone.get_by_label("Code on the label").fill(typed)
    phone.get_by_role("textbox", name="How much").fill("3")
    phone.get_by_role("button", name="Keep").tap()
    expect(phone.get_by_role("alert")).to_contain_text(words)
    assert waiting(phone) == 0


def test_a_scanned_code_opens_what_is_kept_without_signal(phone, bottle):
    cut(phone)
    phone.goto("/")
    expect(phone.get_by_role("heading", name="No signal", exact=True)).to_be_visible()
    phone.get_by_label("Code on the label").fill("TQ 4817 K")
    phone.keyboard.press("Enter")
    phone.wait_for_url(f"**/C/{bottle.code}")
    expect(phone.get_by_text("53.00 ± 0.31 mL in it, as last known")).to_be_visible()
    phone.goto(f"/scan/?code={bottle.code}")
    expect(phone.get_by_text("53.00 ± 0.31 mL in it, as last known")).to_be_visible()


def test_the_page_for_no_signal_is_sound(phone, bottle):
    cut(phone)
    phone.goto("/")
    expect(phone.get_by_role("region", name="Your sessions today")).to_be_visible()
    sound(phone, "day")
    phone.get_by_role("link", name="acetic anhydride").tap()
    record_here(phone, "5")
    sound(phone, "kept")


def log_out(page: Page) -> None:
    page.get_by_role("button", name="Log out").first.click()
    page.wait_for_url("**/login/**")


def test_what_was_kept_for_one_person_is_not_shown_to_the_next(phone, bottle, live_server):
    log_out(phone)
    cut(phone)
    phone.goto(f"/C/{bottle.code}")
    expect(phone.get_by_text("Nobody is signed in on this device")).to_be_visible()
    assert phone.get_by_text("acetic anhydride").count() == 0
    assert phone.get_by_text("Marit").count() == 0
    phone.context.set_offline(False)
    phone.context.add_cookies([session_cookie(builders.person("tobias"), live_server.url)])
    phone.goto("/")
    wait_until_kept(phone, "Tobias Renn")
    cut(phone)
    phone.goto("/")
    expect(phone.get_by_text("Tobias Renn, as known at")).to_be_visible()
    expect(phone.get_by_text("No session of yours today.")).to_be_visible()
    assert phone.get_by_text("acetic anhydride").count() == 0


def test_another_login_in_the_same_browser_wipes_what_was_kept(phone, bottle, live_server):
    phone.context.add_cookies([session_cookie(builders.person("tobias"), live_server.url)])
    phone.goto("/scan/")
    wait_until_kept(phone, "Tobias Renn")
    cut(phone)
    phone.goto(f"/C/{bottle.code}")
    expect(phone.get_by_text("Not kept on this device")).to_be_visible()


def test_a_queue_waits_for_its_person_and_says_whose_it_is(phone, bottle, live_server):
    cut(phone)
    phone.goto(f"/C/{bottle.code}")
    record_here(phone, "5")
    phone.context.clear_cookies()
    phone.context.set_offline(False)
    expect(phone.get_by_role("link", name="Sign in to send")).to_be_visible()
    phone.context.add_cookies([session_cookie(builders.person("tobias"), live_server.url)])
    phone.goto("/scan/")
    expect(phone.get_by_text("1 entry is of Marit Solberg.")).to_be_visible()
    assert (waiting(phone), bottle.entries.count()) == (1, 1)
    phone.get_by_role("button", name="Send for Marit Solberg").tap()
    expect(phone.get_by_text("1 entry from this device recorded.")).to_be_visible()
    line = bottle.entries.get(seq=2)
    assert (line.by_name, str(line.for_person)) == ("Tobias Renn", "Marit Solberg")


def test_a_spill_sent_into_no_network_is_kept_as_a_spill(phone, bottle):
    phone.goto(f"/C/{bottle.code}")
    cut(phone)
    phone.get_by_label("How much did you take?").fill("2")
    phone.get_by_role("button", name="Spilt").tap()
    expect(phone.get_by_text("Spilt 2 mL")).to_be_visible()
    phone.context.set_offline(False)
    expect(phone.get_by_text("1 entry from this device recorded.")).to_be_visible()
    assert bottle.entries.get(seq=2).kind == Kind.SPILT


def test_what_the_queue_cannot_take_is_said_not_to_be_sent_and_its_draft_stays(phone, bottle):
    phone.goto(f"/C/{bottle.code}/signs")
    phone.get_by_role("textbox", name="In your words").fill("smells of vinegar")
    cut(phone)
    phone.get_by_role("button", name="Record the look").tap()
    expect(
        phone.get_by_text("No signal: that was not sent. What you typed is kept as a draft")
    ).to_be_visible()
    assert waiting(phone) == 0
    phone.context.set_offline(False)
    phone.goto(f"/C/{bottle.code}/signs")
    expect(phone.get_by_role("textbox", name="In your words")).to_have_value("smells of vinegar")


def test_signing_out_without_signal_wipes_what_was_kept_and_leaves_the_queue(phone, bottle):
    phone.goto(f"/C/{bottle.code}")
    cut(phone)
    press_record(phone, "5")
    expect(phone.get_by_text("Waiting on this device: 1").first).to_be_visible()
    phone.context.set_offline(False)
    phone.context.clear_cookies()
    phone.goto("/login/")
    phone.wait_for_function("async () => (await deviceStore.snapshot()) === null")
    cut(phone)
    phone.goto("/")
    expect(phone.get_by_text("Nothing of anybody is kept on this device")).to_be_visible()
    expect(phone.get_by_text("Of Marit Solberg")).to_be_visible()
    assert phone.get_by_text("Used 5").count() == phone.get_by_text("acetic anhydride").count() == 0
    assert waiting(phone) == 1


def test_a_lock_that_finds_no_network_wipes_what_was_kept(phone, bottle):
    phone.goto("/scan/")
    cut(phone)
    phone.get_by_role("button", name="Log out").first.click()
    expect(phone.get_by_text("What was kept of the last person is wiped from this device")).to_be_visible()
    assert phone.evaluate("async () => await deviceStore.snapshot()") is None


def test_an_entry_of_nobody_is_sent_by_whoever_says_they_did_it(phone, bottle, live_server):
    log_out(phone)
    cut(phone)
    phone.goto(f"/C/{bottle.code}")
    phone.get_by_label("Device", exact=True).select_option(label="5 mL syringe")
    record_here(phone, "5")
    phone.context.set_offline(False)
    phone.context.add_cookies([session_cookie(builders.person("tobias"), live_server.url)])
    phone.goto("/scan/")
    expect(phone.get_by_text("1 entry was typed while nobody was signed in.")).to_be_visible()
    phone.get_by_role("button", name="I did it: send").tap()
    expect(phone.get_by_text("1 entry from this device recorded.")).to_be_visible()
    assert (bottle.entries.get(seq=2).by_name, QueuedEntry.objects.get().owner) == ("Tobias Renn", None)


def test_a_clock_that_is_a_day_fast_records_the_right_time(page_for, bottle):
    page = page_for(builders.person("marit"), width=390, expected_words=NO_NETWORK)
    page.clock.set_fixed_time(timezone.now() + timedelta(days=1))
    page.goto("/")
    wait_until_kept(page)
    cut(page)
    page.goto(f"/C/{bottle.code}")
    record_here(page, "5")
    page.context.set_offline(False)
    expect(page.get_by_text("1 entry from this device recorded.")).to_be_visible()
    page.goto(f"/C/{bottle.code}")
    expect(page.get_by_text("its clock was 24 h fast: the time is corrected")).to_be_visible()
    line = bottle.entries.get(seq=2)
    assert abs((line.recorded_at - line.done_at).total_seconds()) < 120


def test_what_is_kept_is_not_shown_after_its_time(phone, bottle):
    cut(phone)
    phone.clock.set_fixed_time(timezone.now() + timedelta(hours=13))
    phone.goto(f"/C/{bottle.code}")
    expect(phone.get_by_text("Not kept on this device")).to_be_visible()


# ---------------------------------------------------------------- drafts


def again(page: Page) -> Page:
    """Kill the page and open its address anew, as after a power cut: only what was written to the device is left."""
    context, address = page.context, page.url
    page.close(run_before_unload=False)
    fresh = context.new_page()
    fresh.goto(address)
    return fresh


def test_a_form_half_typed_is_there_after_a_power_cut(phone, bottle):
    phone.goto(f"/C/{bottle.code}")
    phone.get_by_role("button", name="Another device, for a batch").tap()
    phone.get_by_label("How much did you take?").fill("7.5")
    phone.get_by_label("Unit", exact=True).select_option("g")
    phone.get_by_label("Done earlier, at").fill("2026-11-20T10:15")
    phone.locator("label", has_text="10 mL").first.tap()
    chosen = phone.locator("[name=device]:checked").get_attribute("value")
    key = phone.locator("[data-record] [name=key]").get_attribute("value")
    phone.goto(f"/C/{bottle.code}")
    fresh = again(phone)
    expect(fresh.get_by_text("not recorded yet")).to_be_visible()
    expect(fresh.get_by_label("How much did you take?")).to_have_value("7.5")
    expect(fresh.get_by_label("Unit", exact=True)).to_have_value("g")
    expect(fresh.get_by_label("Done earlier, at")).to_have_value("2026-11-20T10:15")
    # beside grams the page offers balances at the top: the syringe stands in the long list
    expect(fresh.get_by_label("Another device", exact=True)).to_have_value(chosen)
    assert fresh.locator("[data-record] [name=key]").get_attribute("value") == key
    sound(fresh, "draft")


def test_a_draft_is_cleared_by_one_tap(phone, bottle):
    phone.goto(f"/C/{bottle.code}/loss")
    phone.get_by_label("How much?").fill("3")
    phone.reload()
    expect(phone.get_by_label("How much?")).to_have_value("3")
    phone.get_by_role("button", name="Clear it").tap()
    expect(phone.get_by_label("How much?")).to_have_value("")
    phone.reload()
    expect(phone.get_by_label("How much?")).to_have_value("")
    assert phone.get_by_text("not recorded yet").count() == 0


def test_a_draft_goes_once_it_is_recorded(phone, bottle):
    phone.goto(f"/C/{bottle.code}")
    press_record(phone, "5")
    expect(phone.get_by_role("status").first).to_contain_text("5 mL recorded")
    phone.goto(f"/C/{bottle.code}")
    assert phone.get_by_text("not recorded yet").count() == 0
    assert phone.evaluate("Object.keys(localStorage).filter(key => key.startsWith('draft:'))") == []


def test_a_cut_while_the_answer_was_on_its_way_neither_loses_nor_doubles_the_entry(phone, bottle):
    phone.goto(f"/C/{bottle.code}")
    phone.get_by_label("How much did you take?").fill("5")
    key = phone.locator("[data-record] [name=key]").get_attribute("value")
    draw(
        container=bottle,
        amount=builders.amount("5 mL"),
        device_code="syringe-5",
        doing=Doing(by=builders.person("marit"), key=uuid.UUID(key)),
    )
    fresh = again(phone)
    expect(fresh.get_by_label("How much did you take?")).to_have_value("12")
    fresh.wait_for_timeout(300)
    assert fresh.get_by_text("not recorded yet").count() == 0
    assert bottle.entries.count() == 2


def test_a_refused_form_keeps_its_draft_and_says_nothing_of_it(phone, bottle):
    phone.goto(f"/C/{bottle.code}")
    press_record(phone, "1,500 mL")
    expect(phone.get_by_text("Do you mean 1.5 mL or 1500 mL?")).to_be_visible()
    assert phone.get_by_text("not recorded yet").count() == 0
    fresh = again(phone)
    fresh.goto(f"/C/{bottle.code}")
    expect(fresh.get_by_label("How much did you take?")).to_have_value("1,500 mL")
    expect(fresh.get_by_text("not recorded yet")).to_be_visible()


def test_a_draft_is_shown_to_nobody_else(phone, bottle, live_server):
    phone.goto(f"/C/{bottle.code}/loss")
    phone.get_by_label("How much?").fill("3")
    phone.context.add_cookies([session_cookie(builders.person("tobias"), live_server.url)])
    phone.reload()
    expect(phone.get_by_label("How much?")).to_have_value("")
    assert phone.get_by_text("not recorded yet").count() == 0


def test_the_form_for_no_signal_keeps_its_draft_too(phone, bottle):
    cut(phone)
    phone.goto(f"/C/{bottle.code}")
    phone.get_by_label("Unit").select_option("µL")
    phone.get_by_role("textbox", name="How much").fill("4")
    fresh = again(phone)
    expect(fresh.get_by_role("textbox", name="How much")).to_have_value("4")
    expect(fresh.get_by_label("Unit")).to_have_value("µL")
    fresh.get_by_role("button", name="Keep 4").tap()
    expect(fresh.get_by_text("It is not in the book yet").first).to_be_visible()
    fresh = again(fresh)
    expect(fresh.get_by_role("textbox", name="How much")).not_to_have_value("4")


@pytest.mark.parametrize(
    ("address", "label"),
    [
        ("/unknown/log", "What is in it, through the glass?"),
        ("/C/TQ4817K/decant", "How much?"),
        ("/C/TQ4817K/signs", "In your words"),
        ("/stock/receive/?substance={substance}", "How many, and how big"),
    ],
)
def test_every_form_that_records_is_there_again(page_for, bottle, address, label):
    page = page_for(builders.person("wren"), width=390)
    page.goto(address.format(substance=bottle.substance_id))
    field = page.get_by_label(label).first
    field.fill("17")
    fresh = again(page)
    expect(fresh.get_by_label(label).first).to_have_value("17")
    expect(fresh.get_by_text("not recorded yet")).to_be_visible()


def kill(context: BrowserContext, folder: Path) -> None:
    """End the browser over this folder as a power cut does: at once, with nothing written down on the way out."""
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            words = (process / "cmdline").read_bytes().split(b"\0")
            if f"--user-data-dir={folder}".encode() in words and not any(
                word.startswith(b"--type=") for word in words
            ):
                os.kill(int(process.name), signal.SIGKILL)
    with suppress(PlaywrightError):
        context.close()


def test_a_browser_that_is_killed_and_opened_again_has_entries_and_drafts(
    bottle, live_server, tmp_path, chromium
):
    """A new browser over the same folder is what a phone is after its battery died."""
    start = {
        "user_data_dir": tmp_path,
        "executable_path": find_chromium(),
        "args": arguments(),
        "base_url": live_server.url,
        "viewport": {"width": 390, "height": 844},
        "has_touch": True,
    }
    first = chromium.browser_type.launch_persistent_context(**start)
    cookie = session_cookie(builders.person("marit"), live_server.url)
    first.add_cookies([cookie])
    page = first.new_page()
    page.goto("/")
    wait_until_kept(page)
    first.set_offline(True)
    page.goto(f"/C/{bottle.code}")
    record_here(page, "5")
    page.get_by_role("textbox", name="How much").fill("2")
    page.evaluate("() => drafts.written()")
    kill(first, tmp_path)
    second = chromium.browser_type.launch_persistent_context(**start)
    second.set_offline(True)
    page = second.new_page()
    page.goto(f"/C/{bottle.code}")
    expect(page.get_by_role("heading", name="Waiting on this device: 1")).to_be_visible()
    expect(page.get_by_role("textbox", name="How much")).to_have_value("2")
    expect(page.get_by_text("not recorded yet")).to_be_visible()
    # the log-in may not have reached the disk
    second.set_offline(False)
    second.add_cookies([cookie])
    page.goto("/")
    expect(page.get_by_text("1 entry from this device recorded.")).to_be_visible()
    second.close()
    assert bottle.entries.get(seq=2).change == -5_000_000
