"""Recipes that ship with the tool; every one of them is also a test."""
