"""Two pockets of one mitre, bored from either member."""

from __future__ import annotations

import numpy as np
import pytest

from slantbore.models.maths.clearance import Rods, rod_distances
from slantbore.models.maths.geometry import Vec, along, dot
from slantbore.models.piece.bodies import rods_of
from slantbore.models.piece.project import Limits, PocketId, Window
from slantbore.models.placing.site import Site, crossing_pitch
from tests.models.test_placement import corner


def apart(site: Site, swing: float, distance: float) -> float:
    """Least distance of the bores' rods, the second a mirror image `distance` further in."""
    normal, back = site.board.face(site.joint_face).plane.normal, site.back(swing)
    mirrored = along(back, normal, -2 * dot(back, normal))
    bore = site.bore(PocketId(""), swing, Window("", 0.0, 0.0, 0.0))
    stretches = list(rods_of(bore, site.board).values())
    stretches += rods_of(bore, site.board, as_mate=True).values()

    def rod(point: Vec, axis: Vec, stretch: tuple[float, float, float]) -> Rods:
        low, high, radius = (np.array([value]) for value in stretch)
        return Rods(np.array([point]), np.array([axis]), low, high, radius)

    there = along((0.0, 0.0, 0.0), site.line, distance)
    # The counterbore as the wood sees it ends in the air, a millimetre before its run-out.
    shortened = [
        (low, high - 1.0 if radius == site.drill.counterbore_radius else high, radius)
        for low, high, radius in stretches
        if low > -10.0 or radius == bore.screw.radius
    ]
    return min(
        float(rod_distances(rod((0, 0, 0), back, a), rod(there, mirrored, b))[0][0])
        for a in shortened
        for b in shortened
    )


@pytest.mark.parametrize("swing", [0.0, 10.0, 25.0])
@pytest.mark.parametrize("mitre", [15.0, 22.5, 45.0, 60.0])
def test_crossing_pockets_are_as_near_as_they_may_be(swing: float, mitre: float) -> None:
    site, limits = corner(90.0, mitre=mitre), Limits()
    pitch = crossing_pitch(site, swing, limits)
    assert apart(site, swing, pitch) == pytest.approx(limits.between, abs=1e-5)
    assert apart(site, swing, pitch - 0.01) < limits.between
    for more in (0.5, 3.0, 20.0, 100.0):
        assert apart(site, swing, pitch + more) > limits.between
