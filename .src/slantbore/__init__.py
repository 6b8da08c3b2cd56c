"""Slantbore: furniture recipes to exact solids with every slanted pocket bore in its place."""

__version__ = "0.1.0"
