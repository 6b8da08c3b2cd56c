"""The machines of the shop: the router that programs are written for, the saw of the cutting plans.

Imports words.
"""
