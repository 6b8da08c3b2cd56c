"""Findings and plans in words.

Imports models.
"""
