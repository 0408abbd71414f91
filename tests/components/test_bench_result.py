"""What a bench fit gives: parts for a plant, a picture, a report that a builder can read, and the command."""

from __future__ import annotations

import json
import pickle
from dataclasses import FrozenInstanceError
from math import inf
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad

from components.bench_fit import fit_collector
from components.bench_picture import picture
from components.bench_receiver import FittedReceiver
from components.field import CollectorField
from components.heat_user import HeatUser
from components.mover import Mover
from components.row import Row
from components.tracking import TwoAxis
from loopnet.draw.palette import lightness, rgb
from loopnet.errors import DataError, ParameterError
from loopnet.plant import Design, Plant
from loopnet.solve import size

from ..command import run
from .bench_made import EXACT, FACTS, TRUE, made_boil, made_points

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def fit():
    return fit_collector(made_points(np.random.default_rng(3), noise=(4.0, 0.15, 0.004)), **FACTS)


@pytest.fixture(scope="module")
def trough():
    return fit_collector(EXAMPLES / "bench_trough.csv")


# -- the object --------------------------------------------------------------------------------------------------------


def test_a_fit_is_a_frozen_snapshot(fit):
    with pytest.raises(FrozenInstanceError):
        fit.scatter = 0.0
    with pytest.raises(ValueError, match="read-only"):
        fit.covariance[0, 0] = 1.0
    back = pickle.loads(pickle.dumps(fit))
    assert back.to_dict() == fit.to_dict()
    assert back.report() == fit.report()
    assert repr(fit).startswith("CollectorFit('table', eta0 0.7")
    assert "<table" in fit._repr_html_()


def test_ways_of_reading_agree(fit):
    frame = fit.to_frame()
    assert frame.index.tolist() == list(fit.values) == ["eta0", "a1", "a2"]
    for c in fit.coefficients:
        assert fit[c.name] is c
        assert frame.loc[c.name, "value"] == c.value
        assert c.low < c.value < c.high
        assert c.uncertainty == pytest.approx(np.hypot(c.scatter, c.instruments), rel=1e-9)
    whole = json.loads(json.dumps(fit.to_dict(), allow_nan=False))
    assert [c["value"] for c in whole["coefficients"]] == list(fit.values.values())
    assert np.diag(fit.correlation).tolist() == pytest.approx([1.0] * 3)
    assert fit.correlation.loc["a1", "a2"] < -0.8  # slope and curvature from one sweep always trade off
    p = fit.points
    np.testing.assert_allclose(p["residual"], p["measured"] - p["fitted"])


@pytest.mark.law
def test_the_band_is_narrowest_amid_the_points_and_agrees_with_the_fitted_heat():
    exact = fit_collector(made_points(np.random.default_rng(3), noise=(4.0, 0.15, 0.004)), instruments=EXACT, **FACTS)
    over = np.linspace(0.0, 400.0, 81)
    useful, error = exact.useful(over, 900.0)
    assert 20.0 < over[np.argmin(error)] < 240.0
    assert error[-1] > 3 * error.min()
    p = exact.points
    again, _ = exact.useful(p["over"].to_numpy(), p["dni"].to_numpy(), ambient=p["ambient"].to_numpy())
    np.testing.assert_allclose(again, p["fitted"], rtol=1e-12)
    one, sure = exact.useful(50.0, 900.0)
    assert float(one) == pytest.approx(np.interp(50.0, over, useful), rel=1e-9)
    assert np.shape(one) == np.shape(sure) == ()


# -- for a plant -------------------------------------------------------------------------------------------------------


def test_a_fitted_receiver_is_a_receiver():
    made = FittedReceiver(a1=0.5, a2=0.002, a3=0.05, a6=1e-3, a8=1e-9, eta1=1e-4, radiation=0.01, hottest=500.0)
    assert pickle.loads(pickle.dumps(made)) == made
    assert FittedReceiver(**made.to_dict()) == made
    hot = np.array([293.15, 350.0, 450.0])
    batch = made(hot, 293.15, 2.0, 900.0)
    np.testing.assert_allclose(batch, [float(made(t, 293.15, 2.0, 900.0)) for t in hot], rtol=1e-12)
    calm = made(hot, 293.15)
    assert calm[0] == 0.0
    assert np.all(np.diff(calm) > 0)
    assert float(FittedReceiver(a1=0.5, a2=0.002)(283.15, 293.15)) == pytest.approx(-5.2)  # heat flows in
    assert float(FittedReceiver(a1=1.0, rise=0.01)(303.15, 293.15, 0.0, 500.0)) == pytest.approx(15.0)
    assert made.findings(499.0, 600.0, None) == []
    assert "extrapolated" in made.findings(520.0, 600.0, None)[0]
    for bad in (inf, 1e9):
        with pytest.raises(ParameterError, match=r"FittedReceiver\.a1: out of range"):
            FittedReceiver(a1=bad)


def test_optics_are_what_was_measured_whatever_is_known_of_their_parts(fit):
    eta0 = fit["eta0"].value
    assert fit.collector().efficiency() == pytest.approx(eta0, rel=1e-12)
    known = fit.collector(tracking=TwoAxis(), reflectance="92 %", absorptance=0.9, transmittance=1)
    assert known.efficiency() == pytest.approx(eta0, rel=1e-12)
    assert known.intercept == pytest.approx(eta0 / (0.92 * 0.9))
    assert isinstance(known.tracking, TwoAxis)
    with pytest.raises(DataError, match="less than what was measured"):
        fit.collector(reflectance=0.7, absorptance=0.9)
    with pytest.raises(ParameterError, match="what the bench test leaves over"):
        fit.collector(intercept=0.9)


@pytest.mark.law
def test_a_plant_is_sized_with_the_collector_that_was_measured(trough):
    """A kiln on oil; the aperture against heat over the net flux, integrated here from the fitted numbers."""
    plant = Plant("kiln", design=Design(solar_multiple=1.0))  # no more sun than the kiln takes
    field = plant.add("field", CollectorField(collector=trough.collector(), receiver=trough.receiver(),
                                              outlet="250 degC", row=Row(aperture=600, length=120)))
    user, pump = plant.add("kiln", HeatUser(demand="1 MW", back="150 degC")), plant.add("pump", Mover())
    plant.loop("oil", "diphenyl oil", pressure="5 bar").through(field, user, pump, field)
    sized = size(plant)
    assert sized.certificate.worst < 1e-8
    v = sized.view("field")
    absorbed, ambient = float(v.given("absorbed")[0]), float(v.site("ambient")[0])
    c, oil = trough.values, v.main.medium
    low, high = (float(x[0]) for x in (v.main.inlet.h, v.main.outlet.h))

    def per_heat(h):
        over = float(oil.T(h)) - ambient
        return 1.0 / (absorbed - c["a1"] * over - c["a2"] * over**2)

    flow = float(v.main.m[0])
    assert float(v["aperture"][0]) == pytest.approx(flow * quad(per_heat, low, high)[0], rel=1e-5)
    assert not any("bench test" in text for text in sized.findings)
    hotter = plant.with_component("field", outlet="330 degC")
    assert any("the bench test measured up to" in text for text in size(hotter).findings)


# -- the picture -------------------------------------------------------------------------------------------------------


def boxes(ax):
    """Boxes on paper of all words and marks at the axes, by what they say."""
    figure = ax.get_figure(root=True)
    figure.draw_without_rendering()
    renderer = figure.canvas.get_renderer()
    found = {}
    for each in figure.axes:
        # `draw` would skip ticks outside the limits; so does this
        inside = [t.label1 for axis in (each.xaxis, each.yaxis) for t in axis._update_ticks()]
        words = [*inside, each.xaxis.label, each.yaxis.label, each.title, each._left_title, *each.texts]
        words += each.get_legend().get_texts() if each.get_legend() else []
        found |= {(id(each), w.get_text(), i): w.get_window_extent(renderer) for i, w in enumerate(words)
                  if w.get_text() and w.get_visible()}
    return figure, found


@pytest.mark.parametrize("name", ["trough", "kettle"])
def test_words_of_the_picture_stay_on_the_page_and_apart(name):
    figure, found = boxes(picture(fit_collector(EXAMPLES / f"bench_{name}.csv")))
    assert len(found) > 15
    page, listed = figure.bbox, list(found.items())
    for place, (key, box) in enumerate(listed):
        assert page.x0 <= box.x0 <= box.x1 <= page.x1, key[1]
        assert page.y0 <= box.y0 <= box.y1 <= page.y1, key[1]
        for other, second in listed[:place]:
            assert not box.overlaps(second), (key[1], other[1])


def test_the_picture_shows_every_point_and_names_outliers(trough):
    ax = picture(trough)
    below = ax.get_figure(root=True).axes[-1]
    drawn = sum(len(c.get_offsets()) for c in below.collections if len(c.get_offsets()) and c.get_sizes().size)
    assert drawn == len(trough.points)
    outlier = next(x for x in trough.left_out if x.kind == "outlier")
    assert any(str(outlier.rows[0]) in text.get_text() for text in below.texts)
    assert ax.get_ylabel() == "efficiency, %"
    kettle = picture(fit_collector(made_boil(), aperture=1.8))
    assert kettle.get_ylabel() == "useful heat, W/m2"


def test_a_given_axes_is_used_and_colours_differ_in_lightness(fit):
    from matplotlib.figure import Figure

    import components.bench_picture as module

    figure = Figure()
    ax = figure.add_subplot(1, 2, 2)
    assert fit.picture(ax) is ax
    assert len(figure.axes) == 2
    steps = sorted(lightness(rgb(colour)) for colour in (module.OUT, module.LINE, module.BAND, "#ffffff"))
    assert np.min(np.diff(steps)) > 10.0


# -- report and command ------------------------------------------------------------------------------------------------


def test_the_report_tells_a_builder_what_he_needs(trough):
    text = trough.report()
    flat = " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 100
    for words in ("Tamarisk Basin", "THIS DATA IS INVENTED", "useful heat =", "95 % sure it lies between",
                  "Concentrated sunlight blinds", "Hot oil burns", "local codes and licensed practice",
                  "inlet changes by more than 0.5 K within 10 min", "above the fit", "a3: wind hardly varies"):
        assert words in flat
    for c in trough.coefficients:
        assert c.low < TRUE[c.name] < c.high  # the example is made with these
    assert "Steam" not in text
    boiled = fit_collector(EXAMPLES / "bench_kettle.csv").report()
    assert "Boiling water and steam scald" in boiled
    assert "Hot oil" not in boiled


def test_a_report_without_losses_says_what_to_do_next():
    table = made_boil().assign(**{"dni [W/m2]": 900.0, "boiled [kg/h]": np.tile([1.19, 1.21], 8)})
    fit = fit_collector(table, aperture=2)
    assert not fit.has_loss
    assert "Without losses no plant can be drawn with this collector yet" in fit.report()


def test_the_command_prints_writes_and_draws(tmp_path):
    said = run("fit", EXAMPLES / "bench_trough.csv", "--json", tmp_path / "f.json", "--plots", tmp_path)
    assert (said.status, said.err) == (0, "")
    assert "useful heat = 0.7" in said.out
    found = json.loads((tmp_path / "f.json").read_text())
    assert [c["name"] for c in found["coefficients"]] == ["eta0", "a1", "a2"]
    assert (tmp_path / "bench_trough_fit.png").read_bytes().startswith(b"\x89PNG")
    alone = run("fit", EXAMPLES / "bench_kettle.csv", "--json", "-", "--terms", "eta0, a1", "--altitude", "0 m")
    assert json.loads(alone.out)["dropped"] == []


def test_options_go_before_the_file_and_errors_end_in_one_line(tmp_path):
    made_points().to_csv(tmp_path / "mine.csv", index=False)
    said = run("fit", tmp_path / "mine.csv")
    assert said.status == 2
    assert said.err.startswith("loopnet: mine.csv: the aperture is not known")
    assert said.err.count("\n") == 1
    said = run("fit", tmp_path / "mine.csv", "--aperture", "12 m2", "--heat-capacity", "2 kJ/kg/K", "--medium",
               "my oil", "--json", "-")
    found = json.loads(said.out)
    assert {c["name"]: c["value"] for c in found["coefficients"]} == pytest.approx(TRUE, rel=1e-9)
    assert found["liquid"] == "my oil"
    assert run("fit", tmp_path / "none.csv").status == 2
