"""One photo over another. The cases are those by which the phone's own calculation is tested too."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from continuity.match.alignment import CannotAlign, alignment_between

CASES = json.loads((Path(__file__).parent.parent / "cases" / "alignment.json").read_text())


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_umeyama_and_the_exact_square(case: dict[str, Any]) -> None:
    """The sources of the cases stand in their file."""
    first, second = (np.array(case[end], dtype=np.float64) for end in ("from", "to"))
    found = alignment_between(first, second)
    assert found.matrix == pytest.approx(np.array(case["matrix"]), abs=1e-6)
    assert found.shift == pytest.approx(np.array(case["shift"]), abs=1e-6)
    assert found.scale == pytest.approx(case["scale"], abs=1e-7)
    assert found.error == pytest.approx(case["mean_squared_error"], abs=1e-7)
    assert np.linalg.det(found.matrix) > 0
    assert found.turn == pytest.approx(np.arctan2(case["matrix"][1][0], case["matrix"][0][0]), abs=1e-6)
    assert ((found.moved(first) - second) ** 2).sum(axis=1).mean() == pytest.approx(found.error)


def test_a_mirrored_face_is_not_mirrored_back() -> None:
    """Constructed here: the eyes and the mouth in a mirror."""
    face = np.array([[0.0, 0.0], [6.0, 0.0], [2.0, 5.0]])
    found = alignment_between(face, face * [-1, 1])
    assert np.linalg.det(found.matrix) > 0
    assert found.error > 0.1


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ([[1, 1], [1, 1]], [[0, 0], [1, 0]]),
        ([[1, 1]], [[0, 0]]),
        ([], []),
        ([[0, 0], [1, 1], [2, 2]], [[0, 0], [1, 1]]),
        ([[0, 0], [1, 1]], [[3, 3], [3, 3]]),
    ],
)
def test_points_that_say_nothing(first: list[list[float]], second: list[list[float]]) -> None:
    with pytest.raises(CannotAlign):
        alignment_between(*(np.array(points, dtype=np.float64).reshape(-1, 2) for points in (first, second)))
