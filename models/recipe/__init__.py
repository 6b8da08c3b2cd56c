"""The recipe: read with a place for every value, its parameters, edits of its text.

Imports maths, words, machine, piece, wood.
"""
