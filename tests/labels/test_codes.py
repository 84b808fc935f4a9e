"""Codes given out, shown and read back, and the kinds of mistakes told apart."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labstock.chemistry.errors import LabError
from labstock.stock.code_shape import ALPHABET
from labstock.stock.codes import (
    check_character,
    check_prefix,
    is_code,
    make_code,
    narrow_mistake,
    next_number,
    read_code,
    show_code,
    split_code,
)

# ISO 7064 MOD 37,36: a Global Release Identifier printed in the documentation of python-stdnum (stdnum.grid)
PUBLISHED = "A12425GABC1234002"


def refusal(text: str) -> LabError:
    with pytest.raises(LabError) as caught:
        read_code(text, "TQ")
    return caught.value


def given_out(number: int) -> str:
    return make_code("TQ", next_number("TQ", number - 1))


numbers = st.integers(min_value=1, max_value=99_000_000)


def test_published_check_character_is_found():
    assert check_character(PUBLISHED) == "M"


def test_every_single_wrong_character_of_the_published_text_is_seen():
    wrong = [
        PUBLISHED[:i] + other + PUBLISHED[i + 1 :]
        for i, right in enumerate(PUBLISHED)
        for other in ALPHABET
        if other != right
    ]
    assert all(check_character(text) != "M" for text in wrong)


def test_one_swap_in_630_letter_pairs_goes_unseen():
    # 630 pairs of two different characters between RS and 17: a count made apart from this code, no publication
    pairs = [(x, y) for i, x in enumerate(ALPHABET) for y in ALPHABET[i + 1 :]]
    unseen = [1 for x, y in pairs if check_character(f"RS{x}{y}17") == check_character(f"RS{y}{x}17")]
    assert (len(pairs), len(unseen)) == (630, 1)


@given(numbers)
def test_a_code_is_read_back_however_it_is_written(number: int):
    code = given_out(number)
    spellings = [code, show_code(code), code.lower(), "-".join(show_code(code).split()), f" {code}\n"]
    spellings += [f"HTTPS://A.EXAMPLE/C/{code}", f"http://10.0.0.7:8000/c/{code.lower()}/?from=shelf"]
    assert {read_code(text, "TQ") for text in spellings} == {code}


def test_scanner_set_to_another_keyboard_is_understood():
    assert read_code("HTTPSÖ--A.EXAMPLE-C-TQ4817K", "TQ") == "TQ4817K"


@given(numbers)
def test_numbers_that_would_end_in_i_or_o_are_never_given_out(number: int):
    assert given_out(number)[-1] not in "IO"


def test_every_skipped_number_would_have_ended_in_i_or_o():
    skipped = [n for n in range(1, 2000) if next_number("TQ", n - 1) != n]
    assert skipped
    assert {check_character(f"TQ{n:04d}") for n in skipped} == {"I", "O"}


def test_making_a_skipped_number_names_the_next_one():
    skipped = next(n for n in range(1, 2000) if next_number("TQ", n - 1) != n)
    with pytest.raises(LabError, match=f"Take the next number, {next_number('TQ', skipped)}"):
        make_code("TQ", skipped)


def test_code_and_number_lead_to_each_other():
    assert split_code(make_code("TQ", 123456)) == ("TQ", 123456)
    assert make_code("TQ", 326).startswith("TQ0326")


@pytest.mark.parametrize("prefix", ["T", "tq", "T1", "TQA"])
def test_prefix_must_be_two_capitals(prefix: str):
    with pytest.raises(LabError, match="two capital letters"):
        check_prefix(prefix)


@pytest.mark.parametrize("prefix", ["TO", "IQ"])
def test_prefix_with_look_alikes_is_refused(prefix: str):
    with pytest.raises(LabError, match="without I and O"):
        check_prefix(prefix)


@pytest.mark.parametrize("number", [0, -3, 100_000_000])
def test_number_out_of_range_is_refused(number: int):
    with pytest.raises(LabError, match="from 1 to 99999999"):
        make_code("TQ", number)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("TQ 48I7 K", "the letter I stands where the digit 1 belongs"),
        ("tq 48l7 k", "the letter L stands where the digit 1 belongs"),
        ("TO4817K", "the letter O stands where the letter Q belongs"),
        ("T04817K", "the digit 0 stands where the letter Q belongs"),
        ("TQ4B17K", "the letter B stands where the digit 8 belongs"),
    ],
)
def test_look_alike_is_called_so_and_corrected(typed: str, words: str):
    error = refusal(typed)
    assert (error.code, error.parts["candidates"]) == ("code-look-alike", ["TQ4817K"])
    assert words in str(error)


@given(numbers, st.data())
def test_every_wrong_digit_is_seen_and_the_right_code_is_among_the_candidates(
    number: int, data: st.DataObject
):
    code = given_out(number)
    i = data.draw(st.integers(2, len(code) - 2))
    digit = data.draw(st.sampled_from([d for d in "0123456789" if d != code[i]]))
    error = refusal(code[:i] + digit + code[i + 1 :])
    assert code in list(error.parts["candidates"])  # type: ignore[call-overload]  # parts are plain objects
    assert narrow_mistake(error, [code]).code == "code-one-wrong"


@given(numbers, st.data())
def test_swapped_neighbours_are_told_from_a_wrong_character(number: int, data: st.DataObject):
    code = given_out(number)
    i = data.draw(st.integers(2, len(code) - 3))
    swapped = code[:i] + code[i + 1] + code[i] + code[i + 2 :]
    if is_code(swapped, "TQ"):  # the same digit twice, or the rare swap that goes unseen
        return
    narrowed = narrow_mistake(refusal(swapped), [code])
    assert narrowed.code == "code-swapped"
    assert f"the neighbours {swapped[i]} and {swapped[i + 1]} are swapped" in str(narrowed)


def test_refusal_stays_as_it_is_when_no_candidate_exists():
    error = refusal("TQ4871K")
    assert narrow_mistake(error, []) is error


@pytest.mark.parametrize(
    ("typed", "code", "words"),
    [
        ("", "code-empty", "No code was typed"),
        ("TQ", "code-too-short", "ours have 7 to 11"),
        ("TQ4817", "code-too-short", "the check character at the end is missing"),
        ("4817", "code-too-short", "the letters TQ and the check character are missing"),
        ("4817K", "code-too-short", "the letters TQ in front are missing"),
        ("TQ 481K", "code-too-short", "one character is missing"),
        ("TQ123456789012X", "code-too-long", "it has 15 characters"),
        ("TQ4817KTQ4817K", "code-too-long", "the code is there twice"),
        ("TQ00326B", "code-too-long", "one 0 too many"),
        ("AB1234P", "code-foreign", "a code of another lab: it begins with AB, ours begin with TQ"),
        ("AB1299Z", "code-foreign", "begins with AB, ours begin with TQ"),
        ("09506000134352", "code-maker", "a maker's bar code"),
        ("]C10109506000134352", "code-maker", "a maker's bar code"),
        # from memory: GS1 writes GTIN-8 12345670 and GTIN-14 with lot (10) in its examples
        ("12345670", "code-maker", "a maker's bar code"),
        ("010950600013435210AB-123\x1d17271231", "code-maker", "a maker's bar code"),
        ("108-24-7", "code-cas", "a CAS number"),
        ("https://a.example/x/TQ4817K", "code-address", "an address that does not lead to a container"),
        ("TQ48é7K", "code-not-ours", "contains “É”"),
        ("{0} %s <b>", "code-not-ours", "contains “{”"),
        ("TQ" * 5000, "code-too-long", "too long"),
    ],
)
def test_refusal_names_the_kind_of_mistake(typed: str, code: str, words: str):
    error = refusal(typed)
    assert error.code == code
    assert words in str(error)


@given(st.text(max_size=40))
def test_any_text_is_either_read_or_refused_with_words(text: str):
    try:
        code = read_code(text, "TQ")
    except LabError as refused:
        code = refused.code
    assert is_code(code, "TQ") or code.startswith("code-")
