"""Files of the user: written whole or not at all, and never over what somebody else wrote.

Imports words.
"""
