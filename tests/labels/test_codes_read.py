"""What a scanned text stands for, told by the text alone."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labstock.chemistry.errors import LabError
from labstock.labels.codes_read import (
    ACTS,
    AMOUNTS,
    Read,
    batch_code,
    location_code,
    person_code,
    show_short_code,
    what_is,
)
from labstock.labels.qr import is_alphanumeric
from labstock.stock.codes import make_code, next_number

numbers = st.integers(min_value=1, max_value=10**14)


def spellings(code: str, letter: str) -> list[str]:
    written = [code, code.lower(), show_short_code(code), f" {code}\r\n"]
    return [
        *written,
        f"HTTPS://STOCK.EXAMPLE/{letter}/{code}",
        f"http://10.0.0.7:8000/{letter}/{code}/".lower(),
    ]


@given(numbers)
def test_a_place_is_read_back_however_it_is_written(number):
    said = {what_is(text, "TQ") for text in spellings(location_code(number), "L")}
    assert said == {Read("location", str(number))}


@given(numbers)
def test_a_person_is_read_back_however_it_is_written(number):
    said = {what_is(text, "TQ") for text in spellings(person_code(number), "P")}
    assert said == {Read("person", str(number))}


@given(st.integers(0, 99), st.integers(1, 99_999))
def test_a_batch_is_read_back_as_its_number(year, number):
    batch = f"{year:02d}-{number:03d}"
    assert {what_is(text, "TQ") for text in spellings(batch_code(batch), "B")} == {Read("batch", batch)}


@pytest.mark.parametrize("text", ["TQ 4817 K", "https://stock.example/C/TQ4817K"])
def test_a_container_is_told_by_its_own_code(text):
    assert what_is(text, "TQ") == Read("container", "TQ4817K")


def test_a_sample_is_told_by_the_address_on_its_tag():
    assert what_is("HTTPS://STOCK.EXAMPLE/S/TQ4817K", "TQ") == Read("sample", "TQ4817K")


@pytest.mark.parametrize("prefix", ["LB", "PL", "BB"])
def test_a_lab_whose_letters_begin_like_a_place_is_not_mistaken(prefix):
    code = make_code(prefix, next_number(prefix, 4816))
    assert what_is(code, prefix) == Read("container", code)


def test_every_field_of_a_card_is_read_and_fits_the_large_dots():
    texts = [f"AMOUNT/{key}" for key in AMOUNTS] + [f"ACT/{key}" for key in ACTS]
    assert all(is_alphanumeric(text) for text in texts)
    said = [what_is(text, "TQ") for text in texts]
    assert {Read("amount", "5 mL"), Read("amount", "0.1 g"), Read("amount", "all")} < set(said)
    assert {Read("act", "done"), Read("act", "weigh"), Read("act", "undo")} < set(said)


def test_a_scanner_set_to_another_keyboard_reads_the_card_too():
    assert what_is("AMOUNT-0.5ML", "TQ") == Read("amount", "0.5 mL")


def test_an_amount_on_no_card_is_refused_with_those_there_are():
    with pytest.raises(LabError, match=r"“AMOUNT/3ML” is on no card of ours; the cards say 0\.1 mL"):
        what_is("AMOUNT/3ML", "TQ")


@given(st.sampled_from([location_code, person_code]), st.integers(1, 99_999), st.data())
def test_every_wrong_digit_in_a_place_or_person_is_refused(make, number, data):
    code = make(number)
    at = data.draw(st.integers(1, len(code) - 2))
    digit = data.draw(st.sampled_from([d for d in "0123456789" if d != code[at]]))
    with pytest.raises(LabError, match="the check character at the end does not fit"):
        what_is(code[:at] + digit + code[at + 1 :], "TQ")


def test_a_foreign_code_is_called_so():
    with pytest.raises(LabError) as caught:
        what_is("AB1234P", "TQ")
    assert caught.value.code == "code-foreign"


def test_a_batch_number_of_another_shape_gets_no_code():
    with pytest.raises(LabError, match="“2026/14” is not a batch number: they look like 26-014"):
        batch_code("2026/14")


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused_with_words(text):
    try:
        words = what_is(text, "TQ").value
    except LabError as refused:
        words = refused.message
    assert words
