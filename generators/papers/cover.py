"""The cover: the finished piece, its sizes, the verdict, the cautions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...models.piece.groups import like_pieces
from ...models.words.lengths import nearest_length
from ..drawing.fonts import drawable, wrapped
from ..drawing.marks import Drawing, Polyline, Sheet, Text
from ..solids.hidden import CORNER, seen
from ..solids.product import Product
from ..telling.cautions import CAUTIONS
from ..telling.printed import VERDICT, entry
from . import Pages
from .flow import Block, Drawn, Flow
from .frame import Room, centred, filling, lines, room_of
from .paper import Paper
from .views import extents, together

_LETTERS = 8  # whose codes are listed
_FINDINGS = 12  # that the cover has room for


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """One sheet; more where there is much to say."""
    flow = Flow(paper, product.project.name)
    flow.add([_picture(product, paper)])
    for head, paragraphs in _sections(product):
        blocks = [_said(paragraph, paper) for paragraph in paragraphs]
        flow.add([_headed(head), *blocks[:1]])
        for block in blocks[1:]:
            flow.add([block])
    yield from flow.done()


def _picture(product: Product, paper: Paper) -> Block:
    """The finished piece, on half of the sheet."""
    high, wide = 0.5 * room_of(paper).high, paper.wide
    solids = {b.name: product.solids.board_solid(b.name) for b in product.project.boards}
    paths = [path for one in seen(solids, CORNER).values() for path in one.outline]
    whole = Drawing("the finished piece", tuple(Polyline(path, "thin") for path in paths))
    drawing = filling(whole, wide, high - 4.0)

    def draw(x: float, y: float) -> Drawn:
        return (), (centred(drawing, Room(x, y - high + 2.0, wide, high - 2.0)),)

    return Block(high, draw)


def _headed(head: str) -> Block:
    return Block(6.5, lambda x, y: ((Text((x, y - 4.5), head, 3.0, bold=True),), ()))


def _said(paragraph: str, paper: Paper) -> Block:
    told = wrapped(paragraph, paper.wide, 2.4)
    return Block(4.1 * len(told) + 1.0, lambda x, y: (tuple(lines((x, y), told, 2.4)), ()))


def _sections(product: Product) -> Iterator[tuple[str, Sequence[str]]]:
    """Headings, and the paragraphs under them."""
    yield "Overall sizes", list(_sizes(product))
    if letters := _undrawn(product):
        codes = ", ".join(drawable(letter) for letter in letters[:_LETTERS])
        more = " and others" * (len(letters) > _LETTERS)
        says = (
            f"Letters that this paper's font cannot draw are printed as codes: {codes}{more}. The "
            "lists and the drawings by themselves have the names as they were written."
        )
        yield "Names", [says]
    yield "Verdict", list(_verdict(product))
    yield "Before you begin", CAUTIONS


def _undrawn(product: Product) -> list[str]:
    """The letters of names that are printed as codes, as they come."""
    project = product.project
    names = [project.name, *(n for b in project.boards for n in (b.name, b.role, b.stock.title))]
    names += [face.name for board in project.boards for face in board.faces]
    letters = dict.fromkeys(letter for name in names for letter in name)
    return [letter for letter in letters if drawable(letter) != letter]


def _sizes(product: Product) -> Iterator[str]:
    project, boxes = product.project, extents(product.project)
    for pieces in like_pieces(project):
        ends = zip(*boxes[pieces[0]], strict=True)
        wide, deep, tall = (nearest_length(high - low, project.unit) for low, high in ends)
        yield f"{together(pieces)}: {wide} wide, {deep} deep, {tall} high"


def _verdict(product: Product) -> Iterator[str]:
    project = product.project
    fails = sum(finding.severity == "fails" for finding in product.findings)
    if fails:
        says = "1 finding fails" if fails == 1 else f"{fails} findings fail"
        yield f"{says}: do not build it like this. What to change, `slantbore check` tells."
    else:
        yield "Nothing fails: every wall, distance and driver's way was measured on the solids."
    grave = [cause for cause in product.causes if cause.severity != "notes"]
    told = [line.text for cause in grave for line in entry(project, cause, cures=False)]
    yield from told[:_FINDINGS]
    if len(told) > _FINDINGS:
        yield f"and {len(told) - _FINDINGS} lines more, in {VERDICT}"


PAGES = Pages("Cover", 0, make)
