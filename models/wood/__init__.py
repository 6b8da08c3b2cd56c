"""What books and catalogues say: stock, screws, drills, beams, movement, strength.

Imports the rooms above it: maths, words, piece.
"""
