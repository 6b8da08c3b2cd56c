"""Text that a maker reads or writes: lengths, quotes, errors.

Imports nothing of the project.
"""
