"""Parametric pieces, one file per design."""
