"""Marotte: will the creature perform?

The packages form a house (docs/decisions/0001-the-house.md): each line of it imports only lines below it.
"""

__version__ = "0.1.0"
