"""The cover: the finished piece, its sizes, the verdict, the cautions."""

from __future__ import annotations

from collections.abc import Iterator

from ...models.words.lengths import nearest_length
from ..drawing.fonts import drawable, wrapped
from ..drawing.marks import Drawing, Mark, Polyline, Sheet, Text
from ..solids.hidden import CORNER, seen
from ..solids.product import Product
from ..telling.cautions import CAUTIONS
from ..telling.printed import VERDICT, entry
from . import Pages
from .frame import Room, centred, filling, lines, room_of
from .paper import Paper
from .views import extents

_LETTERS = 8  # whose codes are listed
_FINDINGS = 12  # that the cover has room for


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """One sheet."""
    project, room = product.project, room_of(paper)
    solids = {b.name: product.solids.board_solid(b.name) for b in project.boards}
    paths = [path for one in seen(solids, CORNER).values() for path in one.outline]
    whole = Drawing("the finished piece", tuple(Polyline(path, "thin") for path in paths))
    picture = Room(room.x, room.y + 0.5 * room.high, room.wide, 0.5 * room.high)
    marks: list[Mark] = []
    y = picture.y - 2.0

    def say(head: str, paragraphs: Iterator[str] | list[str]) -> None:
        nonlocal y
        marks.append(Text((room.x, y - 3.0), head, 3.0, bold=True))
        y -= 6.5
        for paragraph in paragraphs:
            said = list(lines((room.x, y), wrapped(paragraph, room.wide, 2.4), 2.4))
            marks.extend(said)
            y -= 4.1 * len(said) + 1.0
        y -= 2.5

    say("Overall sizes", list(_sizes(product)))
    if letters := _undrawn(product):
        codes = ", ".join(drawable(letter) for letter in letters[:_LETTERS])
        more = " and others" * (len(letters) > _LETTERS)
        say(
            "Names",
            [f"Letters that this paper's font cannot draw are printed as codes: {codes}{more}. The "
             "lists and the drawings by themselves have the names as they were written."],
        )  # fmt: skip
    say("Verdict", list(_verdict(product)))
    say("Before you begin", list(CAUTIONS))
    drawn = centred(filling(whole, picture.wide, picture.high - 4.0), picture)
    yield Sheet(project.name, paper.width, paper.height, tuple(marks), (drawn,))


def _undrawn(product: Product) -> list[str]:
    """The letters of names that are printed as codes, as they come."""
    project = product.project
    names = [project.name, *(n for b in project.boards for n in (b.name, b.role, b.stock.title))]
    names += [face.name for board in project.boards for face in board.faces]
    letters = dict.fromkeys(letter for name in names for letter in name)
    return [letter for letter in letters if drawable(letter) != letter]


def _sizes(product: Product) -> Iterator[str]:
    unit = product.project.unit
    for piece, (low, high) in extents(product.project).items():
        wide, deep, tall = (nearest_length(b - a, unit) for a, b in zip(low, high, strict=True))
        yield f"{piece}: {wide} wide, {deep} deep, {tall} high"


def _verdict(product: Product) -> Iterator[str]:
    project = product.project
    if not any(f.severity == "fails" for f in product.findings):
        yield "Nothing fails: every wall, distance and driver's way was measured on the solids."
    grave = [cause for cause in product.causes if cause.severity != "notes"]
    told = [line.text for cause in grave for line in entry(project, cause, cures=False)]
    yield from told[:_FINDINGS]
    if len(told) > _FINDINGS:
        yield f"and {len(told) - _FINDINGS} lines more, in {VERDICT}"


PAGES = Pages("Cover", 0, make)
