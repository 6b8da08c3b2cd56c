"""The page while the recipe is edited: its server and its session.

Imports models, telling, files, solids, page, pipeline.py.
"""
