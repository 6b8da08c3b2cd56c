"""Geometry: points, planes, poses, rods and convex pieces, as exact support functions.

Imports numpy alone.
"""
