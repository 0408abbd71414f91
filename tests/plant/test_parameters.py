"""Parameters and units at the border: what is read, what is refused, and each part of the message."""

from __future__ import annotations

import pickle
from contextlib import suppress
from dataclasses import FrozenInstanceError, dataclass
from decimal import Decimal
from math import inf, nan
from typing import Any

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import constants

from loopnet.errors import ParameterError
from loopnet.params import Parameters, check_range, param
from loopnet.units import show, to_si


@dataclass(frozen=True, kw_only=True)
class Inner(Parameters):
    depth: Any = param("20 cm", unit="m", low=0.1, high=1.0, source="test")


@dataclass(frozen=True, kw_only=True)
class Sample(Parameters):
    hot: Any = param(unit="K", low=300.0, high=900.0, source="test")
    approach: Any = param("6 K", unit="K", low=0.5, high=100.0, source="test")
    area: Any = param(None, unit="m^2", low=0.0, source="test", optional=True)
    share: Any = param(0.5, unit="-", low=0.0, high=1.0, source="test")
    inner: Inner = Inner()
    keys: tuple[str, ...] = ("a", "b")


# Factors of the units as defined: SI brochure, NIST SP 811, as in scipy.constants (computed).
@pytest.mark.book
@pytest.mark.parametrize(("text", "unit", "value"), [
    ("395 degC", "K", 395 + constants.zero_Celsius), ("-10 degC", "K", 263.15), ("212 degF", "K", 373.15),
    ("14 bar", "Pa", 14 * constants.bar), ("1 atm", "Pa", constants.atm), ("1 psi", "Pa", constants.psi),
    ("20 MW", "W", 2e7), ("1 MWh", "J", 3.6e9), ("14 hour", "s", 14 * constants.hour), ("66 mm", "m", 0.066),
    ("10 ft^2", "m^2", 10 * constants.foot**2), ("2600 m2", "m^2", 2600.0), ("3 m³", "m^3", 3.0),
    ("750 W/m2/K", "W/m^2/K", 750.0), ("750 W/(m^2 K)", "W/m^2/K", 750.0), ("0.18 W/m^2/degC", "W/m^2/K", 0.18),
    ("18 USD/m2", "USD/m^2", 18.0), ("95 %", "-", 0.95), ("0.95", "-", 0.95), (".5", "-", 0.5),
    ("1e3 kg/s", "kg/s", 1e3),
    ("2.5 1/km", "1/m", 0.0025), ("30 deg", "rad", 30 * constants.degree), ("5degC", "K", 278.15)])
def test_text_with_units(text, unit, value):
    assert to_si(text, unit) == pytest.approx(value, rel=1e-12)


def test_numbers_and_pint_quantities():
    assert (to_si(3, "m"), to_si(np.float64(3), "m"), to_si(Decimal("0.5"), "m"), to_si(np.array(2.0), "m")) == (
        3.0, 3.0, 0.5, 2.0)
    assert all(type(to_si(x, "m")) is float for x in (3, np.float32(3), "3 m"))
    other = pint.UnitRegistry()
    assert to_si(other.Quantity(392.0, "degC"), "K") == pytest.approx(665.15, rel=1e-14)
    assert to_si(1.5 * other.kilowatt * other.hour, "J") == pytest.approx(5.4e6, rel=1e-14)


@pytest.mark.parametrize("text", [
    "", "  ", "m", "three m", "2,5 m", "[1,2] m", "1 2 m", "5 m +", "1/0 m", "(1", "5 (m", "lambda: 3", "3 parsnips",
    "__import__('os')", "nan m", "inf m", "5 m**9**9**9", "9**9**9 m", "1_000 m", "−3 m", "x" * 5000, "m" * 3000 + "!"])
def test_text_that_is_no_quantity(text):
    with pytest.raises(ParameterError, match="cannot read this as a quantity") as caught:
        to_si(text, "m")
    assert caught.value.allowed == "a number with a unit such as m"
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize("value", [None, True, np.bool_(True), [1.0], np.array([1.0, 2.0]), b"3", 1 + 2j, object, {}])
def test_objects_that_are_no_number(value):
    with pytest.raises(ParameterError, match="not a number"):
        to_si(value, "m")


def test_wrong_dimension():
    for value, unit in (("3 m", "kg"), ("395", "K"), ("5 degC", "-"), (pint.UnitRegistry().Quantity(1, "m"), "W")):
        with pytest.raises(ParameterError, match="wrong unit"):
            to_si(value, unit)


def test_a_decimal_comma_is_refused_and_not_read_as_thousands():
    with pytest.raises(ParameterError) as caught:
        Sample(hot="392,5 degC")
    assert caught.value.hint == "a decimal point in place of the comma"
    assert caught.value.where == "Sample.hot"


@pytest.mark.law
@given(value=st.floats(-1e12, 1e12), unit=st.sampled_from(["m", "W", "Pa", "kg/s", "W/m^2/K", "J/kg", "-"]))
@settings(max_examples=60, deadline=None)
def test_text_says_what_the_number_says(value, unit):
    assert to_si(f"{value!r} {unit.strip('-')}", unit) == to_si(value, unit) == value


@given(text=st.text(alphabet="0123456789.,eE+-*/^()_ kgmbarC°%²\n", max_size=12) | st.text(max_size=12))
@settings(max_examples=300, deadline=None)
def test_any_text_is_read_or_refused(text):
    with suppress(ParameterError):
        assert isinstance(to_si(text, "m"), float)


# -- the parameter set -------------------------------------------------------------------------------------------------


def test_parameters_become_si_floats():
    made = Sample(hot="392 degC", area=np.float64(3.0), share="25 %")
    assert (made.hot, made.approach, made.area, made.share, made.inner.depth) == (665.15, 6.0, 3.0, 0.25, 0.2)
    assert Sample(hot=500).area is None
    with pytest.raises(FrozenInstanceError):
        made.hot = 3.0
    assert pickle.loads(pickle.dumps(made)) == made
    assert hash(made) == hash(Sample(hot="392 degC", area=3.0, share=0.25))


def test_dict_holds_everything():
    made = Sample(hot=600.0, keys=("c",))
    assert made.to_dict() == {"hot": 600.0, "approach": 6.0, "area": None, "share": 0.5, "inner": {"depth": 0.2},
                              "keys": ("c",)}
    assert Inner(**Inner(depth=0.7).to_dict()) == Inner(depth=0.7)


@pytest.mark.parametrize(("given_", "where", "what", "got", "allowed", "hint"), [
    ({"hot": "700 degC"}, "Sample.hot", "out of range", "700 degC", "26.85 degC to 626.9 degC",
     "a value within the allowed range"),
    ({"hot": 600, "approach": -3}, "Sample.approach", "out of range", "-3 K", "0.5 K to 100 K",
     "a value within the allowed range"),
    ({"hot": 600, "area": -3}, "Sample.area", "out of range", "-3 m^2", "0 m^2 to any",
     "a value within the allowed range"),
    ({"hot": 600, "share": "120 %"}, "Sample.share", "out of range", "1.2", "0 to 1",
     "a value within the allowed range"),
    ({"hot": nan}, "Sample.hot", "out of range", "nan degC", "26.85 degC to 626.9 degC",
     "a value within the allowed range"),
    ({"hot": "5 m"}, "Sample.hot", "wrong unit", "5 m", "a quantity in K", "hot=<number in K>"),
    ({"hot": None}, "Sample.hot", "not a number", "None", "a number in K, or text with a unit", "hot=<number in K>"),
    ({"hot": 600, "share": "half"}, "Sample.share", "cannot read this as a quantity", "'half'",
     "a number without a unit", "share=<number in ->"),
])
def test_each_part_of_the_message(given_, where, what, got, allowed, hint):
    with pytest.raises(ParameterError) as caught:
        Sample(**given_)
    facts = caught.value
    assert (facts.where, facts.what, facts.got, facts.allowed, facts.hint) == (where, what, got, allowed, hint)
    assert str(facts) == f"{where}: {what}; got {got}; allowed: {allowed}. Try: {hint}."


def test_ends_of_a_range_belong_to_it():
    assert Sample(hot=300.0).hot == 300.0
    assert Sample(hot=900.0).hot == 900.0
    with pytest.raises(ParameterError) as caught:
        Sample(hot=600.0, share=1.0000001)
    assert caught.value.got != "1"  # enough digits to see what is wrong


def test_range_without_ends():
    assert check_range(-1e9, where="x", unit="m") == -1e9
    for bad in (nan, inf, -inf):
        with pytest.raises(ParameterError) as caught:
            check_range(bad, where="x", unit="m")
        assert caught.value.allowed == "a finite number"
    with pytest.raises(ParameterError, match="Try: something else"):
        check_range(2.0, where="x", unit="m", high=1.0, hint="something else")


def test_numbers_are_shown_in_the_units_of_people():
    assert [show(v, u) for v, u in ((666.15, "K"), (1.4e6, "Pa"), (2e7, "W"), (3.6e9, "J"), (5400.0, "s"), (3.0, "m"),
                                    (0.5, "-"), (6.0, "K difference"))] == [
        "393 degC", "14 bar", "20 MW", "1 MWh", "1.5 h", "3 m", "0.5", "6 K"]
