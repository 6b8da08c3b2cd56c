"""A slotted pilot: closed form against solids, its volume against a textbook form."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import pytest

from slantbore.generators.solids.solids import bored_solid
from slantbore.models.judging.measures import WallKey
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import Pose, Vec
from slantbore.models.piece.board import BACK, BOTTOM, LEFT, TOP, Board, Stock
from slantbore.models.piece.groups import shape_key
from slantbore.models.piece.project import SLOT_PLAY, Joint, Limits, PocketId, Project
from slantbore.models.placing.site import Site
from slantbore.models.placing.windows import windows
from tests.boards import blank
from tests.generators.measured import solid_gaps

from .small import DRILL, OAK, SCREW, R, T, r

APRON = Stock("apron", "red-oak", "red oak", T, "hardwood")
ALONG: Vec = (1.0, 0.0, 0.0)
ACROSS: Vec = (0.0, 0.0, 1.0)


def _site(slot: float, slot_along: Vec) -> Site:
    """An apron on edge under a top; its pockets on the inside, its upper edge at the top."""
    apron = blank(
        "apron", "table", "apron", APRON, 400.0, 90.0,
        seen={TOP: "exposed", BOTTOM: "concealed"}, pose=Pose((0, 0, 0), (1, 0, 0), (0, 0, 1)),
    )  # fmt: skip
    top = blank("top", "table", "top", OAK, 500.0, 200.0, pose=Pose((-50, -100, 90)))
    return Site(
        apron, top, BACK, BOTTOM, BOTTOM, (1.0, 0.0, 0.0), LEFT, DRILL, SCREW, 16.0,
        slot=slot, slot_along=slot_along,
    )  # fmt: skip


def _project(site: Site, position: float) -> Project:
    window = windows(site, 0.0, Limits())[0]
    bore = site.bore(PocketId("joint"), 0.0, replace(window, position=position))
    joint = Joint("joint", "top", "apron", BACK, "top", BOTTOM, (bore,))
    return Project("table", "mm", (site.board, site.mate), (joint,))


@pytest.mark.parametrize("slot_along", [ALONG, ACROSS])
@pytest.mark.parametrize("slot", [0.0, 1.0, 4.0, 8.0])
def test_closed_form_equals_the_solid(slot: float, slot_along: Vec) -> None:
    project = _project(_site(slot, slot_along), 40.0)
    closed, measured = Study(project).closed, solid_gaps(project)
    assert set(measured) <= set(closed)
    for key, wall in measured.items():
        assert closed[key] == pytest.approx(max(wall, 0.0) if wall else closed[key], abs=1e-6), key


def test_the_outside_face_is_nearer_by_the_slot() -> None:
    """The axis leans, yet what counts is how far the slot reaches in the joint plane."""

    def wall(slot: float) -> Mapping[WallKey, float]:
        return Study(_project(_site(slot, ACROSS), 200.0)).closed

    key = ("joint pocket", "apron", TOP)
    lean = math.cos(math.radians(15))
    apart = wall(2.0)[key] - wall(6.0)[key]
    # At the exit the axis moves 2 mm in the joint plane; the rod's side there moves with it.
    assert apart == pytest.approx(2.0, abs=1e-6)
    assert wall(2.0)[key] < wall(0.0)[key] - 1.0 * lean


def test_volume_of_a_slot_along_the_joint() -> None:
    """A slot square to the axis adds a flat slab, slot x width x length (textbook)."""
    site = _site(6.0, ALONG)
    board = site.board
    slotted = bored_solid(_project(site, 200.0), board).Volume()
    round_ = _project(site, 200.0)
    bore = round_.bores[0]
    wide = replace(bore, slot=0.0, drill=replace(DRILL, pilot_radius=bore.pilot_radius))
    joint = replace(round_.joints[0], bores=(wide,))
    plain = bored_solid(replace(round_, joints=(joint,)), board).Volume()
    assert bore.pilot_radius == pytest.approx(SCREW.radius + SLOT_PLAY)
    assert bore.pilot_radius > r and bore.pilot_radius + 3.0 > R
    # The slab ends square at the shoulder and slanting, on average at the exit, at the joint. What
    # stands out sideways under the counterbore is wood; nothing of the slab is in the counterbore.
    assert plain - slotted == pytest.approx(6.0 * 2 * bore.pilot_radius * 16.0, rel=1e-8)


def test_slots_count_in_the_shape() -> None:
    boards: list[tuple[Project, Board]] = []
    for slot, way in [(0.0, ALONG), (4.0, ALONG), (4.0, ACROSS)]:
        site = _site(slot, way)
        boards.append((_project(site, 200.0), site.board))
    assert len({shape_key(project, board) for project, board in boards}) == 3


def test_a_window_shrinks_by_half_the_slot() -> None:
    plain, slotted = (windows(_site(slot, ALONG), 0.0, Limits())[0] for slot in (0.0, 12.0))
    # The counterbore (R) binds without a slot; with it the pilot, half a slot aside.
    grow = SCREW.radius + SLOT_PLAY + 6.0 - R
    assert slotted.low - plain.low == pytest.approx(grow, abs=1e-4)
