"""What to change: remedies, each one tried before it is named.

Imports every room above it.
"""
