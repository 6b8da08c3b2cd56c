"""The nouns: board, bore, joint, finding, project; boards that are alike; pencil marks.

Imports maths and words.
"""
