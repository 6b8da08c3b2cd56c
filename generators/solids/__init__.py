"""The kernel and what it makes: solids, meshes, measures, the proof, STEP.

Imports models, telling, drawing; the only room that imports the kernel.
"""
