"""Prices against sums by hand, and the tax undone."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from vanplumb.formulas.money import price_of_work, price_with_margin, price_with_tax


@pytest.mark.checks("price_of_work", "price_with_margin", "price_with_tax")
def test_a_quote_by_hand() -> None:
    # 1800 of parts and 31.5 h at 64, a tenth on both, 19 % VAT on all
    work = price_of_work.si(64.0, 31.5)
    assert work == approx(2016.0)
    net = price_with_margin.si(1800.0 + work, 0.10)
    assert net == approx(4197.60)
    assert price_with_tax.si(net, net, 0.19) == approx(4995.144)
    # a sales tax of 8 % on the parts alone, with their margin: 1980 of it
    assert price_with_tax.si(net, 1980.0, 0.08) == approx(4197.60 + 158.40)


@given(st.floats(0, 1e6), st.floats(0, 1))
def test_the_net_price_is_what_is_left_without_the_tax(net: float, share: float) -> None:
    assert price_with_tax.si(net, net, share) / (1 + share) == approx(net, abs=1e-9)
    assert price_with_margin.si(net, share) - net == approx(net * share, abs=1e-6)
