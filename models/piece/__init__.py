"""The nouns: board, bore, joint, finding, project; boards that are alike; marking out.

Imports maths, words, machine.
"""
