"""Colours: kinds of energy differ in lightness, in print without colour and for eyes that see no red or green."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from loopnet.draw.palette import KINDS, LEAST_STEP, LOOPS, PAPER, lightness, rgb


# B. Lindbloom, "RGB working space information" and colour calculator: sRGB primaries in L*a*b*, from memory, given
# there to four digits after the point: 53.2408, 87.7347, 32.2970
@pytest.mark.book
@pytest.mark.parametrize(("colour", "expected"), [("#ff0000", 53.2408), ("#00ff00", 87.7347), ("#0000ff", 32.2970)])
def test_lightness_of_the_primaries(colour: str, expected: float) -> None:
    assert lightness(rgb(colour)) == pytest.approx(expected, abs=0.02)


def seen(colour: str, matrix: np.ndarray) -> tuple[float, float, float]:
    """An sRGB colour as seen through a matrix that acts on linear light."""
    parts = np.array(rgb(colour))
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    out = np.clip(matrix @ linear, 0.0, 1.0)
    back = np.where(out <= 0.0031308, 12.92 * out, 1.055 * out ** (1 / 2.4) - 0.055)
    return float(back[0]), float(back[1]), float(back[2])


# Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of color vision deficiency",
# IEEE Trans. Visualization and Computer Graphics 15 (2009) 1291, matrices for severity 1.0, from memory; each row
# sums to 1, so that white stays white
EYES = {
    "full sight": np.eye(3),
    "no green cones": np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
                                [-0.011820, 0.042940, 0.968881]]),
    "no red cones": np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
                              [-0.003882, -0.048116, 1.051998]]),
}


@pytest.mark.book
@pytest.mark.parametrize("eye", EYES)
def test_kinds_differ_in_lightness_for_any_eye(eye: str) -> None:
    matrix = EYES[eye]
    assert matrix.sum(axis=1) == pytest.approx(np.ones(3), abs=2e-6)
    levels = {kind: lightness(seen(colour, matrix)) for kind, colour in KINDS.items()}
    steps = {pair: abs(levels[pair[0]] - levels[pair[1]]) for pair in combinations(levels, 2)}
    assert min(steps.values()) >= LEAST_STEP, steps


def test_lines_of_loops_stand_out_from_paper_and_all_have_their_own_dashes() -> None:
    for colour, _ in LOOPS:
        assert lightness(rgb(PAPER)) - lightness(rgb(colour)) > 45
    assert len({dashes for _, dashes in LOOPS}) == len(LOOPS)
