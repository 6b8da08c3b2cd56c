"""How parts are laid out on sheets and along boards, with every cut of the saw.

Imports models, telling.
"""
