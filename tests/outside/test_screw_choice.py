"""The choice of screws against common practice: no published source, from memory.

Equal stock joined at a face: 13 mm (1/2 in) takes a 25 mm (1 in) screw, 19 mm (3/4) a 32 mm
(1-1/4), 25 mm (1) a 38 mm (1-1/2), 38 mm (1-1/2) a 64 mm (2-1/2). Coarse thread in softwood and
sheet goods, fine thread in hardwood.
"""

from __future__ import annotations

import math

import pytest

from slantbore.models.piece.project import Limits
from slantbore.models.wood.screws import fastenings, gauge_for, longest_shoulder, usual_shoulder
from slantbore.models.wood.tables import (
    DrillRow,
    default_drill,
    drills,
    screw_kinds,
    sheet_goods,
    species,
    thread_for,
)

ROW = default_drill()
COVER = Limits().tip_cover


@pytest.mark.parametrize(
    ("thickness", "length"), [(12.7, 25.4), (19.05, 31.75), (25.4, 38.1), (38.1, 63.5)]
)
def test_equal_stock_takes_the_usual_screw(thickness: float, length: float) -> None:
    kind = gauge_for(ROW, thickness)
    found = fastenings(ROW.drill, kind, "fine", thickness, thickness, COVER)
    assert found[0].screw.length == length


# The millimetre sizes of common practice: the same boards by their metric names.
@pytest.mark.parametrize(("thickness", "length"), [(13, 25), (19, 32), (25, 38), (38, 64)])
def test_metric_stock_takes_the_same_screw(thickness: float, length: float) -> None:
    kind = gauge_for(ROW, thickness)
    found = fastenings(ROW.drill, kind, "fine", thickness, thickness, COVER)
    assert found[0].screw.length == pytest.approx(length, abs=0.6)


def test_coarse_for_softwood_and_sheet_goods_fine_for_hardwood() -> None:
    assert thread_for(species()["eastern-white-pine"].kind) == "coarse"
    assert thread_for(species()["red-oak"].kind) == "fine"
    assert thread_for("sheet") == "coarse"
    assert sheet_goods()


@pytest.mark.parametrize("row", drills().values(), ids=lambda row: row.key)
@pytest.mark.parametrize("thickness", [12.0, 12.7, 16.0, 19.05, 22.0, 25.4, 32.0, 38.1, 44.0])
@pytest.mark.parametrize("depth", [12.7, 19.05, 38.1, 90.0])
def test_every_screw_offered_keeps_its_cover_and_its_seat(
    row: DrillRow, thickness: float, depth: float
) -> None:
    kind = gauge_for(row, thickness)
    found = fastenings(row.drill, kind, "fine", thickness, depth, COVER)
    slope = math.radians(row.drill.slope)
    lengths = [f.screw.length for f in found]
    assert lengths == sorted(lengths, reverse=True)
    assert set(lengths) <= set(kind.lengths)
    for fit in found:
        # Less than one and a half diameters of thread in the mate hold nothing.
        assert fit.screw.length - fit.shoulder >= 3 * kind.radius - 1e-9
        # The deepest point of a flat-ended screw that enters square to the joint.
        tip = (fit.screw.length - fit.shoulder) * math.cos(slope) + kind.radius * math.sin(slope)
        assert depth - tip >= COVER - 1e-9
        assert fit.shoulder <= longest_shoulder(row.drill, thickness) + 1e-9
        # The shoulder's centre is in the wood, below the pocket face.
        assert fit.shoulder * math.sin(slope) < thickness / 2


def test_no_longer_stocked_screw_would_have_fitted() -> None:
    kind = screw_kinds()["8"]
    usual = usual_shoulder(ROW.drill, 19.05)
    slope = math.radians(ROW.drill.slope)
    for depth in (19.05, 25.4, 38.1, 60.0):
        best = fastenings(ROW.drill, kind, "fine", 19.05, depth, COVER)[0].screw.length
        for longer in (length for length in kind.lengths if length > best):
            tip = (longer - usual) * math.cos(slope) + kind.radius * math.sin(slope)
            assert depth - tip < COVER


def test_nothing_is_offered_where_nothing_fits() -> None:
    assert not fastenings(ROW.drill, screw_kinds()["8"], "fine", 19.05, 5.0, COVER)
    # Nor is a screw that would hardly leave a thick board: 1 in through 1 in stock.
    offered = fastenings(ROW.drill, screw_kinds()["8"], "fine", 25.4, 60.0, COVER)
    assert 25.4 not in [fit.screw.length for fit in offered]
