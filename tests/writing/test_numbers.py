"""Numbers and texts in files: laws that hold whatever they are."""

from decimal import ROUND_HALF_EVEN, Decimal

import pytest
from ezdxf.tools.text import plain_text
from hypothesis import given, settings
from hypothesis import strategies as st

from sleevewright.writing.ascii_text import block_name, dxf_text, transliterated
from sleevewright.writing.numbers import SLOT, filled, literal, rounded

MM = st.floats(-1e5, 1e5)
FEW = settings(max_examples=150, deadline=None)


@FEW
@given(MM)
def test_a_number_is_written_to_the_nearest_ten_thousandth(value):
    text = filled([(SLOT, [value])])
    whole, decimals = text.lstrip("-").split(".")
    assert whole.isdigit()
    assert len(decimals) == 4
    assert abs(Decimal(text) - Decimal(value)) <= Decimal("0.00005000001")
    assert float(text) == rounded(value)
    assert not (text.startswith("-") and float(text) == 0)


# 0.03125 and 0.09375 are exact in binary: 312.5 and 937.5 ten-thousandths
@pytest.mark.parametrize("value", [-0.00004, -0.0, 1e-300, 0.03125, 0.09375, -0.03125, 1234.09375])
def test_halves_go_to_even_and_zero_has_no_sign(value):
    exact = Decimal(value).quantize(Decimal("0.0001"), ROUND_HALF_EVEN)
    assert filled([(SLOT, [value])]) == str(abs(exact) if exact == 0 else exact)


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(ValueError, match="not a finite number"):
        filled([(SLOT, [value])])
    with pytest.raises((ValueError, OverflowError)):
        rounded(value)


@FEW
@given(st.text())
def test_a_literal_comes_out_as_it_is(text):
    assert filled([(literal(text), [])]) == text


@FEW
@given(st.text(max_size=80))
def test_texts_of_dxf_are_printable_ascii(text):
    found = dxf_text(text)
    assert found.isascii()
    assert found == "" or found.isprintable()
    assert len(found) <= 255


@FEW
@given(st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=80))
def test_ascii_texts_are_read_back_equal(text):
    ended = f"{text}."  # the library drops a caret at the end of any text
    assert plain_text(dxf_text(ended)) == ended
    assert transliterated(text) == text


@FEW
@given(st.text())
def test_block_names_are_names_of_r12(text):
    name = block_name(text)
    assert 1 <= len(name) <= 31
    assert set(name) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")
