"""The page while the recipe is edited: its server and its session.

Imports models, files, solids, page, pipeline.py.
"""
