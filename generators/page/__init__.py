"""The page in 3D: the scene as data, the view that shows it.

Imports models, telling, drawing, cutting, solids.
"""
