"""What the screws of like joints hold, by the published formulas."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.grain import Grain, grain
from ...piece.project import Bore, Finding
from ...wood import strength as of
from ...wood.tables import Species, screw_kinds, species
from ..study import Study
from . import Number, Rule

CODE = "strength"
_CAUTION = (
    "strength is told for one screw by published formulas, for comparing, not for designing: "
    "where somebody could be hurt, load a trial joint and follow the local code and a licensed "
    "engineer"
)


def check(study: Study) -> Iterator[Finding]:
    """One note per like joint, and one caution."""
    boards = study.project.board_named
    like: dict[tuple[object, ...], list[Bore]] = {}
    for bore in study.project.bores:
        if bore.engagement <= 0:
            continue
        board, mate = boards[bore.board], boards[bore.mate]
        key = (
            board.stock.material,
            mate.stock.material,
            bore.screw,
            round(bore.shoulder, 2),
            grain(bore, board, mate),
        )
        like.setdefault(key, []).append(bore)
    for bores in like.values():
        yield _note(study, bores)
    if like:
        yield Finding(CODE, "notes", _CAUTION)


def _note(study: Study, bores: list[Bore]) -> Finding:
    bore = bores[0]
    boards = study.project.board_named
    board, mate = boards[bore.board], boards[bore.mate]
    within = grain(bore, board, mate)
    wood = species().get(mate.stock.material)
    count = f"each of {len(bores)} like screws" if len(bores) > 1 else "the screw"
    says = [f"{count} stands {_depth(bore):.1f} diameters deep in {within} of {mate.stock.title}"]
    if wood is None:
        says.append("no published withdrawal value for this sheet")
    else:
        if within == "end grain":
            says.append("the NDS allows no withdrawal load in end grain")
        else:
            side = "" if within == "side grain" else ", were it side grain; it holds less here"
            says.append(
                f"pulled out of test pieces at about {_round(ultimate(bore, wood))} N "
                f"(Wood Handbook){side}"
            )
        says.append(_design(bore, wood, board.stock.material, within))
    return Finding(
        CODE,
        "notes",
        "; ".join(says),
        joint=bore.joint,
        point=board.pose.point(bore.exit),
    )


def _depth(bore: Bore) -> float:
    return bore.engagement / (2 * bore.screw.radius)


def thread(bore: Bore) -> float:
    """Thread in the mate, tip included (mm)."""
    return max(0.0, min(of.thread_length(bore.screw.length), bore.engagement))


def ultimate(bore: Bore, wood: Species) -> float:
    """Withdrawal load from side grain (N), Wood Handbook eq. 8-10."""
    return of.handbook_withdrawal(wood.gravity_12, 2 * bore.screw.radius, thread(bore))


def design_withdrawal(bore: Bore, wood: Species) -> float | None:
    """Reference withdrawal value from side grain (N), NDS eq. 12.2-2; None without G."""
    if wood.gravity_design is None:
        return None
    per_inch = of.design_withdrawal(wood.gravity_design, 2 * bore.screw.radius / of.MM_PER_INCH)
    return per_inch * thread(bore) / of.MM_PER_INCH * of.N_PER_LBF


def design_lateral(bore: Bore, side: Species, main: Species, within: Grain) -> of.Lateral | None:
    """Reference lateral value (N) and its mode; None where the NDS gives none."""
    kind = screw_kinds().get(bore.screw.gauge.lstrip("#"))
    factor = of.penetration(bore.engagement, 2 * bore.screw.radius)
    if kind is None or not factor or None in (side.gravity_design, main.gravity_design):
        return None
    assert side.gravity_design is not None and main.gravity_design is not None
    inch = of.MM_PER_INCH
    diameter = 2 * bore.screw.radius / inch
    tip = 0.0 if factor == 1 else of.TIP * diameter / 2
    found = of.design_lateral(
        2 * kind.root_radius / inch,
        bore.shoulder / inch,
        bore.engagement / inch - tip,
        of.dowel_bearing(side.gravity_design),
        of.dowel_bearing(main.gravity_design),
        of.bending_yield(diameter),
    )
    grain_factor = of.END_GRAIN_LATERAL if within == "end grain" else 1.0
    return of.Lateral(found.value * factor * grain_factor * of.N_PER_LBF, found.mode)


def _design(bore: Bore, wood: Species, bored: str, within: Grain) -> str:
    if _depth(bore) < of.LEAST_PENETRATION - 1e-6:
        return f"under {of.LEAST_PENETRATION:g} diameters the NDS rates no screw"
    values = []
    pulled = design_withdrawal(bore, wood)
    if pulled is not None and within == "side grain":
        values.append(f"{_round(pulled)} N in withdrawal")
    side = species().get(bored)
    lateral = design_lateral(bore, side, wood, within) if side else None
    if lateral is not None:
        values.append(f"{_round(lateral.value)} N across (mode {lateral.mode})")
    if not values:
        return "no NDS reference value applies"
    return f"NDS reference value {' and '.join(values)}, before adjustment"


def _round(newtons: float) -> int:
    """Two figures: the formulas are not better than that."""
    return int(float(f"{newtons:.1e}"))


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """Loads by formula."""
    boards = study.project.board_named
    board, mate = boards[bore.board], boards[bore.mate]
    wood, side = species().get(mate.stock.material), species().get(board.stock.material)
    if wood is None or bore.engagement <= 0:
        return
    within = grain(bore, board, mate)
    says = f"Wood Handbook, were it side grain; it is {within}"
    yield Number("ultimate withdrawal load", ultimate(bore, wood), None, "N", says)
    depth = _depth(bore)
    rated = depth >= of.LEAST_PENETRATION - 1e-6
    pulled = design_withdrawal(bore, wood)
    if pulled is not None and rated:
        yield Number("reference withdrawal value", pulled, None, "N", "NDS, side grain")
    lateral = design_lateral(bore, side, wood, within) if side else None
    if lateral is not None:
        yield Number("reference lateral value", lateral.value, None, "N", f"NDS, {lateral.mode}")


RULE = Rule(
    CODE,
    "What the screws hold by published formulas",
    """Information, never a promise, for one screw of each kind of joint.
Withdrawal from side grain, tests: p = 108.25 G^2 D L newtons, Wood Handbook (2021) eq. 8-10, an
ultimate load; D the shank (mm), L the thread in the mating board (two thirds of the screw at most,
NDS Table L3), G at 12 % moisture content. Valid with lead holes of about 70 % of the root diameter
in softwood and 90 % in hardwood.
Withdrawal, design: W = 2850 G^2 D pounds per inch of thread, NDS-2018 eq. 12.2-2, G on oven-dry
volume. In end grain wood screws are not to be loaded so (12.2.2.3).
Across: the six yield modes of NDS-2018 Table 12.3.1A, with the root diameter, F_e = 16600 G^1.84
and F_yb of Table I1, times p/10D for depths p under 10 D, times 0.67 in end grain (12.5.2.2).
Under 6 D of depth the NDS rates no screw at all (12.1.5.6); most pocket screws in 19 mm stock are
there. All values are before adjustment for duration, moisture and temperature. No published formula
covers a screw that slants to the grain; what is told for side grain is then too much. Glue, which
carries most furniture joints, is not counted.
Caution: a table, a bunk or a shelf that gives way hurts people. Load a trial joint, and where a
code applies follow it and ask a licensed engineer.""",
    check,
    numbers,
    adds_up=True,
)
