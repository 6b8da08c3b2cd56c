"""Colours of stock and screws, the same in every format."""

from __future__ import annotations

import zlib
from colorsys import hls_to_rgb

from ..models.board import Stock

Colour = tuple[float, float, float]
"""Red, green and blue, 0 to 1, as a screen shows them (sRGB)."""

SCREW: Colour = (0.62, 0.64, 0.67)

# Hue (degrees), lightness and saturation that wood of each kind keeps to; ours, by eye.
_RANGES = {
    "softwood": ((34.0, 42.0), (0.70, 0.78), (0.42, 0.54)),
    "hardwood": ((20.0, 34.0), (0.46, 0.64), (0.30, 0.42)),
    "sheet": ((34.0, 44.0), (0.66, 0.76), (0.24, 0.34)),
}


def stock_colour(stock: Stock) -> Colour:
    """A muted wood tone for a stock, always the same one for the same material."""
    # A checksum spreads the materials over the range of their kind; no table has to know them.
    spread = zlib.crc32(stock.material.encode())
    tones = []
    for low, high in _RANGES[stock.kind]:
        tones.append(low + (high - low) * (spread % 101) / 100)
        spread //= 101
    hue, lightness, saturation = tones
    red, green, blue = hls_to_rgb(hue / 360, lightness, saturation)
    return (round(red, 4), round(green, 4), round(blue, 4))
