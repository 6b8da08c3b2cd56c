"""Cells of lists: plain text for every spreadsheet, and RFC 4180."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from slantbore.generators.telling.csvfile import Column, write_csv


@pytest.mark.parametrize(
    "name",
    [
        "=1+1",
        "+x",
        "-x",
        "@sum",
        "\tx",
        "\nx",
        " =1+1",
        "\u3000=1",
        "\u00a0+x",
        "\u22121",
        "\uff1d1+1",
        "\uff0bx",
        "\uff0dx",
        "\uff20sum",
        " \uff1d1",
        "\ufe66x",
        "\ufe62x",
    ],
)
def test_a_name_never_becomes_a_formula(name: str, tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    columns = (Column[str]("name", "", lambda r: r), Column[str]("n", "", lambda r: -1.5, 1))
    write_csv(path, columns, [name])
    with path.open(encoding="utf-8-sig", newline="") as stream:
        _, row = csv.reader(stream)
    assert row == [f"'{name}", "-1.5"]


def test_csv_is_rfc_4180_with_plain_line_ends(tmp_path: Path) -> None:
    awkward = 'rail, "long" über\nnext'
    path = tmp_path / "list.csv"
    columns = (Column[str]("name", "", lambda r: r), Column[str]("zero", "", lambda r: -1e-9))
    write_csv(path, columns, [awkward])
    mark = b"\xef\xbb\xbf"  # RFC 3629 section 6: by it a spreadsheet knows UTF-8
    assert path.read_bytes() == mark + 'name,zero\n"rail, ""long"" über\nnext",0.00\n'.encode()
