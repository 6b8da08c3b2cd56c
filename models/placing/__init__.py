"""Where the pockets go: the line of a joint, its windows, the joints of the trade.

Imports maths, words, piece, wood, recipe.
"""
