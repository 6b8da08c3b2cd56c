"""STEP files (ISO 10303-21, AP214): named and coloured products, placed; always the same bytes."""

from __future__ import annotations

from .kernel import cq  # first, for it says what is missing where the kernel does not load

# isort: split
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory

from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.Quantity import Quantity_Color, Quantity_TOC_sRGB
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_AsIs
from OCP.TCollection import TCollection_ExtendedString, TCollection_HAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import XCAFDoc_ColorGen, XCAFDoc_DocumentTool

from ...models.maths.geometry import Pose
from ...models.piece.groups import Key
from ...models.words.errors import SlantboreError
from ..drawing.colours import Colour
from .solids import location

AUTHOR = "slantbore"
# The format wants a date. Without SOURCE_DATE_EPOCH it is this one, so that bytes repeat.
NO_DATE = 315532800  # 1980-01-01
_COLOURS = "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION"
_OCCURRENCE = re.compile(r"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\()\s*'\d+'((?:'(?:[^']|'')*'|[^';])*;)")
_TOKEN = re.compile(r"'(?:[^']|'')*'|#\d+")  # a string, so that a # in one is left alone


class ExportError(SlantboreError):
    """A file that the kernel could not write."""


@dataclass(frozen=True)
class Part:
    """One product: a solid in its own frame, with its name and colour."""

    name: str
    solid: cq.Shape
    colour: Colour


@dataclass(frozen=True)
class Placed:
    """One occurrence of a product in an assembly."""

    name: str
    part: Key
    pose: Pose


def time_stamp() -> str:
    """Date of a file: SOURCE_DATE_EPOCH (seconds, UTC) where it is set, else a fixed one."""
    try:
        moment = datetime.fromtimestamp(int(os.environ.get("SOURCE_DATE_EPOCH", NO_DATE)), UTC)
    except (ValueError, OverflowError, OSError):
        moment = datetime.fromtimestamp(NO_DATE, UTC)
    return moment.strftime("%Y-%m-%dT%H:%M:%S")


def write_part(path: Path, part: Part) -> None:
    """Write one product in its own frame.

    Raises:
        ExportError: the kernel could not write it.
    """
    document = _Document()
    document.add(part)
    document.write(path, part.name)


def write_assembly(
    path: Path, name: str, parts: Mapping[Key, Part], placed: Sequence[Placed]
) -> None:
    """Write an assembly: every part once, as a product, and its occurrences.

    Raises:
        ExportError: the kernel could not write it.
    """
    document = _Document()
    top = document.shapes.NewShape()
    _name(top, name)
    labels = {key: document.add(part) for key, part in parts.items()}
    for one in placed:
        component = document.shapes.AddComponent(top, labels[one.part], location(one.pose).wrapped)
        _name(component, one.name)
    document.shapes.UpdateAssemblies()
    document.write(path, name)


class _Document:
    """The kernel's document of named, coloured shapes."""

    def __init__(self) -> None:
        self.document = TDocStd_Document(TCollection_ExtendedString("XmlOcaf"))
        XCAFApp_Application.GetApplication_s().InitDocument(self.document)
        self.shapes = XCAFDoc_DocumentTool.ShapeTool_s(self.document.Main())
        self.colours = XCAFDoc_DocumentTool.ColorTool_s(self.document.Main())

    def add(self, part: Part) -> TDF_Label:
        label = self.shapes.AddShape(part.solid.wrapped, False)
        _name(label, part.name)
        colour = Quantity_Color(*part.colour, Quantity_TOC_sRGB)
        self.colours.SetColor(label, colour, XCAFDoc_ColorGen)
        return label

    def write(self, path: Path, title: str) -> None:
        # Not at once where it goes: the kernel takes no path that is not UTF-8.
        with TemporaryDirectory() as scratch:
            raw = Path(scratch, "kernel.step")
            if not self._write_raw(raw, path.name, title):
                raise ExportError(f"{path.name}: the kernel could not write this STEP file")
            with raw.open("rb") as lines, path.open("w", encoding="ascii", newline="\n") as file:
                file.writelines(_settled(lines))

    def _write_raw(self, raw: Path, name: str, title: str) -> bool:
        """Have the kernel write the file; its model of it is gone when this returns."""
        Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
        writer = STEPCAFControl_Writer()
        writer.SetColorMode(True)
        writer.SetNameMode(True)
        if not writer.Transfer(self.document, STEPControl_AsIs):
            return False
        header = APIHeaderSection_MakeHeader(writer.ChangeWriter().Model())
        header.SetName(_text(name))
        header.SetTimeStamp(_text(time_stamp()))
        header.SetAuthorValue(1, _text(AUTHOR))
        header.SetOrganizationValue(1, _text(""))
        header.SetOriginatingSystem(_text(AUTHOR))
        header.SetAuthorisation(_text(""))
        header.SetDescriptionValue(1, _text(title))
        return writer.Write(str(raw)) == IFSelect_RetDone and raw.is_file()


def _settled(lines: Iterable[bytes]) -> Iterator[str]:
    r"""Yield the file without what differs from run to run, in an encoding that every reader knows.

    The kernel breaks lines by bytes, within strings and even within a letter or a doubled quote;
    it numbers occurrences through the life of the process, lists the colours in the order of memory
    addresses, and writes raw UTF-8 where ISO 10303-21, edition 2, has `\X2\....\X0\` around
    UTF-16 in hexadecimal.
    """
    number = count(1)
    colours: list[str] = []
    for statement in _statements(lines):
        # Where the line breaks depends on how long the kernel's number was.
        text = _OCCURRENCE.sub(
            lambda found: re.sub(r"\n\s*", "", f"{found[1]}'{next(number)}'{found[2]}"), statement
        )
        text = re.sub(
            r"[^\x00-\x7f]+",
            lambda found: "\\X2\\" + found.group().encode("utf-16-be").hex().upper() + "\\X0\\",
            text,
        )
        if text.startswith("ENDSEC") and colours:
            yield _in_order("".join(colours))
            colours.clear()
        if colours or re.match(rf"#\d+ = {_COLOURS}", text):
            colours.append(text)  # the last of the data, all of them
        else:
            yield text


def _statements(lines: Iterable[bytes]) -> Iterator[str]:
    """Yield the file's statements, no line broken within a string."""
    whole = b""
    for line in lines:
        whole += line.replace(b"\r\n", b"\n")
        if whole.count(b"'") % 2 == 0 and whole.endswith(b";\n"):
            whole = re.sub(rb"'\n'", b"''", whole)
            whole = re.sub(rb"'[^']*'", lambda found: found.group().replace(b"\n", b""), whole)
            yield whole.decode()
            whole = b""
    yield whole.decode()


def _in_order(entities: str) -> str:
    """Colour entities anew: by the shape that they colour, each followed by what it refers to."""
    bodies = {
        int(number): body
        for number, body in re.findall(
            r"^#(\d+) = ((?:'(?:[^']|'')*'|[^';])*);$", entities, re.MULTILINE
        )
    }
    start = min(bodies)
    numbers: dict[int, int] = {}

    def visit(entity: int) -> None:
        if entity in bodies and entity not in numbers:
            numbers[entity] = start + len(numbers)
            for one in _references(bodies[entity]):
                visit(one)

    # The shape's context, the last reference, is older than the colours and so keeps its number.
    roots = [entity for entity, body in bodies.items() if body.startswith(_COLOURS)]
    for entity in sorted(roots, key=lambda root: _references(bodies[root])[-1]):
        visit(entity)
    for entity in bodies:
        visit(entity)

    def renumbered(found: re.Match[str]) -> str:
        token = found.group()
        return f"#{numbers.get(int(token[1:]), int(token[1:]))}" if token[0] == "#" else token

    return "".join(
        f"#{new} = {_TOKEN.sub(renumbered, bodies[old])};\n" for old, new in numbers.items()
    )


def _references(body: str) -> list[int]:
    return [int(token[1:]) for token in _TOKEN.findall(body) if token[0] == "#"]


def _text(text: str) -> TCollection_HAsciiString:
    return TCollection_HAsciiString(text)


def _name(label: TDF_Label, name: str) -> None:
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(name, True))
