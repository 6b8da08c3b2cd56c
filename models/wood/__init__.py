"""What books and catalogues say: stock, screws, drills, beams, movement, strength.

Imports maths, words, machine, piece.
"""
