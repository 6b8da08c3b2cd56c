"""Colours and pictures.

Imports models.
"""
