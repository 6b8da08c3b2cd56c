"""Round holes in rows: pins, clearance for screws; a single one is a row of one."""

from __future__ import annotations

from typing import ClassVar

from pydantic import Field

from ..maths.geometry import Vec, along, cross, dot
from ..piece.board import LEFT, Board, BoardSide, Edge, End, Hole, Print, Side
from ..recipe.params import Count, Length, Params
from . import Kind, WorkError


class Row(Params):
    """A row of holes, along an edge."""

    edge: Edge = Field(description="edge that it runs along")
    distance: Length = Field(description="from the edge to the middles of the holes")


class Holes(Kind):
    """Round holes square to a face, in rows along its edges."""

    word: ClassVar[str] = "hole"
    key: ClassVar[str] = "holes"
    about: ClassVar[str] = "round holes, in rows along the edges"

    face: BoardSide = Field(description="face that they are drilled from")
    rows: list[Row] = Field(min_length=1, description="where the rows run")
    first: Length = Field(description="from the end to the middle of the first hole")
    end: End = Field(LEFT, description="end that the first is measured from")
    count: Count = Field(1, description="places in a row")
    pitch: Length = Field(32.0, description="from hole to hole")
    without: list[Count] = Field(default_factory=list, description="places left out, by number")
    diameter: Length = Field(description="of the drill")
    depth: Length | None = Field(None, description="from the face; without it through")

    @property
    def done_from(self) -> Side:
        """The face that they are drilled from."""
        return self.face

    @property
    def datum(self) -> tuple[Side, ...]:
        """The end, and the edge of each row."""
        return (self.end, *dict.fromkeys(row.edge for row in self.rows))

    @property
    def places(self) -> list[int]:
        """The numbers of the places in a row that are drilled."""
        return [i for i in range(1, self.count + 1) if i not in self.without]

    def removes(self, board: Board) -> tuple[Hole, ...]:
        """The holes, row by row."""
        face, end = board.face(self.face).plane, board.face(self.end).plane
        inward: Vec = (-face.normal[0] + 0.0, -face.normal[1] + 0.0, -face.normal[2] + 0.0)
        depth = board.size(self.face) if self.depth is None else self.depth
        mouths = [
            _meet(
                (face.normal, face.offset),
                (end.normal, end.offset - self.first - self.pitch * (i - 1)),
                (edge.normal, edge.offset - row.distance),
            )
            for row in self.rows
            for edge in [board.face(row.edge).plane]
            for i in self.places
        ]
        many = len(mouths) > 1
        return tuple(
            Hole(f"{self.called} {n}" if many else self.called, p, inward, self.diameter / 2, depth)
            for n, p in enumerate(mouths, 1)
        )

    def told(self, board: Board, length: Print) -> str:
        """`2 rows of 18 pin holes at 32 mm, 37 mm from the edges, first 96 mm from the foot, ...`.

        After the place comes the drill: diameter, depth, and the face that it starts in.
        """
        end, face = (board.face(side).name for side in (self.end, self.face))
        many, one = len(self.rows), self.count == 1
        stem = self.called.rstrip("0123456789 ")  # a number tells works apart, not holes
        title = f"{stem}{'' if one else 's'}"
        if not stem.endswith(self.noun):
            title = f"{self.noun}{'' if one else 's'} ({self.called})"
        row = title if one else f"{self.count} {title} at {length(self.pitch)}"
        if many > 1 or not one:
            row = f"{f'{many} rows' if many > 1 else 'row'} of {'1 ' if one else ''}{row}"
        if self.without:
            row += f" without {_spans(self.without)}"
        deep = "through" if self.depth is None else f"{length(self.depth)} deep"
        return (
            f"{row}, {self._told_rows(board, length)}, {'' if one else 'first '}"
            f"{length(self.first)} from the {end}, {length(self.diameter)} drill, {deep} from the "
            f"{face}"
        )

    def _told_rows(self, board: Board, length: Print) -> str:
        by_distance: dict[str, list[str]] = {}
        for row in self.rows:
            by_distance.setdefault(length(row.distance), []).append(board.face(row.edge).name)
        places = [
            f"{distance} from {'the edges' if len(edges) == 2 else f'the {edges[0]}'}"
            for distance, edges in by_distance.items()
        ]
        return " and ".join(places)

    def refuse_unfit(self, board: Board, length: Print) -> None:
        """Refuse an edge or end to drill from, and places beside the board."""
        if self.face not in ("top face", "bottom face"):
            raise WorkError("holes are drilled from the top or the bottom face", "face")
        last = self.first + self.pitch * (self.count - 1)
        rows = [(row.edge, row.distance, "rows") for row in self.rows]
        for side, away, key in ((self.end, last, "first"), *rows):
            if away >= board.size(side):
                raise WorkError(
                    f"a {self.called} {length(away)} from the {board.face(side).name} lies beside "
                    f"the board, which has {length(board.size(side))} there",
                    key,
                )
        if self.depth is not None:
            self._refuse_more(board, length, self.face, self.depth, "depth")


def _spans(numbers: list[int]) -> str:
    """`3, 7 to 9`."""
    spans: list[list[int]] = []
    for number in sorted(numbers):
        if spans and number == spans[-1][-1] + 1:
            spans[-1].append(number)
        else:
            spans.append([number])
    said = (f"{s[0]} to {s[-1]}" if len(s) > 1 else f"{s[0]}" for s in spans)
    return ", ".join(said)


def _meet(*planes: tuple[Vec, float]) -> Vec:
    """The point where three planes (normal, offset) meet."""
    (a, p), (b, q), (c, r) = planes
    bc = cross(b, c)
    det = dot(a, bc)
    point: Vec = (0.0, 0.0, 0.0)
    for way, share in ((bc, p), (cross(c, a), q), (cross(a, b), r)):
        point = along(point, way, share / det)
    return (point[0] + 0.0, point[1] + 0.0, point[2] + 0.0)


KIND = Holes
