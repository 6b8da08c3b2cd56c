"""What wood looks like on a screen: one plain tint per species or sheet."""

from __future__ import annotations

import zlib

from ...models.board import Stock

# Tints chosen by eye for planed, oiled wood; the first word found in the stock's name decides.
_TINTS = {
    "plywood": "#d9bd8e",
    "mdf": "#b89c78",
    "particle": "#c4a97f",
    "hardboard": "#8a6544",
    "maple": "#e6cfa6",
    "ash": "#dfc79c",
    "oak": "#c8a06a",
    "walnut": "#84603f",
    "cherry": "#bd7f52",
    "poplar": "#cdbd85",
    "birch": "#e2c596",
    "beech": "#d8b083",
    "alder": "#c9946a",
    "pine": "#e5c48a",
    "fir": "#d9a878",
    "spruce": "#e7cf9f",
    "cedar": "#b9785a",
    "hickory": "#cfa878",
    "mahogany": "#9c5a3c",
}
_OTHERS = ("#d2b07c", "#c49a6c", "#dcc196", "#b98a5e")


def wood_colour(stock: Stock) -> str:
    """The tint of a stock as `#rrggbb`; unknown woods get one that depends on their name only."""
    words = f"{stock.material} {stock.title} {stock.label}".lower()
    for word, tint in _TINTS.items():
        if word in words:
            return tint
    return _OTHERS[zlib.crc32(words.encode()) % len(_OTHERS)]
