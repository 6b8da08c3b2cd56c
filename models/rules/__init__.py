"""Checks, one file per rule."""
