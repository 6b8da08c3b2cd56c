"""The router that programs are written for: its travel, its cutters, how it holds a part.

Imports words.
"""
