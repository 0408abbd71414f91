"""The states that ship with the package are those of CoolProp, and are found again."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from loopnet.media import coolprop, medium, shipped

STORE = shipped._store()


def test_the_file_is_there():
    assert len(STORE) > 20


# Source: CoolProp itself, read again (computed); the file was made with 8.0.0, and other versions may differ in digits.
@pytest.mark.book
@pytest.mark.parametrize("key", [k for k in STORE if ":saturation:" not in k])
def test_every_state_is_that_of_coolprop(key):
    backend, fluid, pair, outputs, phase, _, _ = key.split(":")
    first, second, *known = STORE[key]
    again = coolprop.computed(backend, fluid, pair, first, second, tuple(outputs.split("+")), phase)
    np.testing.assert_allclose(np.array(known), again, rtol=1e-9, atol=1e-6)


@pytest.mark.book
@pytest.mark.parametrize("key", [k for k in STORE if ":saturation:" in k])
def test_vapour_pressures_are_those_of_coolprop(key):
    from CoolProp.CoolProp import PropsSI

    backend, fluid = key.split(":")[:2]
    temperature, _, known = STORE[key]
    again = [PropsSI("P", "T", t, "Q", 0.0, f"{backend}::{fluid}") for t in temperature]
    np.testing.assert_allclose(known, again, rtol=1e-9)


def test_other_inputs_are_not_taken_for_shipped_ones():
    key = next(iter(STORE))
    first, second = STORE[key][:2]
    assert shipped.recorded(key, first, second) is not None
    assert shipped.recorded(key, first * (1 + 1e-9), second) is None
    assert shipped.recorded(key + "x", first, second) is None


def test_a_shipped_plant_does_not_load_coolprop():
    """It takes seconds; a change of a table's grid makes the file stale: python tests/ship_states.py."""
    code = ("import sys; from loopnet.plants import find_plant, shipped; from loopnet.solve import size; "
            "[size(find_plant(n)) for n in shipped()]; sys.exit('CoolProp.CoolProp' in sys.modules)")
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_an_exact_medium_still_asks_coolprop():
    again = coolprop.computed("HEOS", "Air", "PT", np.array([101325.0]), np.array([400.0]), ("cpmass",), "gas")
    assert medium("air", exact=True).cp(400.0) == pytest.approx(float(again[0, 0]), rel=1e-9)
