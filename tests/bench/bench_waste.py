"""Sheets and boards that the cutting plans take, against the lower bound and a naive first fit.

    python -m tests.bench.bench_waste        from the root, in the project's environment

The naive way takes the parts as they come: each into the first strip of the first sheet that has
room, or into the first such board. Parts are those of the shipped recipes and of sets at random.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence

from slantbore.generators.cutting.boards import Lengths, plan_lengths
from slantbore.generators.cutting.material import materials
from slantbore.generators.cutting.sheets import Part, SheetSize, plan_sheets
from tests.bench.bench_closed_form import recipe

SHEET = SheetSize(2440.0, 1220.0, 3.2, 6.0)
BOARDS = Lengths((2400.0, 3000.0, 3600.0), 3.2, 25.0)
SETS = 12
RECIPES = ("kitchenette.yaml", "entry-table.yaml", "sink-base.yaml", "drawer-base.yaml")


def naive_sheets(parts: Sequence[Part], size: SheetSize) -> int:
    """How many sheets first fit takes, strip after strip, parts as they come."""
    long, wide = size.length - 2 * size.trim, size.width - 2 * size.trim
    sheets: list[list[list[float]]] = []  # strips as [width, length that is left]
    for part in parts:
        for sheet in sheets:
            strip = next((s for s in sheet if part.width <= s[0] and part.length <= s[1]), None)
            free = wide - sum(width + size.kerf for width, _ in sheet)
            if strip is None and part.width <= free:
                strip = [part.width, long]
                sheet.append(strip)
            if strip is not None:
                strip[1] -= part.length + size.kerf
                break
        else:
            sheets.append([[part.width, long - part.length - size.kerf]])
    return len(sheets)


def naive_boards(parts: Sequence[tuple[str, float]], lengths: Lengths) -> float:
    """What length first fit buys out of the longest boards, parts as they come (mm)."""
    longest = max(lengths.bought)
    left: list[float] = []
    for _, length in parts:
        need = length + lengths.kerf
        fits = next((i for i, room in enumerate(left) if need <= room + 1e-6), None)
        if fits is None:
            left.append(lengths.room(longest) - need)
        else:
            left[fits] -= need
    return longest * len(left)


def drawn() -> Iterator[tuple[list[Part], list[tuple[str, float]]]]:
    """Parts of cabinets and rails in sizes that furniture has, as they come."""
    draw = random.Random(7)
    for _ in range(SETS):
        panels = [
            Part(f"panel {i}", 10.0 * draw.randint(25, 200), 10.0 * draw.randint(8, 60))
            for i in range(draw.randint(12, 40))
        ]
        rails = [(f"rail {i}", 5.0 * draw.randint(40, 360)) for i in range(draw.randint(8, 30))]
        yield panels, rails


def main() -> None:
    """Print sheets and lengths of board: bound, plan and first fit."""
    sheets, boards = [0.0] * 3, [0.0] * 3
    for panels, rails in drawn():
        plan = plan_sheets(panels, SHEET)
        for i, n in enumerate((plan.bound, len(plan.sheets), naive_sheets(panels, SHEET))):
            sheets[i] += n
        sawn = plan_lengths(rails, BOARDS)
        for i, mm in enumerate((sawn.bound, sawn.bought, naive_boards(rails, BOARDS))):
            boards[i] += mm / 1000
    print(f"{SETS} sets at random")
    print("  sheets: bound {:.0f}, plan {:.0f}, first fit {:.0f}".format(*sheets))
    print("  boards: bound {:.1f} m, plan {:.1f} m, first fit {:.1f} m".format(*boards))
    for name in RECIPES:
        sheets, boards = [0.0] * 3, [0.0] * 3
        for one in materials(recipe(name)):
            if one.sheets and one.sheets.sheets:
                parts = [Part(b.name, b.length, b.width) for b in one.boards]
                naive = naive_sheets(parts, one.sheets.sheets[0].size)
                for i, n in enumerate((one.sheets.bound, len(one.sheets.sheets), naive)):
                    sheets[i] += n
            for strip in one.strips:
                own = [(b.name, b.length) for b in one.boards if round(b.width, 3) == strip.width]
                naive_mm = naive_boards(own, strip.lengths)
                for i, mm in enumerate((strip.plan.bound, strip.plan.bought, naive_mm)):
                    boards[i] += mm / 1000
        print(
            f"{name}: sheets {sheets[0]:.0f}, {sheets[1]:.0f}, {sheets[2]:.0f}; "
            f"boards {boards[0]:.1f} m, {boards[1]:.1f} m, {boards[2]:.1f} m"
        )


if __name__ == "__main__":
    main()
