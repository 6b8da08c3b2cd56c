"""Colours of stock and screws, the same in every format."""

from __future__ import annotations

import zlib

from ...models.piece.board import Stock

Colour = tuple[float, float, float]
"""Red, green and blue, 0 to 1, as a screen shows them (sRGB)."""

SCREW: Colour = (0.62, 0.64, 0.67)

# By eye, for planed and oiled wood; the first word found in the stock's name decides.
_TINTS = {
    "plywood": 0xD9BD8E,
    "mdf": 0xB89C78,
    "particle": 0xC4A97F,
    "hardboard": 0x8A6544,
    "maple": 0xE6CFA6,
    "ash": 0xDFC79C,
    "oak": 0xC8A06A,
    "walnut": 0x84603F,
    "cherry": 0xBD7F52,
    "poplar": 0xCDBD85,
    "birch": 0xE2C596,
    "beech": 0xD8B083,
    "alder": 0xC9946A,
    "pine": 0xE5C48A,
    "fir": 0xD9A878,
    "spruce": 0xE7CF9F,
    "cedar": 0xB9785A,
    "hickory": 0xCFA878,
    "mahogany": 0x9C5A3C,
}
_OTHERS = (0xD2B07C, 0xC49A6C, 0xDCC196, 0xB98A5E)


def stock_colour(stock: Stock) -> Colour:
    """The tint of a stock; unknown woods get one that depends on their name only."""
    words = f"{stock.material} {stock.title} {stock.label}".lower()
    tint = _OTHERS[zlib.crc32(words.encode()) % len(_OTHERS)]
    tint = next((tint for word, tint in _TINTS.items() if word in words), tint)
    return ((tint >> 16) / 255, (tint >> 8 & 255) / 255, (tint & 255) / 255)
