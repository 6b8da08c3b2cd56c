"""Is it good: walls and distances, order of assembly, reach, and the rules.

Imports maths, words, piece, wood, placing.
"""
