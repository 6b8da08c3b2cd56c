"""From work on a board to a router's programs, each simulated before it is written.

Imports models, telling, drawing, cutting, solids, papers.
"""
