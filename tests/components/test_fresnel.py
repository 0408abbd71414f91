"""Linear Fresnel strips against rays traced one by one, and what follows from symmetry."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.fresnel import LinearFresnel, strip_light
from components.incidence import BiaxialModifier, IncidenceModifier, TabulatedModifier
from loopnet.errors import ParameterError

FIELD = LinearFresnel(azimuth=0.0)


def traced(field: LinearFresnel, angle: float, rays: int = 41) -> float:
    """Light that meets the receiver over that of the strips laid flat to the sun, by rays in the plane across."""
    place, height, half = field.places(), field.receiver_height, field.mirror_width / 2
    to_sun = np.array([np.sin(angle), np.cos(angle)])
    target = np.array([0.0, height])
    middles = np.stack([place, np.zeros_like(place)], axis=1)
    to_target = target - middles
    to_target /= np.linalg.norm(to_target, axis=1)[:, None]
    normal = to_target + to_sun
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    along = np.stack([normal[:, 1], -normal[:, 0]], axis=1)

    total, spots = 0.0, (np.arange(rays) + 0.5) / rays * 2 * half - half

    def met(start: np.ndarray, way: np.ndarray, own: int) -> np.ndarray:
        """Which of the rays start + t way meet a strip, middle + s along, at t > 0 with |s| < half."""
        gap = middles[None, :, :] - start[:, None, :]
        cross = way[0] * along[:, 1] - way[1] * along[:, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            t = (gap[..., 0] * along[:, 1] - gap[..., 1] * along[:, 0]) / cross
            s = (gap[..., 0] * way[1] - gap[..., 1] * way[0]) / cross
        hit = (t > 1e-9) & (np.abs(s) < half)
        hit[:, own] = False
        return hit.any(axis=1)

    for i, middle in enumerate(middles):
        start = middle + along[i] * spots[:, None]
        free = ~met(start, to_sun, i) & ~met(start, to_target[i], i)
        total += free.mean() * (normal[i] @ to_sun)
    return total / len(middles)


# Rays traced here, every strip against every other: computed. 41 rays a strip: tolerance 0.01; parallel light to the
# middle of the receiver on both sides.
@pytest.mark.book
@pytest.mark.parametrize("field", [FIELD, LinearFresnel(pitch=0.8, receiver_height=2.5, mirrors=20)],
                         ids=["usual", "dense and low"])
@pytest.mark.parametrize("degrees", [0.0, 30.0, -60.0, 70.0, -85.0])
def test_strips_against_traced_rays(degrees, field):
    zenith, azimuth = np.radians(abs(degrees)), np.radians(90.0 if degrees > 0 else 270.0)
    beam = field.incidence(zenith, azimuth)
    assert beam.factors["end loss"] == pytest.approx(1.0)
    assert beam.total == pytest.approx(traced(field, np.radians(degrees)), abs=0.01)


# Sun overhead, strip at x, receiver at height H: the normal leans by half of atan(x/H); cosine of that (exact).
@pytest.mark.book
def test_overhead_sun():
    cos, lit = strip_light(0.0, FIELD.places(), 0.75, 1.05, 7.4, 16)
    np.testing.assert_allclose(cos, np.cos(np.arctan2(np.abs(FIELD.places()), 7.4) / 2), atol=1e-12)
    assert lit.min() == 1.0


# Sun in the plane along the axis: the longitudinal modifier of long rows is the cosine (exact); end loss as
# 1 - mean distance x tan / length.
@pytest.mark.book
@pytest.mark.parametrize("degrees", [10.0, 30.0, 50.0])
def test_sun_along_the_axis(degrees):
    overhead, aside = FIELD.incidence(0.0, 0.0), FIELD.incidence(np.radians(degrees), 0.0)
    assert aside.cos == pytest.approx(overhead.cos * np.cos(np.radians(degrees)), rel=1e-9)
    throw = np.hypot(FIELD.places(), FIELD.receiver_height).mean()
    assert aside.factors["end loss"] == pytest.approx(1 - throw * np.tan(np.radians(degrees)) / 800, abs=2e-4)


@pytest.mark.law
@given(zenith=st.floats(0, 3.1), azimuth=st.floats(-3, 6), axis=st.floats(-3, 3))
@settings(max_examples=60)
def test_factors_stay_in_range_and_left_is_right(zenith, azimuth, axis):
    field = LinearFresnel(azimuth=axis)
    beam = field.incidence(zenith, azimuth)
    assert all(-1e-12 <= value <= 1 + 1e-12 for value in beam.factors.values())
    mirrored = field.incidence(zenith, 2 * axis - azimuth)
    assert beam.total == pytest.approx(float(mirrored.total), abs=1e-9)
    if np.cos(zenith) > 0:  # never more than passes the cross-section of all strips, the outer ones at their widest
        section = 15 * field.pitch * np.cos(beam.transversal) + field.mirror_width
        assert beam.total <= np.cos(beam.longitudinal) * section / field.aperture_width + 1e-9


def test_a_published_modifier_takes_the_place_of_what_it_contains():
    across = TabulatedModifier(angles=np.radians([0, 30, 60, 90]), values=(1.0, 0.95, 0.7, 0.0))
    along = IncidenceModifier(c1=-0.001, includes_cosine=True)
    draw = np.random.default_rng(5)
    zenith, azimuth = draw.uniform(0, 1.5, 50), draw.uniform(0, 6.28, 50)
    beam = FIELD.incidence(zenith, azimuth)
    k = across.published(np.abs(beam.transversal)) * along.published(beam.longitudinal)
    whole = beam.modified(BiaxialModifier(transversal=across, longitudinal=along))
    np.testing.assert_allclose(whole.total, k * beam.factors["end loss"], rtol=1e-9)
    assert list(whole.factors) == ["cosine", "end loss", "incidence modifier"]
    apart = beam.modified(BiaxialModifier(transversal=across, longitudinal=along, includes_shading=False))
    np.testing.assert_allclose(apart.total, whole.total * beam.factors["shading"], rtol=1e-9)
    ends = beam.modified(BiaxialModifier(transversal=across, longitudinal=along, includes_end_loss=True))
    np.testing.assert_allclose(ends.total, k, rtol=1e-9)
    plain = beam.modified(BiaxialModifier(transversal=across, longitudinal=along, includes_cosine=False))
    np.testing.assert_allclose(plain.total, whole.total * beam.cos, rtol=1e-9)


def test_projected_angle_is_the_one_seen_from_the_side():
    k = BiaxialModifier(longitudinal=IncidenceModifier(c1=-0.005, includes_cosine=False),
                        longitudinal_angle="projected")
    zenith, azimuth = np.radians(50.0), np.radians(30.0)  # axis north-south
    side = np.degrees(np.arctan2(np.sin(zenith) * np.cos(azimuth), np.cos(zenith)))
    beam = FIELD.incidence(zenith, azimuth)
    assert k(beam.transversal, beam.longitudinal) == pytest.approx(1 - 0.005 * side, rel=1e-9)


@pytest.mark.parametrize(("make", "where"), [
    (lambda: LinearFresnel(pitch=0.5), "pitch"),
    (lambda: LinearFresnel(mirrors=0), "mirrors"),
    (lambda: BiaxialModifier(longitudinal_angle="side"), "longitudinal_angle"),
    (lambda: TabulatedModifier(angles=(0.0, 1.0), values=(1.0, 0.5)), "angles"),
    (lambda: TabulatedModifier(angles=(0.0, 1.6), values=(1.0,)), "values"),
    (lambda: TabulatedModifier(angles=(0.0, 1.6), values=(1.0, -0.5)), "values"),
])
def test_what_is_wrong_is_refused_by_name(make, where):
    with pytest.raises(ParameterError, match=where):
        make()
