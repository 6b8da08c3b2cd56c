"""The reference tables as data: complete, typed, sourced."""

import dataclasses

import pytest

from slantbore.models.wood import tables
from slantbore.models.wood.cutters import usual_cutters


def test_every_row_is_sourced_and_every_number_is_positive() -> None:
    groups = (
        tables.species(), tables.sheet_goods(), tables.drills(), tables.drivers(),
        tables.screw_kinds(),
    )  # fmt: skip
    assert [len(group) for group in groups] == [37, 15, 2, 3, 4]
    for group in groups:
        for key, row in group.items():
            assert row.source, key
            for field in dataclasses.fields(row):
                value = getattr(row, field.name)
                assert not isinstance(value, int | float) or value > 0, (key, field.name)


def test_lumber_is_thinner_dressed_than_sold_and_sourced() -> None:
    for kind in ("hardwood", "softwood"):
        rows = tables.lumber(kind)
        assert len(rows) > 5
        assert [row.sold for row in rows] == sorted(row.sold for row in rows)
        assert all(0 < row.dressed < row.sold and row.source for row in rows)
    assert tables.sold_as("hardwood", 10 * 25.4) is None


def test_marks_name_fields_that_have_a_value() -> None:
    fields = {field.name for field in dataclasses.fields(tables.Species)}
    for key, row in tables.species().items():
        for name in row.from_memory | row.second_hand:
            name = name.replace("elasticity_mpsi", "elasticity_psi")
            assert name in fields and getattr(row, name) is not None, (key, name)
        assert not row.from_memory & row.second_hand, key
        assert bool(row.gravity_design) == bool(row.design_row), key


def test_tables_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        tables.species()["balsa"] = tables.species()["cherry"]  # type: ignore[index]
    with pytest.raises(dataclasses.FrozenInstanceError):
        tables.species()["cherry"].gravity_12 = 1.0  # type: ignore[misc]


def test_a_screw_is_made_to_length() -> None:
    screw = tables.screw_kinds()["8"].screw(31.75, "coarse")
    assert screw.title == '#8 x 32 mm (1-1/4") coarse thread'
    assert (screw.gauge, screw.length, screw.thread) == ("#8", 31.75, "coarse")
    assert screw.radius == pytest.approx(0.164 * 25.4 / 2)


def test_every_gauge_of_a_drill_fits_its_counterbore_and_its_pilot_bites() -> None:
    for row in tables.drills().values():
        for gauge in row.gauges:
            kind = tables.screw_kinds()[gauge]
            assert kind.head_radius < row.drill.counterbore_radius
            assert kind.head_radius > row.drill.pilot_radius
            assert kind.lengths == tuple(sorted(set(kind.lengths)))
        assert row.drill.pilot_radius < row.drill.counterbore_radius < row.drill.driver_radius
    assert tables.default_drill().drill.counterbore_radius == 4.7625


def test_sheet_goods_lie_within_their_limits() -> None:
    for sheet in tables.sheet_goods().values():
        assert sheet.thinnest < sheet.thickness < sheet.thickest
        assert sheet.sheet[0] > sheet.sheet[1] > 1000


@pytest.mark.parametrize(
    ("thickness", "gauge"),
    [(9.0, "6"), (12.7, "6"), (13.0, "7"), (15.0, "7"), (18.0, "8"), (19.05, "8"), (38.1, "8")],
)
def test_the_usual_gauge(thickness: float, gauge: str) -> None:
    """Common practice, no source, from memory: #6 in 1/2 in stock, #8 from 3/4 in."""
    assert tables.usual_gauge(thickness).gauge == gauge


def test_the_thread_for_a_material() -> None:
    """Common practice, no source: coarse for softwood and sheet goods, fine for hardwood."""
    assert tables.thread_for("hardwood") == "fine"
    assert tables.thread_for("softwood") == tables.thread_for("sheet") == "coarse"


def test_cutters_are_titled_in_both_units_the_one_they_are_sold_in_first() -> None:
    titles = [cutter.title for cutter in usual_cutters()]
    assert titles[0] == 'two-flute straight cutter 1/4" (6.35 mm)'
    assert {'ball-nose cutter 3/8" (9.525 mm)', 'brad-point drill 5 mm (0.197")'} <= set(titles)
    assert all(title.count("mm") == title.count('"') == 1 for title in titles)
