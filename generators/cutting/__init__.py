"""How parts are laid out on sheets and along boards, with every cut of the saw.

Imports numpy and scipy, and of the project maths and words alone: it knows sizes, not furniture.
"""
